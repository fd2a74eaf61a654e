"""The ball drop keeps the contract, and its calibration is what it says."""

from __future__ import annotations

import pandas as pd
import pytest
from resinid_rebound import METHOD

from resinid import identify, identify_table
from resinid.testing import check_method


def test_it_keeps_the_contract() -> None:
    assert check_method(METHOD)


def test_the_glass_plate_calibrates_the_tube() -> None:
    """A tube that reads 46 % on glass, of which 92 % is true, reads half of what is there."""
    seen = {"test": "rebound", "rebound": "35 ± 1 %", "on_glass": "46 ± 1 %"}
    made = identify([seen], methods=[METHOD]).observations[0]
    assert made.describe() == "a steel ball comes back to 70 %"
    true = identify([{"test": "rebound", "rebound": "70 ± 1 %"}], methods=[METHOD])
    assert identify([seen], methods=[METHOD])["NR"] == pytest.approx(true["NR"], rel=0.2)


def test_readings_of_one_tube_share_its_error() -> None:
    """Two drops through one tube say less than one through each of two, for its factor may be off."""
    one = [{"test": "rebound", "rebound": "70 %", "tube": "a"}] * 2
    two = [*one[:1], {**one[0], "tube": "b"}]
    before = identify([], methods=[METHOD])["NR"]
    assert before < identify(one, methods=[METHOD])["NR"] <= identify(two, methods=[METHOD])["NR"]


def test_a_column_is_enough_for_a_table() -> None:
    frame = pd.DataFrame({"rebound [%]": ["70 ± 1", None]})
    answer = identify_table(frame, methods=[METHOD])
    single = identify([{"test": "rebound", "rebound": "70 ± 1 %"}], methods=[METHOD])
    assert answer.probability["NR"][0] == pytest.approx(single["NR"], abs=1e-9)
