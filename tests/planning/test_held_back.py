"""What nobody allowed but would tell most is named, with what allows it."""

from __future__ import annotations

from typing import Final

from resinid import next_tests
from resinid.report.advice_report import advice_report
from resinid.report.text import text_of

BOTTLE: Final = [
    {"test": "density", "density": "1.335 ± 0.004 g/cm3"},
    {"test": "feel", "outcome": "rigid"},
    {"test": "transparency", "outcome": "clear"},
    {"test": "cut_face", "outcome": "solid"},
]
HAVE: Final = "scale 0.01 g, copper wire, burner"


def test_a_copper_wire_is_named_where_pvc_is_in_the_way() -> None:
    """As clear and dense as PET is PVC; only its chlorine parts the two before any heat (bench.md, finding 2)."""
    advice = next_tests(BOTTLE, bench=HAVE, question="heat")
    assert [each.plan.test for each in advice.held_back] == ["copper_wire"]
    assert advice.held_back[0].bits > max(each.bits for each in advice.suggestions if each.plan.test != "mark") / 2
    assert '--allow "copper wire" offers it, with its caution' in " ".join(
        text_of(advice_report(advice).parts, full=False).split()
    )
    assert advice.to_dict()["held_back"][0]["allow"] == "copper wire"
    allowed = next_tests(BOTTLE, bench=HAVE, question="heat", allow=["copper wire"])
    assert allowed.best is not None
    assert allowed.best.plan.test == "copper_wire"
    assert not allowed.held_back


def test_nothing_dangerous_is_named_once_heating_is_forbidden() -> None:
    """Of what must not be heated nothing more is to be found out by fire."""
    advice = next_tests([*BOTTLE, {"test": "mark", "reads": "PVC"}], bench=HAVE, question="heat")
    assert advice.verdict == "settled"
    assert not advice.held_back


def test_a_burn_is_not_named_while_it_would_be_held_back_if_allowed() -> None:
    """A burn is offered only once PVC and the like are all but ruled out, allowed or not."""
    for question in ("resin", "heat"):
        advice = next_tests(BOTTLE, bench=HAVE, question=question)
        assert all(each.plan.hazard != "burn" for each in advice.held_back)
