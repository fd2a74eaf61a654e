"""Dependent properties count for less, and the dependence is stated once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import SETTINGS, measured_densities

from resinid import Method, default_reference, identify, next_tests, observe
from resinid.identification.score import model_of
from resinid.io.fields import choice
from resinid.methods.aspects import AspectSeen
from resinid.scoring.dependence import powers
from resinid.scoring.properties import CategoricalProperty, Dependence

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid import Observation
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.latents import Latent

WORDS = ("snaps", "creases", "springs back")


@dataclass(frozen=True, slots=True)
class Twin:
    """Knows just what the table knows of ``snap``, under another name."""

    name: str
    depends: tuple[Dependence, ...] = ()

    def latent(self, reference: ReferenceTable) -> Latent:
        return CategoricalProperty("snap", WORDS).latent(reference)


def seen(share: float, outcome: str = "creases") -> tuple[Observation, Observation]:
    """Two tests that see the same thing and say so to the degree ``share``."""
    first = CategoricalProperty("first", WORDS)
    one, other = Twin("first"), Twin("second", (Dependence("first", share, "the same thing twice"),))

    @dataclass(frozen=True, slots=True)
    class First(AspectSeen):
        test: ClassVar[str] = "first"
        observes: ClassVar[Twin] = one
        outcome: str = choice(WORDS)

        @classmethod
        def words(cls) -> tuple[str, ...]:
            return first.outcomes

    @dataclass(frozen=True, slots=True)
    class Second(First):
        test: ClassVar[str] = "second"
        observes: ClassVar[Twin] = other

    return First(outcome), Second(outcome)


def logs(observations: tuple[Observation, ...]) -> dict[str, float]:
    answer = identify(observations, prior="uniform")
    return dict(zip(answer.resins, np.log(answer.probability).tolist(), strict=True))


def test_the_same_thing_twice_counts_once() -> None:
    """With all evidence in common, two observations that agree tell what one tells."""
    once, twice = logs(seen(1.0)[:1]), logs(seen(1.0))
    assert twice == pytest.approx(once, abs=1e-9)


def test_independent_things_multiply() -> None:
    """With nothing in common, the log evidence of two adds up."""
    once, twice = logs(seen(0.0)[:1]), logs(seen(0.0))
    for resin in ("PE-LD", "PMMA", "PC"):
        assert twice[resin] - twice["PS"] == pytest.approx(2 * (once[resin] - once["PS"]), abs=1e-9)


def test_kish() -> None:
    """Effective number of n dependent observations: n / (1 + (n - 1) share) (Kish 1965, Survey Sampling, 5.4)."""
    two = seen(0.5)
    power = powers(observation.observes for observation in two)
    assert sum(power.values()) == pytest.approx(2 / (1 + 0.5))
    once, twice = logs(two[:1]), logs(two)
    assert twice["PC"] - twice["PS"] == pytest.approx(2 / 1.5 * (once["PC"] - once["PS"]), abs=1e-9)


@SETTINGS
@given(st.sampled_from(WORDS), st.sampled_from(WORDS), st.floats(0.0, 1.0), measured_densities())
def test_what_each_changed_is_what_it_changed(one: str, other: str, share: float, density: Observation) -> None:
    """The answer over the stated factor of an observation is the answer without that observation."""
    given_ = (seen(share, one)[0], replace(seen(share)[1], outcome=other), density)  # type: ignore[type-var]  # because a protocol is no dataclass
    answer = identify(given_, prior="uniform")
    for index in range(3):
        rest = identify([*given_[:index], *given_[index + 1 :]], prior="uniform")
        for resin, probability, factor in zip(
            answer.resins, answer.probability, answer.log_factors[index], strict=True
        ):
            assert np.log(probability) - factor == pytest.approx(np.log(rest[resin]), abs=1e-6)


def test_repeated_and_dependent_by_hand() -> None:
    """Two properties that share half, one seen twice, the other three times: powers of plain sums.

    Left out, one of several of a property leaves the powers as they are; the only one of a property
    gives the other its full weight.
    """
    model = model_of(default_reference())
    one, other = (each.term() for each in seen(0.5))
    density = observe("density", density="1.05 ± 0.01 g/cm3").term()

    def by_hand(ones: int, others: int, densities: int) -> NDArray[np.float64]:
        power = 1 / (1 + 0.5) if ones and others else 1.0
        total = np.ones(len(model.rows) + 1)
        for term, count, exponent in ((one, ones, power), (other, others, power), (density, densities, 1.0)):
            latent = model.latent(term.observes)
            robust = (1 - term.outlier) * term.likelihood(latent.values, None) + term.outlier * term.outlier_likelihood
            total *= (latent.mass @ robust**count) ** exponent
        return np.asarray(np.log(total @ model.gathering))

    found = model.evidence([one, one, other, other, other, density])
    np.testing.assert_allclose(found.log, by_hand(2, 3, 1), atol=1e-9)
    for index, rest in ((0, (1, 3, 1)), (3, (2, 2, 1)), (5, (2, 3, 0))):
        np.testing.assert_allclose(found.without[index], by_hand(*rest), atol=1e-9)
    found = model.evidence([one, one, other])
    np.testing.assert_allclose(found.log, by_hand(2, 1, 0), atol=1e-9)
    np.testing.assert_allclose(found.without[2], by_hand(2, 0, 0), atol=1e-9)
    found = model.evidence([density, one, one, other])
    np.testing.assert_allclose(found.log, by_hand(2, 1, 1), atol=1e-9)
    for index, rest in ((0, (2, 1, 0)), (1, (1, 1, 1)), (3, (2, 0, 1))):
        np.testing.assert_allclose(found.without[index], by_hand(*rest), atol=1e-9)


def test_it_is_foreseen_too() -> None:
    """A test that depends on something known is expected to tell less than one that stands alone."""

    def bits(share: float) -> float:
        first, second = seen(share)

        @dataclass(frozen=True, slots=True)
        class Planned(type(second)):  # type: ignore[misc]  # because the class is made in a function
            @classmethod
            def plans(cls, bench: object) -> object:  # noqa: ARG003 - because nothing is needed
                yield cls.plan("do it", 1.0, ("one", "two"), needs=(), caution="")

        method = Method("twin", "1", "Twin.", "", ("invented",), (type(first), Planned))
        advice = next_tests([first], bench="", methods=[method], prior="uniform")
        return next(found.bits for found in advice.suggestions if found.plan.test == "second")

    assert 0 < bits(1.0) < bits(0.5) < bits(0.0)
    assert default_reference() is default_reference()
