"""Which tests would settle whether a piece may be heated, and how likely each does."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import pytest

import resinid
from resinid.cli.main import main
from resinid.heating.verdict import NOT_YET
from resinid.planning.stopping import NAMED, RARELY

if TYPE_CHECKING:
    from pathlib import Path

FLOATS: dict[str, Any] = {"test": "float", "liquid": "water", "outcome": "floats"}
CREASES: dict[str, Any] = {"test": "snap", "outcome": "creases"}
WAXY: dict[str, Any] = {"test": "surface_feel", "outcome": "waxy"}
NEAR: tuple[list[dict[str, Any]], ...] = (
    [FLOATS, CREASES, WAXY],
    [FLOATS, {"test": "cut_face", "outcome": "solid"}, {"test": "feel", "outcome": "flexible"}],
)
"""Pieces whose verdict hangs on a test more."""

SETTLED: list[dict[str, Any]] = [FLOATS, {"test": "density", "density": "0.955 ± 0.002 g/cm3"}, CREASES]


@pytest.mark.parametrize("seen", NEAR)
def test_the_chance_is_that_of_the_verdicts_the_outcomes_bring(seen: list[dict[str, Any]]) -> None:
    """Law: of a test whose outcomes are words, the chance to settle is the sum of the chances of those outcomes after
    which :func:`resinid.identify` gives a sure verdict."""
    advice = resinid.next_tests(seen, question="heat")
    worded = [found for found in advice.suggestions if not found.plan.asks]
    assert len(worded) > 5
    for found in worded:
        chance = {each.says: each.probability for each in found.outcomes}
        sure = near = 0.0
        for outcome in found.plan.outcomes:
            heat = resinid.identify([*seen, outcome]).heat
            assert heat.settled_by == ()
            sure += chance[outcome.describe()] * heat.allowed
            # So near the limit the two sums may round to either side of it.
            near += chance[outcome.describe()] * (abs(heat.hazard / heat.hazard_limit - 1.0) < 0.005)
        # A warning counts as far as it is right, which none of these tests makes likely.
        assert found.settles == pytest.approx(sure, abs=0.02 + near), found.plan.label


def test_the_likeliest_to_settle_it_stand_first() -> None:
    heat = resinid.next_tests(NEAR[0], question="heat").result.heat
    assert heat.verdict == NOT_YET
    chances = [chance for _, chance in heat.settled_by]
    assert 0 < len(chances) <= NAMED
    assert chances == sorted(chances, reverse=True)
    assert chances[0] >= RARELY


def test_what_is_settled_names_none() -> None:
    """Neither what may be melted, nor what a warning forbids: no other test lifts that."""
    settled = resinid.next_tests(SETTLED, question="heat")
    assert settled.result.heat.allowed
    assert settled.result.heat.settled_by == ()
    green = [FLOATS, {"test": "copper_wire", "outcome": "green"}]
    stands = resinid.next_tests(green, question="heat", allow=["copper wire"])
    assert stands.result.heat.settled_by == ()
    assert stands.verdict == "settled"
    assert stands.reason.endswith("no other test lifts that")


def test_a_careless_smell_of_camphor_settles_nothing() -> None:
    """Celluloid is rare, so that most smells of camphor are none, and rubbing is not the first thing to do."""
    advice = resinid.next_tests([FLOATS], question="heat")
    rub = next(found for found in advice.suggestions if found.plan.test == "rub_smell")
    assert rub.settles < RARELY
    assert advice.suggestions.index(rub) > 3


def test_once_settled_the_tests_stand_by_what_they_tell() -> None:
    """When every test would leave the verdict as it is, that is no reason to do one."""
    advice = resinid.next_tests(SETTLED, question="heat")
    told = [
        found.bits_per_minute for found in advice.suggestions if found.plan.test not in {"mark", "article", "process"}
    ]
    assert advice.verdict == "settled"
    assert told == sorted(told, reverse=True)


def test_identify_names_them_and_says_null_in_python(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """On the command line, in text and JSON; by what is at hand."""
    path = tmp_path / "piece.json"
    path.write_text(json.dumps({"observation": NEAR[0]}), encoding="utf-8")
    assert main(["identify", str(path)]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert main(["identify", str(path), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)["heat"]["settled_by"]
    assert 0 < len(found) <= NAMED
    assert (
        f"Most likely to settle it, and in how many cases: {found[0]['test']} ({100 * found[0]['chance']:.0f} %)"
        in text
    )
    assert main(["identify", str(path), "--json", "--have", ""]) == 0
    bare = json.loads(capsys.readouterr().out)["heat"]["settled_by"]
    assert not any("weigh" in each["test"] or "hot plate" in each["test"] for each in bare)
    answer = resinid.identify(NEAR[0])
    assert json.loads(answer.to_json())["heat"]["settled_by"] is None


def test_they_are_read_back() -> None:
    """Law: an answer with them comes back from JSON equal to itself; a chance above one is refused."""
    answer = resinid.next_tests(NEAR[0], question="heat").result
    text = answer.to_json()
    assert resinid.Result.from_json(text) == answer
    data = json.loads(text)
    data["heat"]["settled_by"][0]["chance"] = 2.0
    with pytest.raises(resinid.InputError, match="settled_by"):
        resinid.Result.from_json(json.dumps(data))
