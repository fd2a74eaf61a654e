"""Answers as JSON: numbers of any type go in as plain ones, and what comes back is refused as an input is."""

from __future__ import annotations

import json
from typing import Any, Final

import numpy as np
import pytest

import resinid
from resinid import Batch, InputError, Reading, Result, identify
from resinid.liquids import Liquid
from resinid.methods.displacement.method import MeasuredDensity

NUMPYS: Final[dict[str, Any]] = {"density": np.float32(1.07), "u": np.float32(0.001), "temperature": np.int64(20)}
JUG: Final = Liquid(**NUMPYS, label="brine", how="as stated")
SEEN: Final = {"test": "float", "liquid": JUG, "outcome": "floats"}
READ: Final = MeasuredDensity(Reading(np.float32(1.05), np.float32(0.01)))  # type: ignore[arg-type]  # because they are numpy's


def test_numbers_of_numpys_are_written_as_plain_ones() -> None:
    answer = identify([SEEN, READ])
    assert Result.from_json(answer.to_json()) == answer
    assert resinid.next_tests([SEEN], bench=resinid.Bench(liquids=(JUG,))).to_json()
    bag = Batch.of("b", pieces=[[SEEN, READ]], flakes=[{"liquid": JUG, "floated": np.int64(2)}])
    assert resinid.read_batch(json.dumps(bag.to_dict())) == bag
    assert resinid.batch_composition(bag).to_json()


def changed(*steps: str, to: object) -> str:
    whole = at = json.loads(identify([]).to_json())
    for step in steps[:-1]:
        at = at[int(step) if step.isdecimal() else step]
    at[steps[-1]] = to
    return json.dumps(whole)


@pytest.mark.parametrize(
    "text",
    [
        changed("heat", "verdict", to=[]),
        changed("heat", "verdict", to={}),
        changed("ranking", "0", "resin", to=[]),
        changed("ranking", "0", "resin", to={"a": 1}),
        changed("reference_digest", to=[]),
        changed("no_data", to=[["density"]]),
    ],
)
def test_what_is_no_text_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        Result.from_json(text)


def test_a_test_that_nothing_offers_is_a_fault_of_the_text() -> None:
    data = json.loads(identify([READ, SEEN]).to_json())
    data["observations"][1]["test"] = "flaot"
    with pytest.raises(InputError, match=r"observation\[2\]\.test: no method offers .*did you mean 'float'"):
        Result.from_json(json.dumps(data))
    data["observations"][1]["test"] = "float"
    data["observations"][1]["outcome"] = "swims"
    with pytest.raises(InputError, match=r"observation\[2\]\.outcome"):
        Result.from_json(json.dumps(data))
    with pytest.raises(InputError, match="methods"):
        Result.from_json(json.dumps(data), methods=None)  # type: ignore[arg-type]  # because it is wrong on purpose
