"""Integrals over one property against plain sums, and what leaving out an observation leaves."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from scipy import special, stats

from resinid import Term, default_reference, observe
from resinid.identification.score import model_of
from resinid.scoring.integrals import integrate, log_product

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid import Observation

    Array = NDArray[np.float64]

JUG = {"density": "1.06 ± 0.004 g/cm3"}


def summed(terms: list[Term], values: Array, steps: int = 400) -> Array:
    """Product of terms that share an error and have one chance of an outlier, a quarter of it common, by a fine sum."""
    error = np.linspace(-8.0, 8.0, steps + 1)[:, None]
    weight = stats.norm.pdf(error) * (error[1] - error[0])
    common = 0.25 * terms[0].outlier
    own = (terms[0].outlier - common) / (1.0 - common)
    logs = sum(np.log((1.0 - own) * term.likelihood(values, error) + own * term.outlier_likelihood) for term in terms)
    botched = math.prod(term.outlier_likelihood for term in terms)
    out: Array = (1.0 - common) * (weight * np.exp(logs)).sum(axis=0) + common * botched
    return out


@pytest.mark.parametrize(
    "made",
    [
        observe("float", liquid=JUG, outcome="floats"),
        observe("weighing", in_air="5 ± 0.02 g", in_liquid="0.6 ± 0.02 g", liquid="water"),
        observe("density", density="1.05 ± 0.01 g/cm3"),
    ],
    ids=lambda made: made.test,
)
def test_one_observation_alone(made: Observation) -> None:
    """A single observation: its evidence is one sum, without it there is none, botched it has its stated share."""
    term = made.term()
    model = model_of(default_reference())
    latent = model.latent("density")
    good = term.likelihood(latent.values, None)
    expected = latent.mass @ ((1.0 - term.outlier) * good + term.outlier * term.outlier_likelihood) @ model.gathering
    found = model.evidence([term])
    np.testing.assert_allclose(np.exp(found.log), expected, rtol=1e-12)
    np.testing.assert_allclose(found.without[0], 0.0, atol=1e-12)
    np.testing.assert_allclose(found.outlier[0], term.outlier * term.outlier_likelihood / expected, rtol=1e-12)


def test_leaving_one_out_is_being_without_it() -> None:
    """Evidence with one left out is the evidence of the rest, constant factors included, whatever is shared.

    And since evidence is linear in the likelihood of an observation that shares no error, the chance
    that it was botched is its stated chance times its likelihood then, times what the rest say, over all.
    """
    seen = [
        observe("float", liquid=JUG, outcome="floats"),
        observe("softening", temperature="131 ± 4 degC"),
        observe("float", liquid=JUG, outcome="sinks", outlier=0.1),
        observe("float", liquid="water", outcome="sinks"),
        observe("density", density="1.03 ± 0.02 g/cm3"),
        observe("feel", outcome="rigid"),
        observe("float", liquid=JUG, outcome="floats", outlier=0.02),
    ]
    terms = [each.term() for each in seen]
    model = model_of(default_reference())
    found = model.evidence(terms)
    assert found.without.shape == found.outlier.shape == (len(terms), len(model.candidates))
    assert found.rows.shape == (len(model.rows),)
    for index, term in enumerate(terms):
        rest = model.evidence([*terms[:index], *terms[index + 1 :]]).log
        np.testing.assert_allclose(found.without[index], rest, atol=1e-9)
        if index in {1, 3, 4, 5}:
            chance = term.outlier * term.outlier_likelihood * np.exp(rest - found.log)
            np.testing.assert_allclose(found.outlier[index], chance, rtol=1e-9)


@pytest.mark.parametrize(
    ("count", "u", "weighed", "steps"), [(2, 0.004, 0.01, 400), (10, 0.01, 0.002, 1600), (30, 0.01, 0.02, 400)]
)
def test_weighings_in_one_jug_by_a_fine_sum(count: int, u: float, weighed: float, steps: int) -> None:
    """Weighings in one jug, from two to very many, sharp and blunt against the jug's own error.

    Of every resin that explains the readings at all, the evidence is that of a sum with
    steps a few times finer than any reading, to two thousandths.
    """
    jug = {"density": f"1.1 ± {u} g/cm3"}
    rng = np.random.default_rng(5)
    shown = 4.0 * (1.2 - 1.1) / 1.2 + weighed * rng.standard_normal(count)
    seen = [
        observe("weighing", in_air="4 ± 0.001 g", in_liquid=f"{max(each, 0.01):.5f} ± {weighed} g", liquid=jug)
        for each in shown
    ]
    # A blunt one among them does not make the sum coarser.
    seen.append(observe("weighing", in_air="4 ± 0.001 g", in_liquid="0.35 ± 0.05 g", liquid=jug))
    terms = [each.term() for each in seen]
    latent = model_of(default_reference()).latent("density")
    expected = latent.mass @ summed(terms, latent.values, steps)
    found = integrate(terms, latent)
    explain = expected > 1e-6 * expected.max()
    assert explain.sum() > 10
    np.testing.assert_allclose((found.whole * math.exp(found.offset))[explain], expected[explain], rtol=2e-3)
    nodes = (latent.values > 1.0) & (latent.values < 1.4)
    product = np.exp(log_product(terms, latent.values[nodes]))
    assert float(product.max()) == pytest.approx(float(summed(terms, latent.values[nodes], steps).max()), rel=0.02)


def test_ninety_weighings_in_one_jug_stay_in_range() -> None:
    """The log of a product of readings that share an error, over hundreds of nats, is that of a sum in logarithms."""
    made = observe("weighing", in_air="4 ± 0.001 g", in_liquid="0.3333 ± 0.005 g", liquid=JUG, outlier=1e-4)
    terms = [made.term()] * 90
    values = np.array([0.8, 0.95, *np.linspace(1.136, 1.176, 41), 1.4, 2.0])  # within five deviations, or far off
    error = np.linspace(-8.0, 8.0, 3201)[:, None]
    weight = stats.norm.pdf(error) * (error[1] - error[0])
    own = (0.75 * 1e-4) / (1.0 - 0.25 * 1e-4)
    one = np.log((1.0 - own) * terms[0].likelihood(values, error) + own * terms[0].outlier_likelihood)
    free = special.logsumexp(90 * one, b=weight * (1.0 - 0.25 * 1e-4), axis=0)
    expected = np.logaddexp(free, math.log(0.25 * 1e-4) + 90 * math.log(terms[0].outlier_likelihood))
    assert np.ptp(90 * one) > 900
    np.testing.assert_allclose(log_product(terms, values), expected, atol=1e-3)


def test_a_hundred_readings_that_agree() -> None:
    """Likelihoods that range over a factor of exp(900) add up as a sum in logarithms says."""
    count = 100
    term = observe("density", density="1.05 ± 0.004 g/cm3", outlier=1e-4).term()
    model = model_of(default_reference())
    latent = model.latent("density")
    robust = (1.0 - term.outlier) * term.likelihood(latent.values, None) + term.outlier * term.outlier_likelihood
    mass = latent.mass.T @ model.gathering
    logs = np.log(robust)[:, None]
    expected = special.logsumexp(count * logs, b=mass, axis=0)
    rest = special.logsumexp((count - 1) * logs, b=mass, axis=0)
    found = model.evidence([term] * count)
    assert count * np.ptp(np.log(robust)) > 900
    near = expected > expected.max() - 600  # what is less likely than that is taken for that
    assert near.sum() > 20
    np.testing.assert_allclose(found.log[near], expected[near], atol=1e-6)
    np.testing.assert_allclose(found.without[50][near], rest[near], atol=1e-6)


@pytest.mark.parametrize("first", [True, False])
def test_what_is_next_to_impossible_leaves_numbers(first: bool) -> None:  # noqa: FBT001 - pytest gives it by name
    """A plug-in's reading that nothing explains, not even an outlier, tells nothing and leaves what the rest tells."""
    sound = observe("feel", outcome="rigid").term()
    latent = model_of(default_reference()).latent(sound.observes)
    alone = integrate([sound], latent).whole
    for botched in (1e-250, 1e-300, 1e-317):
        impossible = Term(sound.observes, lambda values, _: np.zeros(values.size), 0.01, botched)
        found = integrate([impossible, sound] if first else [sound, impossible], latent)
        for array in (found.whole, *found.without, *found.botched):
            assert np.isfinite(array).all()
        expected = np.log(alone) + math.log(0.01) + math.log(botched)
        np.testing.assert_allclose(np.log(found.whole) + found.offset, expected, atol=1e-6)
        if botched == 1e-250:  # beyond exp(600) what an observation may change is cut off
            np.testing.assert_allclose(found.botched[0 if first else 1], 1.0, rtol=1e-6)
            rest = np.log(found.without[0 if first else 1]) + np.log(found.whole) + found.offset
            np.testing.assert_allclose(rest, np.log(alone), atol=1e-6)
