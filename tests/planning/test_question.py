"""A question of one's own: answers that could be mistaken for others, or are none, are refused by name."""

from __future__ import annotations

from typing import Any

import pytest

from resinid import InputError, default_reference, next_tests
from resinid.planning.question import question_of


@pytest.mark.parametrize(
    "asked",
    [
        {"other": ["PP"], "PE": ["PE-HD"]},
        {"Other ": ["PP"]},
        {"none of these": ["PP"]},
        {"": ["PP"]},
        {" ": ["PP"]},
        {5: ["PP"]},
        {"a": []},
        {"a": None},
        {"a": 5},
        {"a": ["PP", None]},
        {("x" * 10**5): ["nope"]},
    ],
    ids=range(11),
)
def test_what_is_no_answer_is_refused(asked: dict[Any, Any]) -> None:
    with pytest.raises(InputError, match=r"question\.") as caught:
        next_tests(question=asked)
    assert max(map(len, str(caught.value).split("; "))) < 1000


def test_all_faults_of_the_answers_are_told_together() -> None:
    with pytest.raises(InputError, match=r"question\.other(?s:.*)question\.a(?s:.*)question\.5"):
        question_of(default_reference(), {"other": ["PP"], "a": [], 5: ["PS"]})  # type: ignore[dict-item]  # on purpose


def test_no_probability_is_lost_on_the_way_to_json() -> None:
    told = next_tests(question={"polyolefin": iter(["PP", "HDPE"]), "PVC": "PVC-U"}).to_dict()["answers"]
    assert set(told) == {"polyolefin", "PVC", "other", "none of these"}
    assert abs(sum(told.values()) - 1.0) < 1e-9
