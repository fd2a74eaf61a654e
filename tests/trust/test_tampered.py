"""An answer's JSON that was tampered with is refused: it must not pass for an answer of this package."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Final

import pytest

from resinid import ResinidError, Result, identify
from resinid.heating.verdict import NO_BAR, PRECAUTIONS

if TYPE_CHECKING:
    from collections.abc import Callable

SEEN: Final = ({"test": "snap", "outcome": "snaps"}, {"test": "density", "density": "1.05 ± 0.01 g/cm3"})

LEAVE: Final = {"allowed": True, "verdict": NO_BAR, "reasons": [], "cautions": []}
PVC: Final = (
    {"test": "density", "density": "1.39 ± 0.005 g/cm3"},
    {"test": "copper_wire", "outcome": "green"},
    {"test": "modulus", "modulus": "2900 ± 100 MPa"},
    {"test": "softening", "temperature": "80 ± 2 degC"},
)


def put(*path: str | int, to: object) -> Callable[[dict[str, Any]], None]:
    """Return what puts something at a place."""

    def change(data: Any) -> None:  # noqa: ANN401 - because it goes down through JSON
        for step in path[:-1]:
            data = data[step]
        data[path[-1]] = to

    return change


def swapped(data: dict[str, Any]) -> None:
    first, second = data["ranking"][:2]
    first["probability"], second["probability"] = second["probability"], first["probability"]


TAMPERED: Final = {
    "shares that do not add up": (put("ranking", 0, "probability", to=0.999), "add up to 1"),
    "a share that is no number": (put("ranking", 0, "probability", to="0.5"), "numbers from 0 to 1"),
    "a share that is not finite": (put("ranking", 0, "probability", to=float("nan")), "numbers from 0 to 1"),
    "a share beyond any float": (put("ranking", 0, "prior", to=10**400), "ranking.prior"),
    "a share that is true": (put("ranking", 0, "probability", to=True), "numbers from 0 to 1"),
    "another leader": (swapped, "falling order"),
    "one resin twice": (put("ranking", 1, "resin", to="PS"), "not the JSON of a result|names one resin twice"),
    "a verdict that is a list": (put("heat", "verdict", to=[]), "no verdict(?s:.*)|where a text belongs"),
    "a resin that is a list": (put("ranking", 0, "resin", to=[]), "not the JSON of a result|where a text belongs"),
    "a verdict of somebody else": (put("heat", "verdict", to="SAFE"), "no verdict"),
    "an outlier beyond one": (put("observations", 0, "outlier_if_leader_right", to=7), "not a number from 0 to 1"),
    "a factor that is none": (put("observations", 0, "log_factor", "PP", to="x"), "finite numbers"),
    "a resin without a factor": (put("observations", 0, "log_factor", to={}), "not the JSON of a result"),
    "a name that is a number": (put("piece", to=7), "where a text belongs"),
    "a caution that is none": (put("heat", "cautions", to=[None]), "where a text belongs"),
    "no ranking": (put("ranking", to=[]), "add up to 1"),
    "another version": (put("format", to=1), "this version reads"),
    "a limit that sets danger aside": (put("danger_limit", to=0.5), "may not be set aside"),
    "sources that are one text": (put("sources", to="abc"), "is not a list"),
    "an unknown test": (put("observations", 0, "test", to="x"), "not the JSON of a result|no method offers"),
}


@pytest.mark.parametrize("name", TAMPERED)
def test_tampered_answer_is_refused(name: str) -> None:
    change, says = TAMPERED[name]
    data = json.loads(identify(SEEN, piece="lid").to_json())
    change(data)
    with pytest.raises(ResinidError, match=says):
        Result.from_json(json.dumps(data))


def test_untouched_answer_is_taken() -> None:
    """The order of the factors does not matter, only their names."""
    answer = identify(SEEN, piece="lid")
    data = json.loads(answer.to_json())
    factors = data["observations"][0]["log_factor"]
    data["observations"][0]["log_factor"] = dict(reversed(factors.items()))
    assert Result.from_json(json.dumps(data)) == answer


def test_leave_to_heat_is_not_read_into_an_answer() -> None:
    """Observations are scored again: a verdict that does not follow from them is history."""
    answer = identify(PVC, allow=["copper wire"], prior={"PVC-U": 1, "PE-HD": 1})
    assert answer["PVC-U"] > 0.99
    for verdict, reasons in ((NO_BAR, []), (PRECAUTIONS, ["take care"])):
        data = json.loads(answer.to_json())
        data["heat"] = {**LEAVE, "verdict": verdict, "reasons": reasons}
        assert_history(data, "scored again, the verdict is: DO NOT HEAT", verdict)


@pytest.mark.parametrize("reference", ["another digest", None])
@pytest.mark.parametrize("seen", [[], [{"test": "mark", "reads": "5"}], [{"test": "mark", "reads": ">PP-FR<"}]])
def test_no_digest_makes_leave_of_a_mark(seen: list[dict[str, str]], reference: str | None) -> None:
    """Under an unknown digest as under the true one, whatever its shares are changed to."""
    data = json.loads(identify(seen, prior={"PP": 1, "none of these": 0}).to_json())
    data["heat"] = dict(LEAVE)
    data["reference_digest"] = reference or data["reference_digest"]
    assert_history(data, "history", NO_BAR)


def test_leave_of_forbidden_resin_under_another_digest_is_history() -> None:
    data = json.loads(identify(PVC, allow=["copper wire"]).to_json())
    data |= {"heat": dict(LEAVE), "reference_digest": "0" * 12}
    assert_history(data, "another reference table", NO_BAR)


def test_changed_probabilities_are_history() -> None:
    """Probabilities that their observations do not give, in falling order and adding up to one."""
    data = json.loads(identify(SEEN).to_json())
    for place, row in enumerate(data["ranking"]):
        row["probability"] = float(place == 0)
    data["heat"] = dict(LEAVE)
    assert_history(data, "give other probabilities", NO_BAR)


def assert_history(data: dict[str, Any], why: str, verdict: str) -> None:
    """Heating is not allowed; the first reason says why the verdict is history and what it was."""
    read = Result.from_json(json.dumps(data))
    assert not read.heat.allowed
    assert "history" in read.heat.reasons[0]
    assert why in read.heat.reasons[0]
    assert read.heat.reasons[0].endswith(f"the verdict was: {verdict}")
    assert not Result.from_json(read.to_json()).heat.allowed


def test_leave_to_heat_that_was_given_is_read_back() -> None:
    """What was worked out stands; reasons and cautions are those of the scoring, not of the text."""
    told = [{"test": "density", "density": "0.905 ± 0.001 g/cm3"}, {"test": "softening", "temperature": "163 ± 1 degC"}]
    answer = identify(told)
    assert answer.heat.allowed
    assert Result.from_json(answer.to_json()) == answer
    data = json.loads(answer.to_json())
    data["heat"]["reasons"], data["heat"]["cautions"] = ["but"], []
    assert Result.from_json(json.dumps(data)) == answer


def test_stricter_limit_is_kept() -> None:
    told = [{"test": "density", "density": "0.905 ± 0.001 g/cm3"}, {"test": "softening", "temperature": "163 ± 1 degC"}]
    answer = identify(told, danger_limit=1e-9)
    assert not answer.heat.allowed
    assert Result.from_json(answer.to_json()) == answer
