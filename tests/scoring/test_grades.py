"""Density and melting point linked by crystallinity: grades of the kinds of polyethylene."""

from __future__ import annotations

import math
import sys
from dataclasses import dataclass, replace
from functools import cache
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from strays import pieces

from resinid import default_reference, observe
from resinid.reference.crystallinity import crystallinity_per_log_density
from resinid.reference.mixture import mixture
from resinid.reference.rules import RULES, STRAY
from resinid.scoring.engine import Model
from resinid.scoring.grades import COUNT, correlation, graded, grades
from resinid.scoring.prior import prior_of
from resinid.scoring.properties import observed, refined

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.methods.contract import Observation
    from resinid.reference.entries import Variant
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.latents import Latent
    from resinid.scoring.term import Term

    Array = NDArray[np.float64]

TABLE: Final = default_reference()
LINKED: Final = Model(TABLE)
PLAIN: Final = Model(replace(TABLE, crystals=(), digest="no link"))
POLYETHYLENES: Final = ("PE-HD", "PE-MD", "PE-LLD", "PE-LD")
CHOSEN: Final = tuple(
    v for v in TABLE.variants if v.resin in POLYETHYLENES and v.filler != "gas" and not v.flame_retarded
)

DATA_SHEETS: Final = {
    "dow-elite5400g": (0.916, 122.0),
    "borealis-fb1350": (0.935, 128.0),
    "borouge-fb1520": (0.952, 133.0),
    "dow-dmda8920": (0.954, 130.0),
    "borouge-fb5600": (0.960, 132.0),
    "dow-dgda5004": (0.961, 133.0),
}
"""Density [g/cm3] and melting point [degC] printed in data sheets of linear polyethylenes (sources.csv)."""


@pytest.mark.parametrize("resin", ["PE-HD", "PE-MD", "PE-LLD"])
def test_slope_of_linear_polyethylene_is_that_of_six_data_sheets(resin: str) -> None:
    """The slope per crystallinity is a straight line through published pairs, times d(rho)/dx."""
    density, melting = np.array(list(DATA_SHEETS.values())).T
    crystal = next(c for c in TABLE.crystals if c.resin == resin)
    assert set(DATA_SHEETS) <= set(crystal.source.split())
    middle = float(density.mean())
    per_density = crystallinity_per_log_density(middle, crystal) / middle
    assert stats.linregress(density, melting).slope == pytest.approx(229, abs=1)
    assert stats.linregress(density, melting).slope / per_density == pytest.approx(crystal.melting_slope, rel=0.05)


def test_slope_of_branched_polyethylene_is_that_of_printed_limits() -> None:
    """From 0.912 to 0.925 g/cm3 and 102 to 112 degC (matmake-ldpe), rounded down."""
    crystal = next(c for c in TABLE.crystals if c.resin == "PE-LD")
    per_density = crystallinity_per_log_density(0.9185, crystal) / 0.9185
    assert crystal.melting_slope is not None
    assert 0.85 <= crystal.melting_slope * per_density / ((112 - 102) / (0.925 - 0.912)) <= 1.0


def published(name: str, sharp: tuple[float, float] | None) -> tuple[Latent, Latent]:
    """Return a latent as published and split into grades."""
    whole = observed(name).latent(LINKED.reference) if sharp is None else refined(LINKED.reference, name, [sharp])
    return whole, graded(whole, LINKED.grades)


@given(
    st.sampled_from(["density", "softening_temperature", "flexural_modulus"]),
    st.floats(-0.2, 0.1),
    st.sampled_from([None, 1e-3, 1e-5]),
)
@settings(max_examples=20, deadline=None)
def test_grades_add_up_to_the_published_mixture(name: str, place: float, width: float | None) -> None:
    """On any grid, the grades of a variant, by their shares, are its published distribution again."""
    place = {"density": place, "softening_temperature": 130.0 + 100.0 * place, "flexural_modulus": 7.0 + place}[name]
    whole, split = published(name, None if width is None else (place, width))
    sums = np.zeros((len(TABLE.variants), whole.values.size))
    np.add.at(sums, LINKED.grades.owner, LINKED.grades.share[:, None] * split.mass[:-1])
    np.testing.assert_allclose(sums, whole.mass[:-1], rtol=0, atol=1e-14)
    np.testing.assert_array_equal(split.mass[-1], whole.mass[-1])
    assert np.all(split.mass >= 0)
    np.testing.assert_allclose(split.mass.sum(axis=1), 1.0, rtol=0, atol=1e-12)
    assert split.stated == whole.stated
    assert split.sources == whole.sources


@given(st.floats(0.88, 1.02), st.floats(0.0005, 0.03), st.floats(90.0, 160.0))
@settings(max_examples=25, deadline=None)
def test_one_property_alone_says_what_it_did(density: float, u: float, softening: float) -> None:
    """Without the other property, evidence is that of the published mixtures."""
    for made in (
        observe("density", density=f"{density:.5f} ± {u:.5f} g/cm3"),
        observe("softening", temperature=f"{softening:.1f} ± 2 degC"),
    ):
        linked, plain = LINKED.evidence([made.term()]), PLAIN.evidence([made.term()])
        np.testing.assert_allclose(linked.log, plain.log, rtol=0, atol=1e-10)


@pytest.mark.parametrize("index", [i for i, _ in LINKED.grades.strength])
def test_denser_grades_melt_later(index: int) -> None:
    """Mean density and mean softening temperature rise from grade to grade."""
    rows = np.flatnonzero(LINKED.grades.owner == index)
    assert rows.size == 3, "as reference/README.md says"
    for name in ("density", "softening_temperature"):
        latent = LINKED.latent(name)
        finite = np.isfinite(latent.values)
        means = latent.mass[np.ix_(rows, finite)] @ latent.values[finite]
        assert np.all(np.diff(means) > 0)


def joint(variant: Variant, density: Term, softening: Term) -> float:
    """Return the likelihood of two readings, integrated over ranks with scipy's normal distribution.

    The chance of a pair of ranks is ``1 - s + s sum_k h_k(u) h_k(v) / w_k``, with ``h_k`` the
    triangles of the grades, ``w_k`` their areas and ``s`` the strength. The density of pieces
    that stray from what is published is independent of where they soften.
    """
    axes = []
    for name, term in (("density", density), ("softening_temperature", softening)):
        normals = mixture(TABLE, variant, name).normals
        x = np.linspace(min(n.mean - 9 * n.sd for n in normals), max(n.mean + 9 * n.sd for n in normals), 40001)
        chance = sum(n.weight * stats.norm.pdf(x, n.mean, n.sd) for n in normals)
        rank = sum(n.weight * stats.norm.cdf(x, n.mean, n.sd) for n in normals)
        good = term.likelihood(np.exp(x) if name == "density" else x, None)
        step = np.full(x.size, x[1] - x[0])
        axes.append((rank, chance * good * step))
    index = LINKED.reference.variants.index(variant)
    strength = dict(LINKED.grades.strength)[index]
    total = (1 - strength) * axes[0][1].sum() * axes[1][1].sum()
    for k in range(COUNT):
        area = (1.0 if 0 < k < COUNT - 1 else 0.5) / (COUNT - 1)
        parts = [(np.maximum(0.0, 1.0 - np.abs((COUNT - 1) * rank - k)) * mass).sum() for rank, mass in axes]
        total += strength * parts[0] * parts[1] / area
    return float((1.0 - STRAY) * total + stray_density(variant, density) * axes[1][1].sum())


def stray_density(variant: Variant, density: Term) -> float:
    """Return the likelihood of a density for pieces that stray, times their share."""
    normals = [n for n in pieces(TABLE, variant, "density").normals if n.sd > RULES["density"].stray[1]]
    x = np.linspace(min(n.mean - 9 * n.sd for n in normals), max(n.mean + 9 * n.sd for n in normals), 40001)
    chance = sum(n.weight * stats.norm.pdf(x, n.mean, n.sd) for n in normals)
    return float(np.sum(chance * density.likelihood(np.exp(x), None)) * (x[1] - x[0]))


@pytest.mark.parametrize("resin", POLYETHYLENES)
@pytest.mark.parametrize(("density", "softening"), [(0.945, 128.0), (0.957, 134.0), (0.921, 111.0), (0.925, 120.0)])
def test_both_properties_against_numerical_integration(resin: str, density: float, softening: float) -> None:
    """The engine's evidence for readings of both is the integral over the joint distribution of ranks.

    To a hundredth: the engine takes ranks at its nodes, which adds up exactly but places a value
    within a cell of the grid.
    """
    made = [
        observe("density", density=f"{density} ± 0.003 g/cm3"),
        observe("softening", temperature=f"{softening} ± 3 degC"),
    ]
    terms = [replace(observation.term(), outlier=1e-12) for observation in made]
    found = math.exp(LINKED.evidence(terms).log[LINKED.candidates.index(resin)])
    solid = [v for v in CHOSEN if v.resin == resin]
    expected = sum(v.weight * joint(v, *terms) for v in solid)
    assert found == pytest.approx(expected, rel=1e-2)


def test_shares_are_reported_by_published_variant() -> None:
    """Grades do not show: each variant is named once and the shares add up to one."""
    made = [observe("density", density="0.955 ± 0.003 g/cm3"), observe("softening", temperature="132 ± 3 degC")]
    evidence = LINKED.evidence([observation.term() for observation in made])
    found = LINKED.variants_of(LINKED.candidates.index("PE-HD"), evidence)
    assert {name for name, _ in found} == {"natural", "coloured", "white", "black", "flame-retarded"}
    assert len(found) == 5
    assert math.fsum(share for _, share in found) == pytest.approx(1.0)
    assert LINKED.reference.variants == PLAIN.reference.variants
    assert LINKED.sources("density", 0) == PLAIN.sources("density", 0)
    assert LINKED.no_data("density") == PLAIN.no_data("density")


def test_no_slope_no_grades() -> None:
    """Only what the table states a slope for is split; what is as dense as its gas or retardant makes it, is not."""
    split = {(LINKED.reference.variants[i].resin, LINKED.reference.variants[i].name) for i, _ in LINKED.grades.strength}
    assert split == {(v.resin, v.name) for v in CHOSEN}
    assert grades(PLAIN.reference).strength == ()
    assert len(PLAIN.rows) == len(TABLE.variants)


@pytest.mark.parametrize("index", [i for i, _ in LINKED.grades.strength])
def test_strength_gives_the_rank_correlation_of_two_normals(index: int) -> None:
    """Grades of that strength have the rank correlation of a normal pair of the stated correlation, from draws."""
    r = correlation(TABLE, LINKED.reference.variants[index])
    first, second = np.random.default_rng(73).standard_normal((2, 200_000))
    expected = stats.spearmanr(first, r * first + math.sqrt(1.0 - r * r) * second).statistic
    # The rank of a triangle's own draws, by plain sums: as it would be with a strength of one.
    rank = (np.arange(3000) + 0.5) / 3000
    shares = np.maximum(0.0, 1.0 - np.abs((COUNT - 1) * rank - np.arange(COUNT)[:, None]))
    middle = (shares @ rank) / shares.sum(axis=1)
    full = 12.0 * float(shares.mean(axis=1) @ (middle - 0.5) ** 2)
    assert dict(LINKED.grades.strength)[index] * full == pytest.approx(expected, abs=0.01)


def test_a_link_cannot_be_more_than_whole() -> None:
    """However steep a slope an own table states, no grade has less than nothing, and something else plays a part."""
    crystals = tuple(replace(c, melting_slope=c.melting_slope and 20 * c.melting_slope) for c in TABLE.crystals)
    steep = Model(replace(TABLE, crystals=crystals, digest="steep"))
    assert {variant.resin for variant in CHOSEN} == {
        steep.reference.variants[i].resin for i, _ in steep.grades.strength
    }
    assert max(strength for _, strength in steep.grades.strength) == 1.0
    assert all(0.6 < correlation(steep.reference, variant) < 1.0 for variant in CHOSEN)
    for name in ("density", "softening_temperature"):
        assert (steep.latent(name).mass >= 0).all()
        np.testing.assert_allclose(steep.latent(name).mass.sum(axis=1), 1.0, atol=1e-12)


def test_a_filler_that_narrows_the_density_does_not_strengthen_the_link() -> None:
    """With an exactly known load of chalk the density spreads less than the base's; the link is that of the base."""
    base = next(v for v in TABLE.variants if v.resin == "PE-HD")
    filled = next(v for v in CHOSEN if v.resin == "PE-HD" and v.filler)
    exact = replace(filled, load_low=30.0, load_high=30.0)
    reference = replace(TABLE, variants=tuple(exact if v == filled else v for v in TABLE.variants), digest="exact load")
    spreads = [np.diff(np.interp([0.1587, 0.8413], *ranks_of(reference, v)[::-1]))[0] for v in (base, exact)]
    assert spreads[1] < 0.95 * spreads[0]
    same_melt = mixture(reference, exact, "softening_temperature") == mixture(reference, base, "softening_temperature")
    assert same_melt
    assert correlation(reference, exact) == pytest.approx(correlation(reference, base), rel=1e-12)


def ranks_of(reference: ReferenceTable, variant: Variant) -> tuple[Array, Array]:
    normals = mixture(reference, variant, "density").normals
    x = np.linspace(min(n.mean - 6 * n.sd for n in normals), max(n.mean + 6 * n.sd for n in normals), 4001)
    return x, np.asarray(sum(n.weight * stats.norm.cdf(x, n.mean, n.sd) for n in normals))


@pytest.mark.parametrize("kinds", [("density",), ("melting_temperature",), ("density", "melting_temperature")])
def test_no_link_where_one_of_the_two_is_unknown(kinds: tuple[str, ...]) -> None:
    """A slope alone links nothing: both density and softening must be stated."""
    kept = tuple(row for row in TABLE.statements if row.resin != "PE-HD" or row.property not in kinds)
    bare = replace(TABLE, statements=kept, digest=f"without {kinds}")
    assert all(correlation(bare, v) == 0.0 for v in CHOSEN if v.resin == "PE-HD")
    assert all(correlation(bare, v) > 0.0 for v in CHOSEN if v.resin == "PE-LD")
    assert len(Model(bare).rows) < len(LINKED.rows)


@cache
def ranks(variant: Variant, name: str) -> tuple[Array, Array]:
    normals = mixture(TABLE, variant, name).normals
    x = np.linspace(min(n.mean - 6 * n.sd for n in normals), max(n.mean + 6 * n.sd for n in normals), 4001)
    cumulated = sum(n.weight * stats.norm.cdf(x, n.mean, n.sd) for n in normals)
    return x, np.asarray(cumulated / cumulated[-1])


@dataclass(frozen=True)
class Bench:
    """Uncertainties of a bench [g/cm3], [K], and how strongly real pieces' properties go together."""

    name: str
    density: float
    softening: float
    link: float

    def piece(self, rng: np.random.Generator, variant: Variant) -> list[Observation]:
        """Draw a piece and do its three tests."""
        r = self.link * correlation(TABLE, variant)
        first, second = rng.standard_normal(2)
        levels = stats.norm.cdf([first, r * first + math.sqrt(1.0 - r * r) * second])
        drawn = [
            float(np.interp(level, *ranks(variant, name)[::-1]))
            for level, name in zip(levels, ("density", "softening_temperature"), strict=True)
        ]
        density = math.exp(drawn[0])
        read = density + self.density * rng.standard_normal()
        term = observe("softening", temperature=f"{drawn[1]:.2f} ± {self.softening} degC").term()
        assert term.feature is not None
        soft = drawn[1] + term.feature[1] * rng.standard_normal()
        outcome = "floats" if density < 0.948 + 0.001 * rng.standard_normal() else "sinks"
        return [
            observe("density", density=f"{read:.5f} ± {self.density} g/cm3"),
            observe("softening", temperature=f"{soft:.2f} ± {self.softening} degC"),
            observe("float", liquid="ethanol 40 %v/v at 20 degC", outcome=outcome),
        ]


def posterior(model: Model, observations: list[Observation], prior: Array) -> Array:
    log = model.evidence([observation.term() for observation in observations]).log + np.log(prior)
    share = np.exp(log - log.max())
    out: Array = share / share.sum()
    return out


def compared(bench: Bench, pieces: int, rng: np.random.Generator, reference: ReferenceTable) -> Array:
    """Return log loss and hit of the unlinked and the linked model for each piece, shape (pieces, 4)."""
    prior = prior_of(reference, "default")
    resins = [reference.symbols.index(symbol) for symbol in POLYETHYLENES]
    out = np.empty((pieces, 4))
    for row in out:
        resin = int(rng.choice(resins, p=prior[resins] / prior[resins].sum()))
        own = [v for v in CHOSEN if v.resin == reference.symbols[resin]]
        weights = np.array([v.weight for v in own])
        made = bench.piece(rng, own[int(rng.choice(len(own), p=weights / weights.sum()))])
        for place, model in enumerate((PLAIN, LINKED)):
            share = posterior(model, made, prior)
            row[2 * place : 2 * place + 2] = -math.log(share[resin]), np.argmax(share) == resin
    return out


@pytest.mark.slow
def test_link_tightens_answers_where_it_holds(capsys: pytest.CaptureFixture[str]) -> None:
    """Simulated polyethylenes with a density, a float in alcohol and a softening point.

    Where pieces have the correlation that the published slopes imply, the log loss falls by
    more than three standard errors. What is lost where they have none is printed beside it.
    """
    pieces = 4000
    lines = ["", f"{pieces} simulated polyethylenes, density, softening and one float: linked less unlinked model"]
    gains: dict[str, tuple[float, float]] = {}
    for bench in (
        Bench("as published, kitchen scale", 0.003, 3.0, 1.0),
        Bench("as published, good bench", 0.001, 2.0, 1.0),
        Bench("half as strong, kitchen scale", 0.003, 3.0, 0.5),
        Bench("no link at all, kitchen scale", 0.003, 3.0, 0.0),
    ):
        found = compared(bench, pieces, np.random.default_rng(2027), TABLE)
        change = found[:, 2:] - found[:, :2]
        error = change.std(axis=0) / math.sqrt(pieces)
        gains[bench.name] = float(change[:, 0].mean()), float(error[0])
        lines.append(
            f"  {bench.name:30} log loss {found[:, 0].mean():.4f} {change[:, 0].mean():+.4f} ± {error[0]:.4f}"
            f"   top-1 {found[:, 1].mean():.1%} {100 * change[:, 1].mean():+.2f} ± {100 * error[1]:.2f} points"
        )
    with capsys.disabled():
        sys.stdout.write("\n".join(lines) + "\n")
    for name in ("as published, kitchen scale", "as published, good bench"):
        mean, error_of_mean = gains[name]
        assert mean < -3 * error_of_mean, name
