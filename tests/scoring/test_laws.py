"""Laws of the answer, each stated by its test."""

from __future__ import annotations

import dataclasses
import itertools
import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import SETTINGS, observations, written

from resinid import ReferenceTable, default_reference, identify, observe
from resinid.scoring.engine import Model
from resinid.scoring.prior import prior_of

if TYPE_CHECKING:
    from resinid.methods.contract import Observation

TOLERANCE = 1e-9
GRID = 2e-4
"""A sharp reading is integrated on another grid than a blunt one; each keeps 3e-5."""


def ranked(given_: list[Observation], reference: ReferenceTable | None = None) -> dict[str, float]:
    answer = identify(given_, reference=reference)
    return dict(zip(answer.resins, answer.probability, strict=True))


@SETTINGS
@given(st.lists(observations, min_size=2, max_size=6), st.randoms(use_true_random=False))
def test_order_is_irrelevant(given_: list[Observation], random: object) -> None:
    """The order of the observations does not change any probability."""
    shuffled = list(given_)
    random.shuffle(shuffled)  # type: ignore[attr-defined]  # because hypothesis types its Random as object
    first, second = ranked(given_), ranked(shuffled)
    assert second == pytest.approx(first, abs=TOLERANCE)


@SETTINGS
@given(st.lists(observations, max_size=6))
def test_probabilities_sum_to_one(given_: list[Observation]) -> None:
    """Probabilities are finite, lie between 0 and 1, and sum to 1; so do the prior's."""
    answer = identify(given_)
    assert all(0.0 <= p <= 1.0 for p in answer.probability)
    assert math.fsum(answer.probability) == pytest.approx(1.0, abs=TOLERANCE)
    assert math.fsum(answer.prior) == pytest.approx(1.0, abs=TOLERANCE)
    assert all(math.isfinite(value) for row in answer.log_factors for value in row)
    assert all(0.0 <= chance <= 1.0 for chance in answer.outlier)


@pytest.mark.parametrize("prior", ["default", "uniform", "us-municipal-waste", {"PP": 3.0, "HDPE": 1.0}])
def test_no_observations_return_the_prior(prior: str | dict[str, float]) -> None:
    """Without observations the answer is the prior."""
    answer = identify([], prior=prior)
    expected = prior_of(default_reference(), prior)
    names = (*default_reference().symbols, "none of these")
    assert dict(zip(answer.resins, answer.probability, strict=True)) == pytest.approx(
        dict(zip(names, expected.tolist(), strict=True)), abs=1e-12
    )


@SETTINGS
@given(st.floats(0.85, 1.6), st.floats(0.002, 0.02), st.floats(60.0, 300.0), st.floats(1.0, 5.0))
def test_units_are_irrelevant(density: float, u: float, celsius: float, u_kelvin: float) -> None:
    """The same readings in other units give the same answer."""
    metric = [
        observe("density", density=written(density, u, "g/cm3")),
        observe("softening", temperature=written(celsius, u_kelvin, "degC")),
        observe(
            "cantilever_bend",
            load="0.5 ± 0.01 N",
            length="80 ± 1 mm",
            width="12 ± 0.1 mm",
            thickness="2 ± 0.02 mm",
            deflection="8 ± 0.2 mm",
        ),
    ]
    other = [
        observe("density", density=written(1000 * density, 1000 * u, "kg/m^3")),
        observe("softening", temperature=written(celsius * 1.8 + 32.0, u_kelvin * 1.8, "degF")),
        observe(
            "cantilever_bend",
            load=written(0.5 / 9.80665 * 1000, 0.01 / 9.80665 * 1000, "g"),
            length="8 ± 0.1 cm",
            width=written(12 / 25.4, 0.1 / 25.4, "inch"),
            thickness="0.2 ± 0.002 cm",
            deflection="0.8 ± 0.02 cm",
        ),
    ]
    kelvin = [metric[0], observe("softening", temperature=written(celsius + 273.15, u_kelvin, "K")), metric[2]]
    assert ranked(other) == pytest.approx(ranked(metric), abs=1e-7)
    assert ranked(kelvin) == pytest.approx(ranked(metric), abs=1e-7)


@SETTINGS
@given(st.lists(observations, min_size=1, max_size=5), st.permutations(range(43)))
def test_renaming_permutes(given_: list[Observation], order: list[int]) -> None:
    """Putting the table's resins in another order only permutes the answer."""
    reference = default_reference()
    assert len(reference.resins) == len(order)
    shuffled = dataclasses.replace(
        reference, resins=tuple(reference.resins[i] for i in order), digest=f"shuffled {order!r}"
    )
    assert ranked(given_, shuffled) == pytest.approx(ranked(given_), abs=TOLERANCE)


@SETTINGS
@given(st.lists(observations, min_size=1, max_size=3))
def test_factors_take_the_rest_to_the_whole(given_: list[Observation]) -> None:
    """An observation's factor times the probability without it is, up to the sum, the probability with it."""
    answer = identify(given_)
    for index in range(len(given_)):
        rest = identify(given_[:index] + given_[index + 1 :])
        for rank, resin in enumerate(answer.resins):
            before, after = rest[resin], answer.probability[rank]
            if min(before, after) > 1e-9:
                assert answer.log_factors[index][rank] == pytest.approx(math.log(after / before), abs=GRID)


def test_tests_of_unequal_reliability_in_one_bath_can_be_told_apart() -> None:
    """A weighing at odds with two floats in the same water: leaving any out leaves the answer without it."""
    water = observe("float", liquid="water", outcome="floats")
    weighing = observe("weighing", in_air="1.0 ± 0.031 g", in_liquid="0.5012 ± 0.031 g", liquid="water")
    seen = [water, water, weighing]
    answer = identify(seen)
    for index in range(3):
        rest = identify(seen[:index] + seen[index + 1 :])
        for resin, chance, factor in zip(answer.resins, answer.probability, answer.log_factors[index], strict=True):
            assert math.log(chance) - factor == pytest.approx(math.log(rest[resin]), abs=1e-9)


def test_an_uninformative_observation_changes_nothing() -> None:
    """A test whose outcome is equally likely under every value leaves the probabilities as they were."""
    cold = observe("hot_plate", not_melted_at="-140 degC")
    base = [observe("float", liquid="water", outcome="sinks")]
    assert ranked([*base, cold]) == pytest.approx(ranked(base), abs=1e-6)


def information(u: float, latent: str) -> float:
    """Mutual information [nat] between resin and a reading of standard uncertainty ``u``, by the trapezium rule."""
    model = Model(default_reference())
    prior = prior_of(default_reference())
    if latent == "density":
        readings = np.linspace(0.70, 1.80, 367)
        made = [observe("density", density=written(float(v), u, "g/cm3"), outlier=1e-4) for v in readings]
    else:
        readings = np.linspace(-20.0, 420.0, 441)
        made = [observe("softening", temperature=written(float(v), u, "degC"), outlier=1e-4) for v in readings]
    density = np.exp([model.evidence([m.term()]).log for m in made])  # of each reading given each resin
    joint = density * prior
    marginal = joint.sum(axis=1, keepdims=True)
    ratio = density / marginal
    step = float(readings[1] - readings[0])
    return float((joint * np.log(ratio)).sum() * step / (joint.sum() * step))


@pytest.mark.parametrize("latent", ["density", "softening"])
def test_wider_uncertainty_never_sharpens_in_expectation(latent: str) -> None:
    """A reading of greater uncertainty tells no more of the resin, in expectation over readings."""
    widths = (0.003, 0.008, 0.03, 0.1) if latent == "density" else (1.0, 5.0, 15.0, 40.0)
    told = [information(u, latent) for u in widths]
    assert all(wide < narrow for narrow, wide in itertools.pairwise(told)), told
    assert told[0] > 1.5 * told[-1] > 0
