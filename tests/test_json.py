"""Answers as JSON: numbers of any type go in as plain ones, and what comes back is refused as an input is."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
import pytest

import resinid
from resinid import Batch, InputError, Reading, Result, identify
from resinid.liquids import Liquid
from resinid.methods.displacement.method import MeasuredDensity

if TYPE_CHECKING:
    from pathlib import Path

    from resinid.notebook import Answer

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


def test_every_answer_is_json_of_what_it_is_as_a_mapping(tmp_path: Path) -> None:
    """Plain JSON (RFC 8259: no NaN, no infinity) that states its format; what is public and shows itself has it."""
    caps, cups = Batch.of("caps", marked={"PE-HD": 30}), Batch.of("cups", marked={"PS": 3}, pieces=[[SEEN, READ]])
    advice = resinid.next_tests([SEEN], bench="water, table salt, scale 0.1 g")
    (tmp_path / "in.csv").write_text("density [g/cm3]\n0.957(3)\n\n", encoding="utf-8")
    answers: tuple[Answer, ...] = (
        advice.result, advice.result.heat, advice, *advice.suggestions, caps, JUG, resinid.default_reference(),
        resinid.mix_bath("1.070 g/cm3", "500 mL", "table salt"),
        resinid.correct_bath("1.062 g/cm3", "500 mL", "1.070 g/cm3", "table salt"),
        resinid.ladder(["PE-HD", "PS"]),
        resinid.batch_composition(cups), resinid.same_resin(caps, cups), resinid.melt_together(caps, cups),
        resinid.melt_plan(caps), resinid.stock_matrix([caps, cups]),
        resinid.identify_table(pd.DataFrame({"density [g/cm3]": ["0.957(3)", None]})),
        resinid.identify_file(tmp_path / "in.csv", tmp_path / "out.csv"),
    )  # fmt: skip
    for answer in answers:
        read = json.loads(answer.to_json(), parse_constant=pytest.fail)
        assert read.pop("format") in {2, 3}
        told = json.loads(json.dumps(answer.to_dict()))
        told.pop("format", None)
        assert read == told, type(answer)
        assert len(repr(answer)) < 600, type(answer)
    assert resinid.read_batch(cups.to_json()) == cups
    held = resinid.batch_composition(cups)
    assert (next(iter(held)), len(dict(held)), "PS" in held, 0 in held) == (held.main.resin, len(held), True, False)
    assert resinid.parse_liquid(JUG.to_dict()) == JUG
    shown = {name for name in resinid.__all__ if hasattr(getattr(resinid, name), "_repr_html_")}
    assert shown <= {type(answer).__name__ for answer in answers}


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
