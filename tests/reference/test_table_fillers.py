"""The density of filled grades by the rule of mixtures, against published compounds."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from resinid.reference.mixture import mixture
from resinid.reference.table import ReferenceTable, default_reference

TABLE = default_reference()


def without_own_density(resin: str, variant: str) -> ReferenceTable:
    """Return the table without a filled variant's own densities, so that they are derived."""
    kept = tuple(r for r in TABLE.statements if (r.resin, r.variant, r.property) != (resin, variant, "density"))
    return replace(TABLE, statements=kept, digest=f"no density of {resin} {variant}")


def derived(reference: ReferenceTable, resin: str, variant: str) -> float:
    """Return the mean derived density of a filled variant [g/cm3]."""
    found = next(v for v in reference.variants if (v.resin, v.name) == (resin, variant))
    return math.fsum(n.weight * math.exp(n.mean) for n in mixture(reference, found, "density").normals)


@pytest.mark.parametrize(
    ("resin", "variant", "low", "high"),
    [
        # Low and high are the printed values, widened by half the last digit where single.
        ("PP", "talc-filled 20 %", 1.045, 1.055),  # RTP Company, RTP PP 20 TALC, 21 April 2009: 1.05
        ("PP", "talc-filled 40 %", 1.21, 1.24),  # Vacula s.r.o., table of selected plastics
        ("PBT", "glass-filled 30 %", 1.535, 1.545),  # property list of a PBT with 30 % glass (source pbt-gf30-fr): 1.54
        ("PPE+PS", "glass-filled 20 %", 1.195, 1.205),  # Margolis 2006: 1.20
        ("PPS", "glass-filled 40 %", 1.655, 1.665),  # LATI Larton G/40: 1.66
        ("PEEK", "glass-filled 30 %", 1.525, 1.535),  # source morepet: 1.53
        ("PET", "glass-filled 30 %", 1.55, 1.65),  # MakeItFrom, 30 % glass fibre PET: 1.6
        ("PA66", "glass-filled 30 %", 1.355, 1.365),  # ICD Vietnam, density of polyamide, 2026: 1.36
        ("PA66", "glass-filled 15 %", 1.225, 1.235),  # the same: 1.23
    ],
)
def test_published_compounds(resin: str, variant: str, low: float, high: float) -> None:
    """1/rho is the sum of mass fraction over density of resin and filler; 1 % is allowed for the load."""
    found = derived(without_own_density(resin, variant), resin, variant)
    assert 0.99 * low <= found <= 1.01 * high


@pytest.mark.parametrize(
    ("resin", "base", "load", "printed", "rel"),
    [
        # Loads that the table has no variant for.
        ("POM", "copolymer", 20.0, 1.55, 0.01),  # Engineers Edge, acetal with 20 % glass
        ("POM", "copolymer", 30.0, 1.61, 0.02),  # Crawford 2001, Table I, p. 459; the rule gives 1.64
        ("PA66", "natural", 50.0, 1.57, 0.01),  # ICD Vietnam, density of polyamide, 2026
    ],
)
def test_other_published_loads_of_glass(resin: str, base: str, load: float, printed: float, rel: float) -> None:
    first = next(v for v in TABLE.variants if (v.resin, v.name) == (resin, base))
    variant = replace(first, name="trial", filler="E-glass", load_low=load, load_high=load)
    normals = mixture(TABLE, variant, "density").normals
    assert math.fsum(n.weight * math.exp(n.mean) for n in normals) == pytest.approx(printed, rel=rel)


@pytest.mark.parametrize(
    ("resin", "variant", "shift"),
    [
        # Hand-worked: 2 % of titanium dioxide of 4.2 in polyethylene of 0.955 adds 0.015,
        # 2.5 % of carbon black of 1.8 adds 0.011.
        ("PE-HD", "white", 0.015),
        ("PE-HD", "black", 0.011),
    ],
)
def test_pigments_shift_polyethylene(resin: str, variant: str, shift: float) -> None:
    assert derived(TABLE, resin, variant) - derived(TABLE, resin, "natural") == pytest.approx(shift, abs=0.001)


def test_a_filled_polypropylene_can_sink() -> None:
    """Hand-worked: about 14 % of talc of 2.75 lifts polypropylene of 0.905 past water."""
    by_hand = 1 / (0.86 / 0.905 + 0.14 / 2.75)
    assert abs(by_hand - 1.0) < 0.003
    assert derived(TABLE, "PP", "calcium carbonate-filled") > 1.0


@given(st.floats(0.0, 60.0), st.floats(0.1, 20.0))
def test_filler_lies_between(low: float, width: float) -> None:
    """However much filler, the density lies between those of the resin and of the filler, and rises with load."""
    first = next(v for v in TABLE.variants if (v.resin, v.name) == ("PP", "calcium carbonate-filled"))
    base = derived(TABLE, "PP", "homopolymer")
    found: list[float] = []
    for shift in (0.0, 5.0):
        variant = replace(first, load_low=low + shift, load_high=low + width + shift)
        normals = mixture(TABLE, variant, "density").normals
        found.append(math.fsum(n.weight * math.exp(n.mean) for n in normals))
    assert base <= found[0] * (1 + 1e-9) < found[1] < 2.71
