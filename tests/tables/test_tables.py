"""Whole tables give the one-piece answers, whatever the shape of the table."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shop import CANDIDATES, compared, shop

from resinid import InputError, identify, identify_table
from resinid.tables import frame as bulk_table
from resinid.tables import grouping as seen
from resinid.tables import normalise as adding
from resinid.tables import parts, sums
from resinid.tables.answer import TOLD
from resinid.tables.columns import plan_columns


def test_equal_to_the_one_piece_answer() -> None:
    """Every probability of a table is the one-piece answer's to 1e-9, whatever was not measured."""
    frame = shop(400)
    assert compared(frame, list(range(0, 400, 3))) < 1e-9


@pytest.mark.parametrize(
    ("block", "together", "chunk", "patterns"),
    [(64, 64, 64, 256), (64, 128, 128, 5), (1024, 1024, 4096, 5), (1, 1, 1, 1), (16, 32, 96, 256)],
)
def test_chunks_and_batches_do_not_matter(
    monkeypatch: pytest.MonkeyPatch, block: int, together: int, chunk: int, patterns: int
) -> None:
    """However many pieces are summed, added up and scored at a time, and outcomes held, the answers are the same."""
    frame = shop(300, stream=1)
    whole = identify_table(frame)
    monkeypatch.setattr(sums, "BLOCK", block)
    monkeypatch.setattr(adding, "TOGETHER", together)
    monkeypatch.setattr(parts, "CHUNK", chunk)
    monkeypatch.setattr(parts, "PATTERNS", patterns)
    monkeypatch.setattr(seen, "PATTERNS", patterns)
    found = identify_table(frame)
    assert np.abs(found[CANDIDATES].to_numpy() - whole[CANDIDATES].to_numpy()).max() < 1e-10
    assert found["do_not_heat"].equals(whole["do_not_heat"])


def test_two_columns_of_readings_of_one_property() -> None:
    """Some pieces have their density in one column, some in another of another test, in any order."""
    frame = shop(200, stream=2)
    other = np.arange(200) % 3 == 0
    density = frame["density.density [kg/m3]"]
    frame["density#2.density [kg/m3]"] = density.where(other)
    frame["density#2.density_u [kg/m3]"] = frame["density.density_u [kg/m3]"]
    frame["density.density [kg/m3]"] = density.where(~other)
    assert compared(frame, list(range(0, 200, 5))) < 1e-9


def test_what_does_not_fit_the_fast_form_is_equal_too() -> None:
    """Two densities, a bracket and a softening on one thermometer, one jug twice, weighings, sharp readings."""
    frame = pd.DataFrame(
        {
            "density.density [g/cm3]": [0.955, 0.955, math.nan, 1.38, 0.9784],
            "density.density_u [g/cm3]": [0.004, 0.004, math.nan, 0.004, 0.0001],
            "density#2.density [g/cm3]": [0.957, math.nan, 0.92, 1.379, math.nan],
            "density#2.density_u [g/cm3]": [0.004, math.nan, 0.004, 0.004, math.nan],
            "softening.temperature [degC]": [131.0, 131.0, 110.0, 250.0, math.nan],
            "softening.temperature_u [degC]": 2.0,
            "hot_plate.not_melted_at [degC]": [120.0, math.nan, 100.0, 240.0, 120.0],
            "hot_plate.not_melted_at_u [degC]": 1.0,
            "hot_plate.melted_at [degC]": [140.0, math.nan, math.nan, 260.0, 140.0],
            "hot_plate.melted_at_u [degC]": 1.0,
            "float.liquid": ["water"] * 5,
            "float.outcome": ["floats", "floats", None, "sinks", "floats"],
            "float#2.liquid": ["water"] * 5,
            "float#2.outcome": ["floats", "sinks", None, "sinks", "floats"],
            "weighing.in_air [g]": [math.nan, math.nan, math.nan, 5.0, math.nan],
            "weighing.in_air_u [g]": 0.01,
            "weighing.in_liquid [g]": [math.nan, math.nan, math.nan, 1.38, math.nan],
            "weighing.in_liquid_u [g]": 0.01,
            "weighing.liquid": ["water"] * 5,
        }
    )
    assert compared(frame, list(range(5))) < 1e-9


def test_liquids_by_their_density() -> None:
    """A jug may be given row by row as a density with its uncertainty."""
    frame = pd.DataFrame(
        {
            "float.liquid [g/cm3]": [0.998, 0.95, 1.2],
            "float.liquid_u [g/cm3]": [0.001, 0.002, 0.002],
            "float.outcome": ["floats", "sinks", "sinks"],
        }
    )
    answer = identify_table(frame).probability
    single = identify([{"test": "float", "liquid": {"density": "0.95 ± 0.002 g/cm3"}, "outcome": "sinks"}])
    assert answer.iloc[1]["PE-HD"] == pytest.approx(single["PE-HD"], abs=1e-9)


def test_bad_rows_are_reported_and_do_not_stop_the_rest() -> None:
    frame = shop(30)
    good = identify_table(frame).to_frame()
    frame.loc[103, "density.density [kg/m3]"] = -5.0
    frame.loc[104, "density.density_u [kg/m3]"] = -1.0
    frame.loc[104, "density.density [kg/m3]"] = 950.0
    frame.loc[105, "float.outcome"] = "flaots"
    frame.loc[106, "feel.outcome"] = "x" * 5000
    answer = identify_table(frame).to_frame()
    reasons = answer["error"]
    assert list(reasons[reasons.notna()].index) == [103, 104, 105, 106]
    assert "impossible" in reasons[103]
    assert "no uncertainty" in reasons[104]
    assert "did you mean 'floats'" in reasons[105]
    assert len(reasons[106]) < 1000
    assert answer.loc[[103, 104, 105, 106], CANDIDATES].isna().all(axis=None)
    assert answer.loc[[103, 104], "do_not_heat"].all()
    untouched = [index for index in frame.index if index not in {103, 104, 105, 106}]
    pd.testing.assert_frame_equal(answer.loc[untouched], good.loc[untouched], check_exact=False, rtol=1e-12)
    with pytest.raises(InputError, match=r"row 103: density.density \[kg/m3\]: -5 is impossible") as caught:
        identify_table(frame, errors="raise")
    assert len(caught.value.faults) == 4


def test_text_in_a_number_column_is_a_bad_row() -> None:
    frame = pd.DataFrame({"density.density [g/cm3]": ["0.95", "0,95", "=1+1", None], "density.density_u [g/cm3]": 0.01})
    answer = identify_table(frame)
    assert answer["error"].isna().tolist() == [True, False, False, True]
    assert "'0,95' is not a number" in answer["error"][1]


def test_top() -> None:
    frame = shop(50)
    whole, best = identify_table(frame), identify_table(frame, top=3)
    assert list(best.columns) == [
        "resin_1", "probability_1", "resin_2", "probability_2", "resin_3", "probability_3", *TOLD,
    ]  # fmt: skip
    assert (best["resin_1"] == whole[CANDIDATES].idxmax(axis=1)).all()
    assert (best["probability_1"] == whole[CANDIDATES].max(axis=1)).all()


def test_nothing_measured_is_not_ranked_and_an_empty_table_is_empty() -> None:
    frame = pd.DataFrame({"snap.outcome": pd.Series([None, "snaps"], dtype=object), "float.liquid": "water"})
    frame["float.outcome"] = None
    answer = identify_table(frame, prior="uniform", top=1)
    assert answer["tests"].tolist() == [0, 1]
    assert answer.iloc[0].isna()[["resin_1", "probability_1", "hazard", "group", "error"]].all()
    assert (answer["verdict"][0], answer["do_not_heat"][0]) == ("not yet", True)
    assert answer["probability_1"][1] > 0
    empty = identify_table(shop(5).iloc[:0])
    assert list(empty) == [*CANDIDATES, *TOLD]
    assert len(empty) == 0


def test_workers_and_shape_do_not_matter(monkeypatch: pytest.MonkeyPatch) -> None:
    """The same table gives the same bits for any number of workers, and 1e-9 in any order of rows."""
    monkeypatch.setattr(bulk_table, "UNIT", 64)
    frame = shop(300)
    serial = identify_table(frame).to_frame()
    for workers in (2, 3, 8):
        pd.testing.assert_frame_equal(identify_table(frame, workers=workers).to_frame(), serial, check_exact=True)
    shuffled = frame.sample(frac=1.0, random_state=1)
    pd.testing.assert_frame_equal(identify_table(shuffled).to_frame().loc[frame.index], serial, rtol=1e-9)


@pytest.mark.parametrize(
    ("columns", "says"),
    [
        (["id"], "no column names a test"),
        (["denisty.density [g/cm3]"], "did you mean 'density'"),
        (["density.densty [g/cm3]", "density.density [g/cm3]", "density.density_u"], "did you mean 'density'"),
        (["denisty [g/cm3]"], "did you mean 'density'"),
        (["denisty_u [g/cm3]"], "did you mean 'density'"),
        (["density.density_u [g/cm3]"], "has no column"),
        (["float"], "does not say which reading"),
        (["tap.outcome"], "no test is called 'tap'"),
        (["density.density [g]", "density.density_u [g]"], "is not one of density"),
        (["density.density [blorg]", "density.density_u"], "is not known"),
        (["float.outcome"], "lacks the column float.liquid"),
        (["snap.outcome", "snap.outcome "], "there twice"),
        (["snap.outcome!x.y"], "is not test.field"),
    ],
)
def test_headers_are_checked_once(columns: list[str], says: str) -> None:
    with pytest.raises(InputError, match=says):
        plan_columns(columns)


@pytest.mark.filterwarnings("ignore::resinid.TableWarning")
@settings(max_examples=30, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.one_of(st.none(), st.floats(allow_nan=True, allow_infinity=True), st.text(max_size=5)),
            st.one_of(st.none(), st.floats()),
            st.one_of(st.none(), st.sampled_from(["floats", "sinks", ""]), st.text(max_size=5)),
        ),
        min_size=1,
        max_size=8,
    )
)
def test_any_cells_give_probabilities_or_reasons(rows: list[tuple[object, object, object]]) -> None:
    """Whatever the cells hold, each row has probabilities that sum to one, or a reason."""
    frame = pd.DataFrame(
        {
            "density.density [g/cm3]": pd.Series([row[0] for row in rows], dtype=object),
            "density.density_u [g/cm3]": pd.Series([row[1] for row in rows], dtype=object),
            "float.liquid": "water",
            "float.outcome": pd.Series([row[2] for row in rows], dtype=object),
        }
    )
    answer = identify_table(frame)
    sums = answer[CANDIDATES].sum(axis=1, skipna=False)
    usable = answer["error"].isna() & (answer["tests"] > 0)
    assert np.allclose(sums[usable], 1.0)
    assert sums[~usable].isna().all()
    assert answer["do_not_heat"][~usable].all()


NO_NUMBERS: Final[dict[str, Any]] = {
    "dates": pd.to_datetime(["1970-01-01 00:00:00.000000001"] * 2),
    "spans of time": pd.to_timedelta([1, 1], unit="ns"),
    "truth values": [True, True],
    "truth values, some missing": pd.Series([True, None], dtype="boolean"),
    "complex": [0.95 + 0.1j, 0.95],
    "a truth value among numbers": pd.Series([True, 0.95], dtype=object),
    "a complex number among numbers": pd.Series([0.95 + 0.1j, 0.95], dtype=object),
    "a list among numbers": pd.Series([[0.95], 0.95], dtype=object),
}


@pytest.mark.filterwarnings("ignore::resinid.TableWarning")
@pytest.mark.parametrize("unit", ["density.density [g/cm3]", "density.density_u [g/cm3]"])
@pytest.mark.parametrize("column", NO_NUMBERS.values(), ids=NO_NUMBERS)
def test_what_is_no_number_is_not_read_as_one(column: Any, unit: str) -> None:  # noqa: ANN401 - a column of any kind
    """Neither as a density nor as its uncertainty; a row beside it that is one is answered."""
    both = {"density.density [g/cm3]": [0.95, 0.95], "density.density_u [g/cm3]": [0.01, 0.01]}
    found = identify_table(pd.DataFrame(both | {unit: column}))
    assert "is not a number" in found["error"][0] or "is no uncertainty" in found["error"][0]
    assert np.isnan(found["PE-HD"][0])
    assert found["do_not_heat"][0]


@pytest.mark.parametrize("cell", [["sinks"], {"sinks": 1}, {"sinks"}, np.array(["sinks"])], ids=repr)
def test_a_list_in_a_cell_is_that_rows_fault(cell: object) -> None:
    words = pd.Series(["floats", None, "sinks"], dtype=object)
    words[1] = cell
    found = identify_table(pd.DataFrame({"float.liquid": ["water"] * 3, "float.outcome": words}))
    assert [message is None for message in found["error"]] == [True, False, True]
    assert "float.outcome" in found["error"][1]
    alone = identify_table(pd.DataFrame({"float.liquid": ["water"] * 2, "float.outcome": ["floats", "sinks"]}))
    assert np.array_equal(found["PE-HD"][[0, 2]], alone["PE-HD"])
