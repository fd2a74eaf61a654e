"""One cell that holds something strange is the fault of its row; no other row and no table suffers from it."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from fractions import Fraction
from typing import Any, Final

import numpy as np
import pandas as pd
import pint
import pyarrow as pa
import pytest

from resinid import identify_table
from resinid.tables.columns import plan_columns
from resinid.tables.readings import tidied

DENSITY: Final = "density.density [g/cm3]"
NOT: Final = "is not a number"
Q: Final = pint.UnitRegistry().Quantity


def numbers_in(column: pd.Series[Any], header: str, errors: dict[int, list[str]]) -> Any:  # noqa: ANN401 - an array
    """The readings of a column beside one of uncertainties."""
    frame = pd.DataFrame({header: column, "density.density_u [g/cm3]": 0.01})
    found = tidied(frame, plan_columns(frame))
    errors.update(found.errors)
    return found.frame[header].to_numpy()


class Unspeakable:
    """Can neither be hashed nor shown."""

    __hash__ = None  # type: ignore[assignment]  # because that is what is tested

    def __repr__(self) -> str:
        raise ZeroDivisionError


def cells(*values: object) -> pd.Series[Any]:
    """Make a column of objects, just as they are."""
    out = np.empty(len(values), dtype=object)
    for row, value in enumerate(values):
        out[row] = value
    return pd.Series(out, dtype=object)


def arrow(values: list[object], kind: pa.DataType) -> pd.Series[Any]:
    return pd.Series(pd.arrays.ArrowExtensionArray(pa.chunked_array([pa.array(values, type=kind)])))


NO_WORDS: Final[tuple[object, ...]] = (
    bytearray(b"floats"),
    pd.Series(["floats"]),
    ([],),
    Q([0.95], "g/cm^3"),
    Unspeakable(),
    10**5000,
    Decimal("sNaN"),
)

STRANGE: Final[dict[str, tuple[Any, str]]] = {
    "categories of truth values": (pd.Categorical([True, None]), NOT),
    "categories of dates": (pd.Categorical([pd.Timestamp("2020-01-01"), None]), NOT),
    "years": (pd.PeriodIndex(["2101", None], freq="Y"), NOT),
    "ranges": (pd.arrays.IntervalArray.from_breaks([0, 1, 2])[:1].take([0, -1], allow_fill=True), NOT),
    "Arrow's truth values": (arrow([True, None], pa.bool_()), NOT),
    "Arrow's dates": (arrow([dt.date(2020, 1, 1), None], pa.date32()), NOT),
    "Arrow's lists": (arrow([[0.95], None], pa.list_(pa.float64())), NOT),
    "Arrow's structs": (arrow([{"a": 0.95}, None], pa.struct([("a", pa.float64())])), NOT),
    "a number beyond all floats": (cells(10**400, None), "is impossible"),
    "a number beyond all texts": (cells(-(10**5000), None), "is impossible"),
    "a fraction beyond all floats": (cells(Fraction(10**400), None), "is impossible"),
    "a quantity": (cells(Q(0.95, "g/cm^3"), None), NOT),
    "an array without axes": (cells(np.array(0.95), None), NOT),
    "a span of time": (cells(np.timedelta64(1, "s"), None), NOT),
    "a DataFrame": (cells(pd.DataFrame({"a": [1]}), None), NOT),
    "what cannot be shown": (cells(Unspeakable(), None), "something of type Unspeakable is not a number"),
    "a signalling NaN": (cells(Decimal("sNaN"), None), NOT),
}


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")  # pandas 2.1 only prints that it failed
@pytest.mark.parametrize(("column", "says"), STRANGE.values(), ids=STRANGE)
def test_what_is_no_number_is_that_rows_fault(column: Any, says: str) -> None:  # noqa: ANN401 - a column of any kind
    """The row is told why; the one beside it, with an empty cell but floating on water, is answered as ever."""
    bath = pd.DataFrame({"float.liquid": ["water"] * 2, "float.outcome": ["floats"] * 2})
    found = identify_table(bath.assign(**{DENSITY: column, "density.density_u [g/cm3]": 0.01}))
    assert says in found["error"][0]
    assert found["error"][1] is None
    assert np.isnan(found["PP"][0])
    assert found["PP"][1] == pytest.approx(identify_table(bath)["PP"][1], abs=1e-12)


@pytest.mark.parametrize(
    "column",
    [
        arrow([Decimal("0.95"), None], pa.decimal128(5, 2)),
        arrow([0.95, None], pa.float64()),
        arrow(["0.95", None], pa.string()),
        pd.Series([0.95, None], dtype="Float64"),
        pd.Series([0.95, None], dtype="Sparse[float]"),
        pd.Categorical([0.95, None]),
        pd.Series(["0.95", None], dtype="string"),
        cells(Decimal("0.95"), Decimal("NaN")),
        cells(Fraction(95, 100), pd.NA),
        cells(np.float32(0.95), pd.NaT),
        cells(b"0.95", float("nan")),
    ],
    ids=lambda column: str(column.dtype),
)
def test_numbers_of_every_kind_are_read(column: pd.Series[Any]) -> None:
    errors: dict[int, list[str]] = {}
    found = numbers_in(pd.Series(column), DENSITY, errors)
    assert found == pytest.approx([0.95, np.nan], nan_ok=True)
    assert not errors


@pytest.mark.parametrize(
    "column",
    [
        arrow([["floats"], None, None], pa.list_(pa.string())),
        arrow([{"a": "floats"}, None, None], pa.struct([("a", pa.string())])),
        *(cells(cell, "floats", None) for cell in NO_WORDS),
    ],
)
def test_what_is_no_word_is_that_rows_fault(column: pd.Series[Any]) -> None:
    found = identify_table(pd.DataFrame({"float.liquid": "water", "float.outcome": column}))
    assert [message is None for message in found["error"]] == [False, True, True]
    assert "float.outcome" in found["error"][0]
    assert "is not one word" in found["error"][0]
    assert np.isnan(found["PP"][0])


@pytest.mark.parametrize(
    ("cell", "says"),
    [
        ("0,957", "write a point: 0.957"),
        (" 950,5", "write a point: 950.5"),
        ("1,050", "write a point: 1.050, or 1050 if the comma parts thousands"),
        ("1,05,2", ""),
        ("a,5", ""),
        ("957,", ""),
    ],
)
def test_a_decimal_comma_is_told_how_to_be_written(cell: str, says: str) -> None:
    errors: dict[int, list[str]] = {}
    numbers_in(cells(cell), DENSITY, errors)
    assert errors == {
        0: [f"{DENSITY}: {cell.strip()!r} is not a number" + (says and f"; {says}, or say decimal=',' (--decimal ,)")]
    }
