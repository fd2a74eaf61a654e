"""The recorder of answers itself: it asks the same questions each time, and sees every difference."""

from __future__ import annotations

import json
import math
from collections import Counter
from typing import TYPE_CHECKING, Any

import pytest
import record_answers
from record_answers import KINDS, answers, differences, main, questions

if TYPE_CHECKING:
    from pathlib import Path


def test_questions_are_plain_and_the_same_each_time() -> None:
    drawn = questions()
    assert drawn == questions() == json.loads(json.dumps(drawn))
    assert Counter(case["kind"] for case in drawn.values()) == KINDS


@pytest.mark.parametrize(
    "kinds",
    [
        {"piece": 8},
        pytest.param({"piece": 12, "bag": 2, "advice": 2, "table": 2}, marks=pytest.mark.slow),
    ],
)
def test_the_same_commit_answers_the_same(
    kinds: dict[str, int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Recording and comparing end to end, with a few questions."""
    monkeypatch.setattr(record_answers, "KINDS", kinds)
    file = tmp_path / "answers.json"
    assert main(["record", str(file)]) == 0
    assert main(["compare", str(file)]) == 0
    data = json.loads(file.read_text(encoding="utf-8"))
    assert not any("refused" in answer for answer in data["answers"].values())
    ranking = data["answers"]["piece 1"]["probability"]
    ranking[next(iter(ranking))] += 1e-6
    file.write_text(json.dumps(data), encoding="utf-8")
    assert main(["compare", str(file)]) == 1
    assert main(["compare", str(file), "--tolerance", "1e-5"]) == 0


@pytest.mark.parametrize(
    ("before", "after"),
    [
        ({"a": 1.0}, {"a": 1.0 + 2e-9}),
        ({"a": 1.0}, {"b": 1.0}),
        ([1.0], [1.0, 2.0]),
        ([1.0], [math.nan]),
        ("DO NOT HEAT", "usable"),
        (True, False),
        (True, 1.0),
        (None, 0.0),
    ],
)
def test_every_difference_is_seen(before: Any, after: Any) -> None:  # noqa: ANN401 - whatever JSON holds
    assert list(differences(before, after, 1e-9))
    assert not list(differences(before, before, 1e-9))


def test_a_refused_question_is_an_answer() -> None:
    case = {"kind": "piece", "observations": [{"test": "no such test"}], "prior": "default"}
    assert answers({"one": case}) == {"one": {"refused": "InputError"}}
