"""The limit of danger may be lowered, and raised a little; it may not be set aside, nor what is no number pass."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import pytest

from resinid import (
    Batch,
    RangeError,
    UnknownNameError,
    default_reference,
    identify,
    identify_table,
    melt_plan,
    melt_together,
    next_tests,
    stock_matrix,
)
from resinid.heating.rule import HeatRule, View
from resinid.heating.verdict import MOST_BORNE
from resinid.identification.score import model_of

if TYPE_CHECKING:
    from collections.abc import Callable

LIGHT = [{"test": "float", "liquid": "water", "outcome": "floats"}]
CAPS = Batch.of("caps", marked={"PE-HD": 30})


@pytest.mark.parametrize(
    "asked",
    [
        lambda limit: identify(LIGHT, danger_limit=limit),
        lambda limit: identify_table(pd.DataFrame({"float.liquid": ["water"]}), danger_limit=limit),
        lambda limit: next_tests(LIGHT, danger_limit=limit),
        lambda limit: melt_together(CAPS, CAPS, danger_limit=limit),
        lambda limit: melt_plan(CAPS, danger_limit=limit),
        lambda limit: stock_matrix([CAPS], danger_limit=limit),
    ],
)
def test_no_entry_lets_it_be_set_aside(asked: Callable[[Any], object]) -> None:
    for limit in (1.0, 0.051, -0.01, math.nan, math.inf, True, None, "0.01"):
        with pytest.raises(RangeError, match="may not be set aside"):
            asked(limit)


@pytest.mark.parametrize("part", [slice(None), slice(-1, None), slice(0, 1)])
def test_what_is_not_a_number_forbids(part: slice) -> None:
    """For one piece as for a table, wherever the NaN is; without it the same chances are fit to be heated."""
    model = model_of(default_reference())
    rule, chances = HeatRule(model), np.zeros(model.kind_owner.size)
    chances[0] = 1.0
    assert model.candidates[0] == "PE-HD"
    assert rule.judge([View(chances)]).allowed
    chances[part] = math.nan
    assert not rule.judge([View(chances)]).allowed
    assert not rule.fits(chances[None, :]).any()


def test_most_that_may_be_borne_is_borne() -> None:
    assert identify(LIGHT, danger_limit=MOST_BORNE).leader


def test_a_candidate_is_asked_for_by_its_symbol() -> None:
    answer = identify(LIGHT)
    assert "PE-HD" in answer
    assert "HDPE" not in answer
    with pytest.raises(UnknownNameError, match="no candidate"):
        answer["HDPE"]
