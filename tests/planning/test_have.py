"""What is at hand, given as an object: what is not of its kind is refused by name, and held in one form."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

import resinid
from resinid import Bench, InputError, Reagent, next_tests

SALT = Reagent("table salt")


@pytest.mark.parametrize(
    "wrong",
    [
        {"scale": "0.1 g"},
        {"scale": True},
        {"scale": -1.0},
        {"cylinder": [1]},
        {"volume": None},
        {"volume": float("nan")},
        {"temperature": "20"},
        {"temperature": None},
        {"temperature": float("inf")},
        {"hot_plate": "250 degC"},
        {"hot_plate": -1.0},
        {"sinker": 1},
        {"strip": "no"},
        {"tools": "acetone"},
        {"tools": None},
        {"tools": (5,)},
        {"reagents": ("table salt",)},
        {"reagents": SALT},
        {"reagents": None},
        {"liquids": ("water",)},
        {"liquids": (SALT,)},
        {"liquids": 5},
    ],
    ids=str,
)
def test_what_is_not_of_its_kind_is_refused(wrong: dict[str, Any]) -> None:
    with pytest.raises(InputError, match=rf"have\.{next(iter(wrong))}"):
        Bench(**wrong)


def test_all_that_is_wrong_is_told_together() -> None:
    wrong: dict[str, Any] = {
        "scale": "0.1 g",
        "strip": "no",
        "tools": "acetone",
        "reagents": ("salt",),
        "liquids": (1,),
    }
    with pytest.raises(InputError) as caught:
        Bench(**wrong)
    assert [fault.place.split("[")[0] for fault in caught.value.faults] == [
        f"have.{name}" for name in ("scale", "strip", "reagents", "liquids", "tools")
    ]


def test_lists_and_numbers_of_any_kind_make_the_same_bench() -> None:
    """An advice can be made with it, which asks that it can be hashed and written down."""
    loose: dict[str, Any] = {
        "reagents": [SALT],
        "liquids": [],
        "tools": ["acetone"],
        "scale": np.float32(0.5),
        "volume": 5,
    }
    strict = Bench(reagents=(SALT,), tools=("acetone",), scale=0.5, volume=5.0)
    assert Bench(**loose) == strict
    assert next_tests(bench=Bench(**loose)).to_json() == next_tests(bench=strict).to_json()


@pytest.mark.parametrize("steps", ["3", None, 2.5, True, 0, 21])
def test_steps_of_a_ladder_are_counted(steps: Any) -> None:  # noqa: ANN401 - because it is wrong on purpose
    with pytest.raises(InputError, match=r"steps: is .*give a whole number, 1 to 20"):
        resinid.ladder(["PP", "PS"], steps=steps)


def test_steps_may_be_a_number_of_numpys() -> None:
    count: Any = np.int64(2)
    assert resinid.ladder(["PP", "PS"], steps=count) == resinid.ladder(["PP", "PS"], steps=2)


def test_a_frame_without_suggestions_has_its_columns() -> None:
    full, bare = (
        next_tests().to_frame(),
        next_tests(bench="", without=[*{each.plan.test for each in next_tests(bench="").suggestions}]),
    )
    assert not bare.suggestions
    assert list(bare.to_frame().columns) == list(full.columns)
    assert len(full.columns) == 7
