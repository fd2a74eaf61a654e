"""Whole tables give the one-piece numbers where properties depend on each other or come with a method."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Final

import pandas as pd
import pytest

from resinid import Method, identify, identify_table
from resinid.io.fields import choice
from resinid.methods.aspects import AspectSeen
from resinid.scoring.properties import CategoricalProperty, Dependence

if TYPE_CHECKING:
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.latents import Latent
    from resinid.scoring.properties import Observable

WORDS: Final = ("snaps", "creases", "springs back")


@dataclass(frozen=True, slots=True)
class Told:
    """The resins' snapping, told once more under another name."""

    name: str = "told"
    outcomes: tuple[str, ...] = WORDS
    depends: tuple[Dependence, ...] = (Dependence("flexural_modulus", 0.6, "invented"), Dependence("snap", 1.0, "same"))

    def latent(self, table: ReferenceTable) -> Latent:
        return CategoricalProperty("snap", WORDS).latent(table)


@dataclass(frozen=True, slots=True)
class Twin(AspectSeen):
    """An invented test."""

    test: ClassVar[str] = "twin"
    observes: ClassVar[Observable] = Told()
    outcome: str = choice(WORDS)


METHOD: Final = Method("twin", "1", "Twin.", "", ("invented for this test",), (Twin,))
PIECES: Final[list[dict[str, str | None]]] = [
    {"twin": "snaps", "feel": "rigid", "density": "1.05"},
    {"twin": "creases", "feel": None, "density": "0.95"},
    {"twin": None, "feel": "semi-rigid", "density": None},
    {"twin": "springs back", "feel": "limp", "density": None},
]


def test_rows_are_the_pieces() -> None:
    """Each row has the probabilities of its piece alone, whichever of the dependent tests were done on it."""
    frame = pd.DataFrame(
        {
            "density.density [g/cm3]": [float(piece["density"] or "nan") for piece in PIECES],
            "density.density_u [g/cm3]": [0.005] * len(PIECES),
            "feel.outcome": [piece["feel"] for piece in PIECES],
            "twin.outcome": [piece["twin"] for piece in PIECES],
            "snap.outcome": ["snaps"] * len(PIECES),
        }
    )
    found = identify_table(frame, top=2, methods=[METHOD])
    for row, piece in enumerate(PIECES):
        done: list[dict[str, object]] = [{"test": "snap", "outcome": "snaps"}]
        if piece["density"] is not None:
            done.append({"test": "density", "density": f"{piece['density']} ± 0.005 g/cm3"})
        done += [{"test": test, "outcome": piece[test]} for test in ("feel", "twin") if piece[test] is not None]
        alone = identify(done, methods=[METHOD])
        for place in (1, 2):
            resin = found[f"resin_{place}"][row]
            assert found[f"probability_{place}"][row] == pytest.approx(alone[resin], abs=1e-9)
