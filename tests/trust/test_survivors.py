"""Checks that mutation testing of the scoring core asked for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from readers import OWN_TABLE
from scipy import stats

from resinid import default_reference, identify, load_reference, observe
from resinid.identification.score import model_of
from resinid.quantities import ASPECTS
from resinid.reference.mixture import mixture
from resinid.reference.rules import RULES
from resinid.scoring.grades import _hats_spearman, correlation
from resinid.scoring.integrals import integrate, log_product
from resinid.scoring.latents import AXES, FREQUENCY, SMOOTHING, UNSOURCED_SMOOTHING
from resinid.scoring.shared_error import COMMON

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from resinid.reference.entries import Variant


def drawn(variant: Variant, latent: str) -> NDArray[np.float64]:
    rng = np.random.default_rng(67)
    normals = mixture(default_reference(), variant, latent).normals
    weights = np.array([normal.weight for normal in normals])
    which = rng.choice(len(normals), 200_000, p=weights / weights.sum())
    means, sds = (np.array([getattr(normal, key) for normal in normals])[which] for key in ("mean", "sd"))
    return rng.normal(means, sds)


@pytest.mark.parametrize("resin", ["PE-HD", "PE-MD", "PE-LLD", "PE-LD"])
def test_correlation_by_hand(resin: str) -> None:
    """The correlation is the stated slope times how crystallinity follows density, over the spreads, from draws.

    With mass crystallinity x of two phases, 1/rho = x/rho_c + (1 - x)/rho_a (Mandelkern's
    mass-fraction rule), dx/d(ln rho) = rho_a rho_c / (rho (rho_c - rho_a)).
    """
    reference = default_reference()
    natural = next(variant for variant in reference.variants if variant.resin == resin)
    crystal = next(crystal for crystal in reference.crystals if crystal.resin == resin)
    density, softening = drawn(natural, "density"), drawn(natural, "softening_temperature")
    amorphous, crystalline = crystal.density_amorphous, crystal.density_crystal
    follows = amorphous * crystalline / (math.exp(density.mean()) * (crystalline - amorphous))
    assert crystal.melting_slope
    expected = crystal.melting_slope * follows * density.std() / softening.std()
    assert correlation(reference, natural) == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize("index", [i for i, _ in model_of(default_reference()).grades.strength])
def test_correlation_of_a_filled_grade_by_hand(index: int) -> None:
    """Of a filled grade the base's density counts; what the filler adds to the spread weakens the link."""
    reference = model_of(default_reference()).reference
    variant = reference.variants[index]
    base = next(v for v in reference.variants if v.resin == variant.resin)
    pure, own = drawn(base, "density"), drawn(variant, "density")
    expected = correlation(reference, base) * drawn(base, "softening_temperature").std()
    expected *= min(pure.std() / own.std(), 1.0) / drawn(variant, "softening_temperature").std()
    assert correlation(reference, variant) == pytest.approx(expected, rel=0.02)


def test_variants_come_most_probable_first() -> None:
    """The grades of the leader are told in falling order of their shares, which add up to one."""
    answer = identify(
        [{"test": "density", "density": "1.05 ± 0.01 g/cm3"}, {"test": "softening", "temperature": "163 degC"}]
    )
    shares = [share for _, share in answer.variants]
    assert len(shares) > 1
    assert shares == sorted(shares, reverse=True)
    assert sum(shares) == pytest.approx(1.0)


@pytest.mark.parametrize("count", [2, 3, 5])
def test_rank_correlation_of_grades_from_draws(count: int) -> None:
    """Two ranks drawn from the same grade, each by its share there, have the stated rank correlation."""
    rng = np.random.default_rng(71)
    ranks = rng.random((2, 200_000))
    # A rank lies in the grade below or above it, by how near it is; both kept where they fall into one grade.
    place = ranks * (count - 1)
    grade = np.floor(place) + (rng.random(place.shape) < place % 1.0)
    shares = np.bincount(grade[0].astype(int), minlength=count) / grade.shape[1]
    together = grade[0] == grade[1]
    # Pairs in one grade are met with the square of its share; they count by its share.
    weight = 1.0 / shares[grade[0, together].astype(int)]
    found = 12.0 * np.average(np.prod(ranks[:, together] - 0.5, axis=0), weights=weight)
    assert _hats_spearman(count) == pytest.approx(found, abs=0.01)


def test_outliers_of_tests_that_share_a_jug() -> None:
    """The chance that each of two tests in one jug was botched, by plain sums over the jug's error.

    With the stated formula (module ``integrals``): a quarter of the lesser chance of a
    outlier is common, the rest each test's own.
    """
    jug = {"density": "1.06 ± 0.004 g/cm3"}
    seen = [observe("float", liquid=jug, outcome="floats"), observe("float", liquid=jug, outcome="sinks", outlier=0.1)]
    terms = [each.term() for each in seen]
    model = model_of(default_reference())
    latent = model.latent("density")
    common = COMMON * (1 - 0.97**2)
    own = [(term.outlier - common) / (1 - common) for term in terms]
    total, botched = np.zeros(latent.values.size), np.zeros((2, latent.values.size))
    step = 0.02
    for error in np.arange(-6.0, 6.0 + step / 2, step):
        weight = (1 - common) * step * math.exp(-0.5 * error**2) / math.sqrt(2 * math.pi)
        good = [term.likelihood(latent.values, np.array([[error]]))[0] for term in terms]
        each = [(1 - r) * g + r * term.outlier_likelihood for r, g, term in zip(own, good, terms, strict=True)]
        total += weight * each[0] * each[1]
        botched[0] += weight * own[0] * terms[0].outlier_likelihood * each[1]
        botched[1] += weight * own[1] * terms[1].outlier_likelihood * each[0]
    both = common * terms[0].outlier_likelihood * terms[1].outlier_likelihood
    whole = latent.mass @ (total + both) @ model.gathering
    expected = (latent.mass @ (botched + both).T).T @ model.gathering / whole
    found = model.evidence(terms)
    np.testing.assert_allclose(found.outlier, expected, rtol=1e-4)
    np.testing.assert_allclose(np.exp(found.log), whole, rtol=1e-4)


def test_product_of_terms_is_what_is_integrated() -> None:
    """Summed over a resin's mass, the product of some terms is their integral, shared errors or not."""
    jug = {"density": "1.06 ± 0.004 g/cm3"}
    seen = [observe("float", liquid=jug, outcome=outcome) for outcome in ("floats", "sinks")]
    terms = [each.term() for each in [*seen, observe("float", liquid="water", outcome="sinks")]]
    latent = model_of(default_reference()).latent("density")
    for some in (terms, terms[1:], terms[2:]):
        found = integrate(some, latent)
        product = latent.mass @ np.exp(log_product(some, latent.values))
        np.testing.assert_allclose(found.whole * math.exp(found.offset), product, rtol=1e-9)


@pytest.mark.parametrize("aspect", ["snap", "melt_flow"])
def test_unlisted_plastics_behave_half_as_the_listed(aspect: str) -> None:
    """Of "none of these" every outcome is half as likely as for the listed resins on average, half even."""
    model = model_of(default_reference())
    latent = model.latent(aspect)
    listed: dict[str, NDArray[np.float64]] = {}
    for variant, stated in zip(model.reference.variants, latent.stated, strict=True):
        if stated:
            row = next(index for index, each in enumerate(model.rows) if each == variant)
            listed[variant.resin] = latent.mass[row]
    even = np.full(len(ASPECTS[aspect]), 1.0 / len(ASPECTS[aspect]))
    expected = 0.5 * np.mean(list(listed.values()), axis=0) + 0.5 * even
    np.testing.assert_allclose(latent.mass[-1], expected, rtol=1e-12)
    assert np.abs(expected - even).max() > 0.01


def test_own_table_by_hand(tmp_path: Path) -> None:
    """What is recalled is smoothed more than what is sourced; what nobody states may be as of any plastic."""
    for name, text in OWN_TABLE.items():
        (tmp_path / f"{name}.csv").write_text(text, encoding="utf-8")
    (tmp_path / "behaviour.csv").write_text(
        "resin,aspect,outcome,frequency,source,locator,obtained,note\n"
        "PP,snap,creases,usual,bench,,handbook,\nPS,snap,creases,usual,bench,,memory,\n",
        encoding="utf-8",
    )
    model = model_of(load_reference(tmp_path))
    place = ASPECTS["snap"].index("creases")
    usual = FREQUENCY["usual"]
    for row, smoothing in zip(model.latent("snap").mass, (SMOOTHING, UNSOURCED_SMOOTHING), strict=False):
        assert row[place] == pytest.approx((1 - smoothing) * usual + smoothing / len(ASPECTS["snap"]))
    latent, axis = model.latent("flexural_modulus"), AXES["flexural_modulus"]
    mean, sd = RULES["flexural_modulus"].any_plastic
    expected = stats.truncnorm((axis.low - mean) / sd, (axis.high - mean) / sd, mean, sd)
    logs = np.log(latent.values)
    middle = float(latent.mass[-1] @ logs)
    assert middle == pytest.approx(expected.mean(), rel=0.005)
    assert math.sqrt(latent.mass[-1] @ (logs - middle) ** 2) == pytest.approx(expected.std(), rel=0.01)
