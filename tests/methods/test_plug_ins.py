"""Laws of plug-ins: a failing one is left out and named; what one tells may raise a hazard, and clears none."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
import pytest
from plug_ins import KNOCK, Knock, Note, changed_latent, fails, is_light, kind_of, method_of

from resinid import (
    Batch,
    InputError,
    MethodWarning,
    NotAllowedError,
    Result,
    SharedError,
    Term,
    batch_composition,
    identify,
    identify_table,
    next_tests,
    observe,
)
from resinid.errors import Fault
from resinid.heating.evidence import clearing
from resinid.heating.verdict import MARKED, NOT_MEASURED
from resinid.methods.copper_wire.method import CopperWire
from resinid.methods.float_test.method import FloatTest
from resinid.methods.look_and_feel.method import DROP_SOUND
from resinid.methods.registry import built_in, is_built_in
from resinid.scoring.properties import CategoricalProperty

if TYPE_CHECKING:
    from pathlib import Path

SEEN: Final = (
    {"test": "float", "liquid": "water", "outcome": "floats"},
    {"test": "softening", "temperature": "131 ± 2 degC"},
)
MARK: Final = {"test": "mark", "reads": "PE-HD"}
"""Says nothing of the piece itself, so that all else is scored a second time without it."""

MELTS: Final = {"test": "softening", "temperature": "163 ± 1 degC"}
ROW: Final = {"softening.temperature [degC]": 163.0, "softening.temperature_u [degC]": 1.0}
"""What polypropylene does, and leaves open whether it is something that must not be heated."""

SURE: Final = method_of(kind_of(observes="density", term=is_light))
"""All but measures the density of polypropylene: with :data:`MELTS` enough to heat it, if it is trusted."""

FAILING: Final[dict[str, tuple[dict[str, Any], str]]] = {
    "term raises": ({"term": fails}, "ZeroDivisionError: out of order"),
    "no term": ({"term": lambda _: {"outlier": 0.1}}, "not a resinid.Term"),
    "no outlier": ({"term": lambda self: Term("snap", self.likelihood, 0.0, 0.5)}, "its outlier is 0.0"),
    "property unknown": ({"observes": "loudness"}, "nothing is known of 'loudness'"),
    "feature without width": ({"feature": (1.0, 0.0)}, "its feature is"),
    "key unhashable": ({"shared": SharedError([], 1.0)}, "unhashable"),  # type: ignore[arg-type]  # because it is wrong on purpose
    "likelihood raises": ({"likelihood": fails}, "ZeroDivisionError: out of order"),
    "likelihood of another shape": ({"likelihood": lambda _s, v, _e: np.ones(v.size + 1)}, "was asked for"),
    "likelihood negative": ({"likelihood": lambda _s, v, _e: v - 1000.0}, "negative or not finite"),
    "likelihood no number": ({"likelihood": lambda _s, v, _e: v * np.nan}, "negative or not finite"),
    "likelihood a text": ({"likelihood": lambda _s, _v, _e: "likely"}, "Cannot cast"),
    "likelihood written over the grid": ({"likelihood": lambda _s, v, _e: v.sort()}, "read-only"),
    "latent raises": ({"observes": Note(latent=fails)}, "ZeroDivisionError: out of order"),
    "latent None": ({"observes": Note(latent=lambda _: None)}, "AttributeError"),
    "masses of another shape": ({"observes": changed_latent(mass=lambda m: m[1:, 1:])}, "was asked for"),
    "masses no number": ({"observes": changed_latent(mass=lambda m: m * np.nan)}, "negative or not finite"),
}


@pytest.mark.parametrize(("attributes", "what"), FAILING.values(), ids=FAILING)
def test_a_failing_one_is_left_out_and_named(attributes: dict[str, Any], what: str) -> None:
    """The answer is the one without it, to the last digit, and says what was left out and why."""
    kind = kind_of(**attributes)
    with pytest.warns(MethodWarning, match=f"'knock' \\({kind.__module__}\\).*{what}"):
        answer = identify([SEEN[0], kind("high"), SEEN[1], MARK])
    honest = identify([*SEEN, MARK])
    assert answer.probability == honest.probability
    assert answer.observations == honest.observations
    assert answer.heat == honest.heat
    assert [test for test, _ in answer.left_out] == ["knock"]
    assert Result.from_json(answer.to_json()).left_out == answer.left_out


def test_an_honest_one_is_used() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        answer = identify([*SEEN, Knock("high")])
    assert not answer.left_out
    assert answer.probability != identify(SEEN).probability


def test_a_property_of_ours_is_one_with_the_plug_ins() -> None:
    """A plug-in's test of a built-in's property shares its latent value: said twice, it tells less than two would."""
    heard = observe("drop_sound", outcome=DROP_SOUND.outcomes[0])
    twin = kind_of(observes=DROP_SOUND, likelihood=lambda _s, v, _e: np.where(v == 0.0, 1.0, 0.0))
    alone = identify([heard], prior="uniform")
    both = identify([heard, twin("high")], prior="uniform")
    assert len(both.no_data) == 1
    assert both[alone.leader] < 1.2 * alone[alone.leader]


def test_one_that_cannot_be_made_is_left_out() -> None:
    """Of one piece and of a table."""
    method = method_of(kind_of(__post_init__=fails))
    with pytest.warns(MethodWarning, match="ZeroDivisionError"):
        answer = identify([*SEEN, {"test": "knock", "note": "high"}], methods=[method])
    assert answer.probability == identify(SEEN).probability
    assert [test for test, _ in answer.left_out] == ["knock"]
    frame = pd.DataFrame({"feel.outcome": ["limp", "rigid"], "knock.note": ["high", None]})
    with pytest.warns(MethodWarning, match="ZeroDivisionError"):
        found = identify_table(frame, methods=[method]).to_frame()
    pd.testing.assert_frame_equal(found, identify_table(frame[["feel.outcome"]]).to_frame(), check_flags=False)


def test_what_it_refuses_is_a_fault_of_the_input() -> None:
    method = method_of(kind_of(faults=lambda _: [Fault("note", "is too high for this room")]))
    with pytest.raises(InputError, match=r"observation\[1\].note: is too high"):
        identify([{"test": "knock", "note": "high"}], methods=[method])


def test_a_broken_table_of_a_plug_in(tmp_path: Path) -> None:
    (tmp_path / "behaviour.csv").write_text("no,such,columns\n", encoding="utf-8")
    kind = kind_of(observes=CategoricalProperty("tick", ("high", "low"), folder=tmp_path))
    with pytest.warns(MethodWarning, match="TableError"):
        assert identify([*SEEN, kind("high")]).probability == identify(SEEN).probability


def test_a_bag_leaves_it_out() -> None:
    """As one piece does: the shares are those of the bag without it, to what two streams of draws differ by."""
    bags = [Batch.of("lot 7", pieces=[[*SEEN, *more]] * 3) for more in ([], [kind_of(likelihood=fails)("high")])]
    with pytest.warns(MethodWarning, match="left out"):
        found = [batch_composition(bag) for bag in bags]
    for share in found[0].shares:
        assert found[1][share.resin].mean == pytest.approx(share.mean, abs=0.01)


def test_one_that_cannot_say_what_it_read_spoils_no_answer() -> None:
    answer = identify([*SEEN, kind_of(describe=fails)("high")])
    assert "cannot say what was read" in answer.to_json()
    assert "cannot say what was read" in answer._repr_html_()


def test_its_plans_are_tried_before_they_are_offered() -> None:
    """One that plans what cannot be scored is not offered."""
    method = method_of(kind_of(plans=classmethod(fails)))
    with pytest.warns(MethodWarning, match="'knock'.*ZeroDivisionError"):
        advice = next_tests(SEEN, methods=[method])
    assert [found.plan.key for found in advice.suggestions] == [
        found.plan.key for found in next_tests(SEEN).suggestions
    ]


def test_a_dangerous_test_is_off_until_allowed() -> None:
    torch = method_of(kind_of(only_if_allowed="burn"))
    with pytest.raises(NotAllowedError, match=r"allow = \['burn'\]"):
        observe("knock", methods=[torch], note="high")
    with pytest.raises(ValueError, match="is off"):
        identify([{"test": "knock", "note": "high"}], methods=[torch])
    assert identify([{"test": "knock", "note": "high"}], methods=[torch], allow=["burn"]).observations


def test_what_forbids_heating_stands() -> None:
    """Left out of the ranking, it is not left out of the safety; of a piece and of a row."""
    kind = kind_of(term=fails, forbids_heating=lambda _: "chlorine was found")
    with pytest.warns(MethodWarning, match="left out"):
        answer = identify([*SEEN, kind("high")])
    assert not answer.heat.allowed
    assert "chlorine was found" in answer.heat.reasons
    light = {"density.density [g/cm3]": 0.905, "density.density_u [g/cm3]": 0.002}
    rows = pd.DataFrame([{**ROW, **light, "knock.note": note} for note in ("high", None)])
    with pytest.warns(MethodWarning, match="left out"):
        found = identify_table(rows, methods=[method_of(kind)])
    assert found["do_not_heat"].tolist() == [True, False]


@pytest.mark.parametrize("forbids", [fails, lambda _: 7, property(fails)])
def test_one_that_cannot_say_forbids_heating(forbids: object) -> None:
    """In doubt, do not heat."""
    answer = identify([*SEEN, kind_of(forbids_heating=forbids)("high")])
    assert "knock cannot say whether it forbids heating" in answer.heat.reasons


def test_it_clears_nothing_unless_trusted() -> None:
    """By the name of its method or test the caller may trust it; of a piece and of a row, the same."""
    told: Any = {"methods": [SURE]}
    knocked = {"test": "knock", "note": "high"}
    seen, row = [knocked, MELTS], pd.DataFrame([{**ROW, "knock.note": "high"}])
    alone = identify(seen, **told)
    assert alone["PP"] > 0.9
    assert MARKED in alone.heat.reasons[0]
    assert NOT_MEASURED in identify([knocked], **told).heat.reasons
    assert identify_table(row, **told)["do_not_heat"].tolist() == [True]
    for name in ("knocking", "knock"):
        trusted = identify(seen, trusted=[name], **told)
        assert trusted.heat.allowed
        assert trusted.probability == alone.probability
        assert identify_table(row, trusted=[name], **told)["do_not_heat"].tolist() == [False]
        assert next_tests(seen, trusted=[name], **told).result.heat.allowed


def test_it_gets_no_hot_plate_offered_unless_trusted() -> None:
    for trusted in ([], ["knock"]):
        advice = next_tests([{"test": "knock", "note": "high"}], trusted=trusted, methods=[SURE], bench="hot plate")
        offered = any(found.plan.hazard == "hot plate" for found in advice.suggestions)
        assert offered is bool(trusted)


def test_one_that_never_clears_is_not_trusted_to() -> None:
    kind = kind_of(clears_heating=False)
    assert not clearing(kind, trusted=[kind])


def test_who_is_trusted_must_be_known() -> None:
    with pytest.raises(InputError, match="did you mean 'knock'"):
        identify(SEEN, trusted=["knok"], methods=[KNOCK])
    with pytest.raises(InputError, match="'burn' is a method and another one's test"):
        identify(SEEN, trusted=["burn"], methods=[method_of(kind_of(test="burn"))])
    with pytest.raises(InputError, match="is not a list of texts"):
        identify(SEEN, trusted="knock", methods=[KNOCK])


def test_what_is_built_in_cannot_be_forged() -> None:
    """Neither the name of the module, nor of the test, nor a base class makes a plug-in one of ours."""
    wire = type("CopperWire", (CopperWire,), {"forbids_heating": lambda _: "", "__module__": CopperWire.__module__})
    forged = [kind_of(__module__="resinid.methods.float_test.method", test="float"), type("F", (FloatTest,), {}), wire]
    assert not any(is_built_in(kind) or clearing(kind) for kind in forged)
    assert NOT_MEASURED in identify([forged[0]("high")], prior={"PP": 1.0}).heat.reasons
    assert all(is_built_in(test) for method in built_in() for test in method.tests)
