"""The density of filled grades by the rule of mixtures, against published compounds."""

from __future__ import annotations

import math
from dataclasses import replace
from statistics import NormalDist

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from resinid.reference.mixture import GAS, mixture
from resinid.reference.rules import RULES, STIFFENING_LOAD
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


def test_white_shifts_polyethylene() -> None:
    """Hand-worked: 2 % of titanium dioxide of 4.2 in polyethylene of 0.955 adds 0.015; strong colours add nothing."""
    natural = derived(TABLE, "PE-HD", "natural")
    assert derived(TABLE, "PE-HD", "white") - natural == pytest.approx(0.015, abs=0.001)
    assert derived(TABLE, "PE-HD", "coloured") == pytest.approx(natural)


@pytest.mark.parametrize(
    ("resin", "base", "abs_"),
    [
        ("PE-HD", 0.948, 0.001),  # Polysure P0148D, natural pipe grade
        ("PE-MD", 0.935, 0.002),  # Borstar FB1350; TU 2243-046 prints 0.943 to 0.951 for black gas pipe
    ],
)
def test_black_polyethylene_is_pipe(resin: str, base: float, abs_: float) -> None:
    """Hand-worked: 2 to 2.5 % of carbon black of 1.8 makes of natural pipe grades the black that is sold."""
    by_hand = 1 / (0.9775 / base + 0.0225 / 1.8)
    assert derived(TABLE, resin, "black") == pytest.approx(by_hand, abs=abs_)


def test_a_filled_polypropylene_can_sink() -> None:
    """Hand-worked: about 14 % of talc of 2.75 lifts polypropylene of 0.905 past water."""
    by_hand = 1 / (0.86 / 0.905 + 0.14 / 2.75)
    assert abs(by_hand - 1.0) < 0.003
    assert derived(TABLE, "PP", "calcium carbonate-filled") > 1.0


@settings(deadline=None)
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


@pytest.mark.parametrize("latent", sorted(RULES))
def test_no_variant_takes_rows_of_one_with_more_filler(latent: str) -> None:
    """What is published of a filled or foamed grade says nothing of a grade with less filler, or of a solid one."""
    loads = {(v.resin, v.name): v.load_high or 0.0 for v in TABLE.variants}
    foams = {(v.resin, v.name) for v in TABLE.variants if v.filler == GAS}
    for variant in TABLE.variants:
        own = (variant.resin, variant.name)
        for normal in mixture(TABLE, variant, latent).normals:
            assert normal.statement is not None
            other = (normal.statement.resin, normal.statement.variant)
            assert loads[other] <= max(loads[own], STIFFENING_LOAD), (own, other)
            assert other == own or other not in foams


def test_unfilled_nylon_is_not_as_stiff_as_glass_filled() -> None:
    """Dry polyamide 6 has 2.6 to 3.0 GPa (Goodfellow), with 30 % glass 9.3 (Engineers Edge): next to none has 6."""
    found = mixture(TABLE, next(v for v in TABLE.variants if v.resin == "PA6"), "flexural_modulus").normals
    above = sum(n.weight * (1 - NormalDist(n.mean, n.sd).cdf(math.log(6000.0))) for n in found)
    assert above < 0.02
