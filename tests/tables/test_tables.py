"""Whole tables give the one-piece answers, whatever the shape of the table."""

from __future__ import annotations

import math
from typing import Any, Final

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from resinid import InputError, Result, default_reference, identify, identify_table
from resinid.tables import frame as bulk_table
from resinid.tables import grouping as seen
from resinid.tables import normalise as adding
from resinid.tables import parts, sums
from resinid.tables.answer import TOLD
from resinid.tables.columns import plan_columns

CANDIDATES = [*default_reference().symbols, "none of these"]
UNITS = {"density": "g/cm3", "temperature": "degC", "modulus": "MPa", "in_air": "g", "in_liquid": "g", "load": "N"}
WATER = "water at 20 degC"


def shop(count: int, stream: int = 0) -> pd.DataFrame:
    """Readings of pieces of a dozen kinds, some tests not done."""
    rng = np.random.default_rng(stream)
    density = rng.choice([0.03, 0.905, 0.92, 0.955, 1.05, 1.14, 1.2, 1.38, 1.41, 2.17], count)
    density = density * np.exp(0.01 * rng.standard_normal(count))
    soft = rng.choice([85.0, 110.0, 131.0, 165.0, 220.0, 250.0], count) + 4 * rng.standard_normal(count)
    modulus = np.exp(rng.normal(np.log(rng.choice([30.0, 250.0, 1200.0, 2400.0], count)), 0.3))

    def some(values: Any) -> Any:  # noqa: ANN401 - arrays of either kind
        values = np.array(values, dtype=object if isinstance(values[0], str) else float)
        values[rng.random(count) < 0.2] = None if values.dtype == object else math.nan
        return values

    def outcome(bath: float) -> Any:  # noqa: ANN401 - an array of objects
        return some(np.where(density + 0.0015 * rng.standard_normal(count) > bath, "sinks", "floats").tolist())

    return pd.DataFrame(
        {
            "id": [f"piece {i}" for i in range(count)],
            "density.density [kg/m3]": some(1000 * density),
            "density.density_u [kg/m3]": rng.uniform(2.0, 9.0, count),
            "float.liquid": WATER,
            "float.outcome": outcome(0.9982),
            "float#2.liquid": "ethanol 40 %v/v at 20 degC",
            "float#2.outcome": outcome(0.948),
            "float#3.liquid": "table salt saturated",
            "float#3.outcome": outcome(1.2009),
            "softening.temperature [degF]": some(soft * 1.8 + 32),
            "softening.temperature_u [degF]": rng.uniform(1.0, 8.0, count),
            "modulus.modulus [GPa]": some(modulus / 1000),
            "modulus.modulus_u [GPa]": 0.1 * modulus / 1000,
            "snap.outcome": pd.Categorical(some(rng.choice(["snaps", "creases", "springs back"], count).tolist())),
            "feel.outcome": some(rng.choice(["rigid", "flexible"], count).tolist()),
        },
        index=pd.Index(range(100, 100 + count), name="bag"),
    )


def one_by_one(frame: pd.DataFrame, row: int) -> list[dict[str, Any]]:
    """The observations of one row as :func:`identify` takes them."""
    made: dict[str, dict[str, Any]] = {}
    for header in frame.columns:
        if "." not in header:
            continue
        label, _, rest = header.partition(".")
        field, _, unit = rest.partition(" [")
        value = frame.iloc[row][header]
        if field.endswith("_u") or value is None or (isinstance(value, float) and math.isnan(value)):
            continue
        entry = made.setdefault(label, {"test": label.partition("#")[0]})
        if unit:
            unit = unit.rstrip("]")
            u_name = next(h for h in frame.columns if h.startswith(f"{label}.{field}_u"))
            reading = {"value": float(value), "u": float(frame.iloc[row][u_name]), "unit": unit}
            entry[field] = {"density": reading} if field == "liquid" else reading
        else:
            entry[field] = value
    return [entry for entry in made.values() if set(entry) - {"test", "liquid"}]


def compared(frame: pd.DataFrame, rows: list[int]) -> float:
    answer = identify_table(frame).to_frame()
    worst = 0.0
    for row in rows:
        made = one_by_one(frame, row)
        assert answer.iloc[row]["tests"] == len(made)
        if not made:
            assert answer.iloc[row][CANDIDATES].isna().all()
            continue
        single = identify(made)
        expected = np.array([single[name] for name in CANDIDATES])
        worst = max(worst, float(np.abs(answer.iloc[row][CANDIDATES].to_numpy(float) - expected).max()))
        same_verdict(answer.iloc[row], single)
    return worst


def same_verdict(told: Any, single: Result) -> None:  # noqa: ANN401 - a row of a frame
    """A row's verdict, temperatures, group and hazard are those of the answer to that piece alone."""
    heat = single.heat
    assert bool(told["do_not_heat"]) is not heat.allowed
    if heat.allowed or not any("contradicts" in reason for reason in heat.reasons):
        assert heat.verdict.lower().startswith(told["verdict"])
        assert told["hazard"] == pytest.approx(heat.hazard, abs=1e-9)
    else:
        assert told["verdict"] in {"not yet", heat.verdict.lower()}
        assert 0.0 <= told["hazard"] <= heat.hazard + 1e-9
    assert [None if pd.isna(told[end]) else told[end] for end in ("low_degC", "high_degC")] == [heat.low, heat.high]
    assert (told["group"], told["group_probability"]) == (
        (single.group.name, pytest.approx(single.group.probability))
        if single.group
        else (None, pytest.approx(math.nan, nan_ok=True))
    )
    if heat.allowed:
        assert set(told["precautions"].split("; ")) == set("; ".join([*heat.reasons, *heat.cautions]).split("; "))
    else:
        assert told["precautions"] is None


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
