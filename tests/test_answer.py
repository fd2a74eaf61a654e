"""The answer as a value: frames, JSON, pickling, threads, light import, safety."""

from __future__ import annotations

import json
import math
import pickle
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from strategies import SETTINGS, observations

from resinid import InputError, Result, UnknownNameError, default_reference, identify, observe
from resinid.heating.rule import HeatRule, View
from resinid.heating.temperatures import OVERHEATED, TEMPERATURES
from resinid.heating.verdict import DO_NOT_HEAT, NO_BAR, NOT_YET
from resinid.identification.score import model_of

if TYPE_CHECKING:
    from resinid.methods.contract import Observation

CAP = [
    observe("float", liquid="water", outcome="floats"),
    observe("density", density="0.955 ± 0.003 g/cm3"),
    observe("softening", temperature="131 ± 2 degC"),
    observe("feel", outcome="rigid"),
]


def test_frame() -> None:
    answer = identify(CAP, piece="cap")
    frame = answer.to_frame()
    told = [f"{test}{how}" for test in ("float", "density", "softening", "feel") for how in ("", " alone")]
    assert list(frame.columns) == ["resin", "probability", "prior", *told]
    assert frame["probability"].is_monotonic_decreasing
    assert frame["resin"].iloc[0] == answer.leader == "PE-HD"
    assert len(frame) == len(default_reference().resins) + 1


@SETTINGS
@given(observations)
def test_of_a_single_test_both_factors_are_one_and_the_same(only: Observation) -> None:
    """Law: where there are no others, what a test adds to them is what it tells by itself, which is Bayes' rule."""
    answer = identify([only])
    told = [math.log(after / before) for after, before in zip(answer.probability, answer.prior, strict=True)]
    assert answer.log_alone[0] == pytest.approx(told, abs=1e-9)
    assert answer.log_factors[0] == pytest.approx(told, abs=1e-6)


@SETTINGS
@given(st.lists(observations, min_size=1, max_size=4))
def test_what_a_test_tells_by_itself_does_not_hang_on_the_others(several: list[Observation]) -> None:
    """Law: each observation by itself tells what it tells as the only one."""
    answer = identify(several)
    for place, each in enumerate(answer.observations):
        single = identify([each])
        told = dict(zip(single.resins, single.log_alone[0], strict=True))
        assert [told[resin] for resin in answer.resins] == pytest.approx(answer.log_alone[place], abs=1e-9)


def test_a_test_that_agrees_does_not_look_worthless() -> None:
    """A density and a melting point both say polyethylene, so that each hides what the other tells."""
    answer = identify(CAP)
    weighing = next(place for place, each in enumerate(answer.observations) if each.test == "density")
    assert math.exp(answer.log_factors[weighing][0]) < 1.25
    assert math.exp(answer.log_alone[weighing][0]) > 2.0


@SETTINGS
@given(st.lists(observations, max_size=4), st.text(max_size=10))
def test_json_round_trip(given_: list[Observation], piece: str) -> None:
    """A result written as JSON and read back is equal to itself."""
    answer = identify(given_, piece=piece)
    assert Result.from_json(answer.to_json()) == answer


@pytest.mark.parametrize(
    "text", ["", "[]", "{}", '{"format": 99}', '{"format": 1}', '{"format": 2}', "nonsense", "[" * 100000]
)
def test_wrong_json_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        Result.from_json(text)


def test_pickles() -> None:
    answer = identify(CAP)
    assert pickle.loads(pickle.dumps(answer)) == answer  # noqa: S301 - our own bytes
    reference = pickle.loads(pickle.dumps(default_reference()))  # noqa: S301 - our own bytes
    assert identify(CAP, reference=reference) == answer


def test_threads_give_the_serial_answer() -> None:
    expected = identify(CAP)
    with ThreadPoolExecutor(8) as pool:
        assert all(answer == expected for answer in pool.map(lambda _: identify(CAP), range(64)))


def test_sources_resolve() -> None:
    """Every source an answer names is in the table."""
    answer = identify(CAP)
    assert answer.sources
    for key in answer.sources:
        assert default_reference().source(key).citation


def test_prior_faults() -> None:
    with pytest.raises(UnknownNameError, match="did you mean 'uniform'"):
        identify([], prior="unifrom")
    for weights, says in (
        ({"PE-HD": -1.0}, "not a weight"),
        ({"PE-HD": float("nan")}, "not a weight"),
        ({"PE-HD": float("inf")}, "not a weight"),
        ({"blorg": 1.0}, "no resin is called"),
        ({"PE-HD": 0.0}, "no resin any weight"),
        ({}, "no resin any weight"),
    ):
        with pytest.raises(InputError, match=says):
            identify([], prior=weights)


def test_given_weights_rule_nothing_out() -> None:
    """A resin given no weight can still win against the evidence."""
    answer = identify([*CAP, observe("density", density="0.955 ± 0.001 g/cm3")], prior={"PTFE": 1.0})
    assert answer["PE-HD"] > 1e-6


def test_doubt_means_do_not_heat() -> None:
    assert identify([]).heat.verdict == NOT_YET
    assert not identify(CAP[:1]).heat.allowed


def test_pvc_means_do_not_heat() -> None:
    """A small chance of PVC is enough, for its hydrogen chloride (HSE plastics processing sheet 13)."""
    bottle = [
        observe("density", density="1.37 ± 0.01 g/cm3"),
        observe("softening", temperature="250 degC"),
        observe("melt_onset", outcome="sharp"),
    ]
    answer = identify(bottle)
    chance = answer["PVC-U"] + answer["PVC-P"]
    assert answer.leader == "PET"
    assert 0 < chance < 0.01
    lax, strict = answer.heat, identify(bottle, danger_limit=chance / 3).heat
    assert strict.verdict == NOT_YET
    assert any("PVC" in reason for reason in strict.reasons)
    assert not any("PVC" in reason for reason in lax.reasons)
    doubtful = identify(bottle[:1])
    assert doubtful["PVC-U"] > 0.01
    assert not doubtful.heat.allowed
    assert any("PVC" in reason and "above the limit of 1 %" in reason for reason in doubtful.heat.reasons)


def test_well_identified_polyethylene_may_be_heated_with_cautions() -> None:
    answer = identify([*CAP, observe("density", density="0.958 ± 0.002 g/cm3")], prior={"PE-HD": 50, "PP": 1})
    assert answer["PE-HD"] > 0.95
    assert answer.heat.verdict == NO_BAR
    assert answer.heat.range.startswith("from 1")
    assert "local codes" in " ".join(answer.heat.cautions)


def test_acetal_is_not_heated() -> None:
    """Acetal gives off formaldehyde and must never meet PVC (HSE plastics processing sheet 13)."""
    answer = identify([observe("density", density="1.41 ± 0.003 g/cm3"), observe("softening", temperature="166 degC")])
    assert answer.leader == "POM"
    assert answer.heat.verdict == DO_NOT_HEAT
    assert any("formaldehyde" in line for line in (*answer.heat.reasons, *answer.heat.cautions))


def test_json_is_strict() -> None:
    data = json.loads(identify(CAP).to_json())
    assert data["ranking"][0]["resin"] == "PE-HD"
    assert data["observations"][0]["says"].startswith("floats in water")


MODEL: Final = model_of(default_reference())
RULE: Final = HeatRule(MODEL)
KINDS: Final = MODEL.kind_owner.size
CHANCES: Final = st.lists(
    st.sampled_from([0.0, 1e-12, 0.004, 0.01, 0.03, 0.0999, 0.1, 0.3]), min_size=KINDS, max_size=KINDS
)


@settings(max_examples=200, deadline=None)
@given(
    chances=CHANCES,
    leader=st.integers(0, KINDS - 1),
    share=st.sampled_from([0.0, 0.3, 0.85, 0.9 - 1e-15, 0.9, 0.95, 1.0]),
    prior=st.booleans(),
)
def test_many_pieces_are_judged_as_one_is(chances: list[float], leader: int, share: float, *, prior: bool) -> None:
    """A whole table lets just those pieces be melted that the one-piece rule does, at the same temperatures."""
    rest = np.array(chances)
    rest[leader] = 0.0
    probability = rest * (1.0 - share) / (rest.sum() or 1.0)
    probability[leader] = share
    if not probability.sum():
        return
    probability /= probability.sum()
    before = np.full(len(MODEL.candidates), 1.0 / len(MODEL.candidates)) if prior else None
    for limit in (0.01, 0.05):
        one = RULE.judge([View(probability)], limit, prior=before)
        fits = RULE.fits(np.tile(probability, (3, 1)), limit, prior=before)
        assert fits.any(axis=1).tolist() == [one.allowed] * 3
        if one.allowed:
            assert one.low == TEMPERATURES[fits[0].argmax()]
            assert one.hazard <= limit


def test_hazard_never_falls_with_temperature() -> None:
    """Law: hazard(T) grows with T; no resin both melts and is beyond the onset of a hazard that limits melting."""
    hazard, melts = RULE.temperatures.hazard, RULE.temperatures.melts
    assert (np.diff(hazard, axis=0) >= 0).all()
    assert RULE.temperatures.barred[-1] == 0.0
    assert (hazard >= RULE.temperatures.barred).all()
    assert melts[:, -1].max() == 0.0


def test_overheating_what_may_be_melted_counts_less_than_what_may_not() -> None:
    """Past its onset polypropylene counts a fifth and PVC whole; an answer of polypropylene still stays below it."""
    top = RULE.temperatures.hazard[-1]
    counted = {
        resin: top[np.flatnonzero(MODEL.kind_owner == MODEL.candidates.index(resin))[0]] for resin in ("PP", "PVC-U")
    }
    assert counted == {"PP": OVERHEATED, "PVC-U": 1.0}
    heat = identify(
        [observe("density", density="0.905 ± 0.001 g/cm3"), observe("softening", temperature="163 degC")]
    ).heat
    onset = next(row.onset for row in default_reference().hazards if row.applies_to == "PP" and row.limits_melt)
    assert heat.allowed
    assert heat.high is not None
    assert onset is not None
    assert heat.high <= onset


@pytest.mark.parametrize("resin", ["PS-HI", "ABS", "PC+ABS"])
def test_flame_retarded_kinds_are_hazardous(resin: str) -> None:
    """They are kinds of their own, and together a resin's kinds have the resin's probability."""
    place = MODEL.candidates.index(resin)
    own = np.flatnonzero(MODEL.kind_owner == place)
    assert MODEL.retarded[own].tolist() == [False, True]
    assert RULE.temperatures.barred[own].tolist() == [0.0, 1.0]
    answer = identify([observe("density", density="1.18 ± 0.005 g/cm3"), observe("softening", temperature="95 degC")])
    assert not answer.heat.allowed


def test_polyethylene_is_cleared_though_its_grades_are_not_told_apart() -> None:
    """The verdict hangs on the hazard and on what melts, not on the leader's name."""
    answer = identify([observe("density", density="0.942 ± 0.003 g/cm3"), observe("softening", temperature="125 degC")])
    assert answer.probability[0] < 0.9
    assert answer.heat.allowed
    assert answer.heat.low is not None
    assert 140 <= answer.heat.low < 210
