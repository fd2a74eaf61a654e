"""The table's distributions against published pieces that were not used to build it, by resin and property.

Sources: measured_pieces.csv, a row each (moulders' and makers' measured values of one grade or piece);
filament_densities.csv: densities that makers of filament state, counted by maker, taken from the open filament
data base github.com/Donkie/SpoolmanDB (MIT licence), commit ca55347 of 25 October 2025, grades with a filler or a
special finish in their name left out and a maker's middle grade taken. Those are nominal and show which grades are
on sale, not what pieces weigh: they are printed and nothing is asserted of them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from piece_scores import filaments, pieces, quantiles, scored, table

from resinid import default_reference
from resinid.reference.mixture import Normal

if TYPE_CHECKING:
    from piece_scores import Seen

WITHIN: Final = 0.05
"""Coverage of all pieces together may differ this much from what is stated."""

COMMON: Final = [
    "PE-HD",
    "PE-MD",
    "PE-LD",
    "PE-LLD",
    "PP",
    "PS",
    "PS-HI",
    "ABS",
    "PET",
    "PVC-U",
    "PA6",
    "PA66",
    "PC",
    "PMMA",
]


def covered(seen: list[Seen], level: float) -> float:
    return float(np.mean([one.inside(level) for one in seen]))


def test_scores_of_a_known_normal() -> None:
    """The median of a standard normal has half below it and a log density of -ln(2 pi)/2; 1.6449 has 95 % below."""
    normal = [Normal(0.0, 1.0, 1.0, "made")]
    middle, far = (scored(normal, "PP", "density", value) for value in (0.0, 1.6448536))
    assert middle.share_below == pytest.approx(0.5)
    assert middle.log_density == pytest.approx(-0.918938533)
    assert far.share_below == pytest.approx(0.95)
    assert far.inside(0.9000001)
    assert not far.inside(0.5)


def test_pooled_coverage_of_published_pieces() -> None:
    """Of the published values about nine in ten lie within the central 90 %."""
    assert covered(pieces(default_reference()), 0.9) == pytest.approx(0.9, abs=WITHIN)


@pytest.mark.slow
def test_what_the_table_says_of_published_pieces(capsys: pytest.CaptureFixture[str]) -> None:
    """Coverage, share below and log score by resin and property; 5, 50 and 95 % of the commonest resins."""
    reference = default_reference()
    seen = pieces(reference)
    with capsys.disabled():
        print("\npublished pieces\n" + table(seen))
        print("nominal densities that makers of filament state\n" + table(filaments(reference)))
        print("5, 50 and 95 % of the pieces of a resin: density [g/cm3], softening [degC], modulus [MPa]")
        for resin in COMMON:
            cells = []
            for latent, form in (("density", ".3f"), ("softening_temperature", ".0f"), ("flexural_modulus", ".0f")):
                cells.append("/".join(f"{q:{form}}" for q in quantiles(reference, resin, latent, (0.05, 0.5, 0.95))))
            print(f"  {resin:8}{cells[0]:20}{cells[1]:14}{cells[2]}")
    assert len(seen) > 150
