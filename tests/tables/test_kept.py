"""Columns that are kept come out as they went in, whatever their type and wherever their cells are missing."""

from __future__ import annotations

import datetime as dt
import subprocess
import sys
from decimal import Decimal
from typing import TYPE_CHECKING, Any, Final

import pandas as pd
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from resinid import InputError, identify, identify_file
from resinid.tables import frame as table
from resinid.tables import stream
from resinid.tables.answer import TOLD

if TYPE_CHECKING:
    from pathlib import Path

WIDE: Final = 2**53 + 1
"""The first whole number that is no float."""

COLUMNS: Final[dict[str, tuple[object, pa.DataType]]] = {
    "whole": (WIDE, pa.int64()),
    "whole and positive": (2**63, pa.uint64()),
    "small": (-7, pa.int8()),
    "real": (0.1, pa.float64()),
    "coarse": (0.5, pa.float32()),
    "truth": (True, pa.bool_()),
    "text": ("0012", pa.string()),
    "long text": ("a,b", pa.large_string()),
    "date": (dt.date(2020, 2, 29), pa.date32()),
    "time": (dt.time(12, 30), pa.time64("us")),
    "moment": (dt.datetime(2920, 2, 28, 1, 2, tzinfo=dt.UTC), pa.timestamp("us", tz="UTC")),
    "span": (dt.timedelta(3), pa.duration("us")),
    "decimal": (Decimal("1.50"), pa.decimal128(20, 2)),
    "bytes": (b"\x00\xff", pa.binary()),
    "list": ([WIDE, None], pa.list_(pa.int64())),
    "struct": ({"a": WIDE}, pa.struct([("a", pa.int64())])),
    "category": ("red", pa.dictionary(pa.int32(), pa.string())),
    "nothing": (None, pa.null()),
}


@pytest.fixture(autouse=True)
def small_units(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(table, "UNIT", 10)
    monkeypatch.setattr(stream, "UNIT", 10)


def write(path: Path, **columns: pa.Array) -> Path:
    count = len(next(iter(columns.values())))
    bath = {"float.liquid": ["water"] * count, "float.outcome": ["floats"] * count}
    pq.write_table(pa.table(columns | bath), path)
    return path


@pytest.mark.parametrize("places", [{25}, {3}, set(range(30)) - {3}], ids=["late", "early", "mostly"])
def test_every_type_is_copied_exactly(places: set[int], tmp_path: Path) -> None:
    """The first unit may hold nothing but missing cells: the type is the source's, not what a unit looks like."""
    columns = {
        name: pa.array([cell if row in places else None for row in range(30)], type=kind)
        for name, (cell, kind) in COLUMNS.items()
    }
    source = write(tmp_path / "in.parquet", **columns)
    for chunk in (7, 1000):
        identify_file(source, tmp_path / "out.parquet", keep=list(COLUMNS), top=1, chunk=chunk)
        found = pq.read_table(tmp_path / "out.parquet")
        for name, cells in columns.items():
            assert found[name].type == cells.type
            assert found[name].to_pylist() == cells.to_pylist()
    assert sorted(left.name for left in tmp_path.iterdir()) == ["in.parquet", "out.parquet"]


def test_types_of_pandas_stay_what_they_are(tmp_path: Path) -> None:
    """Periods and ranges, which Arrow knows only where pandas told it of them."""
    frame = pd.DataFrame(
        {
            "month": pd.period_range("2020-01", periods=30, freq="M"),
            "range": pd.interval_range(0, 30),
            "snap.outcome": "snaps",
        }
    )
    frame.to_parquet(tmp_path / "in.parquet")
    keep = ["month", "range"]
    identify_file(tmp_path / "in.parquet", tmp_path / "out.csv", keep=keep, top=1, chunk=7)
    first = (tmp_path / "out.csv").read_text(encoding="utf-8").splitlines()[1]
    leader = identify([{"test": "snap", "outcome": "snaps"}]).leader
    assert first.startswith(f'2020-01,"(0, 1]",{leader},')
    program = "import sys, resinid; resinid.identify_file(sys.argv[1], sys.argv[2], keep=['month', 'range'], top=1)"
    names = [str(tmp_path / "in.parquet"), str(tmp_path / "out.parquet")]
    subprocess.run([sys.executable, "-c", program, *names], check=True)
    pd.testing.assert_frame_equal(pd.read_parquet(tmp_path / "out.parquet")[keep], frame[keep])


def test_whole_numbers_of_64_bits_stay_what_they_are(tmp_path: Path) -> None:
    """In CSV and as pandas reads the Parquet file, though some are missing."""
    ids = [WIDE, None, WIDE + 2]
    marks: list[int | None] = [5, None, 2]
    source = write(
        tmp_path / "in.parquet",
        id=pa.array(ids),
        big=pa.array([None, 2**63, 2**64 - 1], pa.uint64()),
        **{"mark.reads": pa.array(marks)},
    )
    keep = ["id", "big", "mark.reads"]
    identify_file(source, tmp_path / "out.csv", keep=keep, top=1)
    lines = (tmp_path / "out.csv").read_text(encoding="utf-8").splitlines()[1:]
    assert [line.split(",")[:3] for line in lines] == [
        [str(WIDE), "", "5"],
        ["", str(2**63), ""],
        [str(WIDE + 2), str(2**64 - 1), "2"],
    ]
    identify_file(source, tmp_path / "out.parquet", keep=keep, top=1)
    found = pd.read_parquet(tmp_path / "out.parquet")
    assert found["id"].tolist() == [WIDE, pd.NA, WIDE + 2]
    assert found["big"].tolist() == [pd.NA, 2**63, 2**64 - 1]
    bare = tmp_path / "bare.parquet"
    identify_file(source, bare, top=1)
    pd.testing.assert_frame_equal(found.drop(columns=keep), pd.read_parquet(bare))


def test_a_first_unit_without_any_answer(tmp_path: Path) -> None:
    """Where all of its rows are faulty, its columns of words are empty, and words all the same."""
    path = tmp_path / "in.csv"
    path.write_text("id,snap.outcome\n" + "1,x\n" * 10 + "2,snaps\n", encoding="utf-8")
    assert identify_file(path, tmp_path / "out.parquet", top=1, keep=["id"]).faulty == 10
    found = pq.read_table(tmp_path / "out.parquet")
    assert found.schema.names == ["id", "resin_1", "probability_1", *TOLD]
    assert found["resin_1"].type == pa.string()
    assert found["resin_1"].null_count == 10
    assert found["error"].null_count == 1
    assert found["id"].to_pylist() == ["1"] * 10 + ["2"]


def test_a_folder_named_as_a_partition_adds_no_column(tmp_path: Path) -> None:
    folder = tmp_path / "year=2020"
    folder.mkdir()
    source = write(tmp_path / "in.parquet", id=pa.array([1]))
    identify_file(source, folder / "out.parquet", top=1)
    assert "year" not in pq.ParquetFile(folder / "out.parquet").schema_arrow.names


@pytest.mark.parametrize(
    ("keep", "top", "says"),
    [
        (["error"], None, ["'error' is a column of the answer"]),
        (["PE-HD"], None, ["'PE-HD' is a column of the answer"]),
        (["resin_1", "do_not_heat"], 1, ["'resin_1' is a column of", "'do_not_heat' is a column of"]),
        (["id", "error", "id"], 1, ["'id' is there twice", "'error' is a column"]),
    ],
)
def test_no_two_columns_of_one_name(keep: list[str], top: int | None, says: list[str], tmp_path: Path) -> None:
    """All such names are told at once, before any work: the file need not even be there."""
    for ending in ("csv", "parquet"):
        with pytest.raises(InputError) as caught:
            identify_file(tmp_path / f"in.{ending}", tmp_path / f"out.{ending}", keep=keep, top=top)
        assert len(caught.value.faults) == len(says)
        assert all(some in str(fault) for some, fault in zip(says, caught.value.faults, strict=True))
    assert not list(tmp_path.iterdir())


def test_a_resin_may_be_kept_where_it_is_no_column_of_the_answer(tmp_path: Path) -> None:
    source = write(tmp_path / "in.parquet", **{"PE-HD": pa.array([1]), "resin_2": pa.array([2])})
    identify_file(source, tmp_path / "out.csv", keep=["PE-HD", "resin_2"], top=1)
    assert (tmp_path / "out.csv").read_text(encoding="utf-8").startswith("PE-HD,resin_2,resin_1,")


def test_a_name_that_stands_for_two_columns_is_refused(tmp_path: Path) -> None:
    both = pa.table([pa.array([1]), pa.array([2]), pa.array(["snaps"])], names=["id", "id", "snap.outcome"])
    pq.write_table(both, tmp_path / "in.parquet")
    with pytest.raises(InputError, match=r"two columns 'id'"):
        identify_file(tmp_path / "in.parquet", tmp_path / "out.csv", keep=["id"])
    with pytest.raises(InputError, match=r"no column nope"):
        identify_file(tmp_path / "in.parquet", tmp_path / "out.csv", keep=["nope"])
    assert [left.name for left in tmp_path.iterdir()] == ["in.parquet"]


def test_a_part_that_cannot_be_written_leaves_no_half(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    source = write(tmp_path / "in.parquet", id=pa.array(range(30)))
    done: list[int] = []
    to_csv = pd.DataFrame.to_csv

    def fails(frame: pd.DataFrame, *given: Any, **how: Any) -> None:  # noqa: ANN401 - passed on as they are
        to_csv(frame, *given, **how)
        done.append(1)
        if len(done) > 1:
            raise OSError(28, "No space left on device")

    monkeypatch.setattr(pd.DataFrame, "to_csv", fails)
    with pytest.raises(InputError, match="No space left"):
        identify_file(source, tmp_path / "out.csv", top=1)
    assert sorted(left.name for left in (tmp_path / "out.csv.parts").iterdir()) == ["00000000", "manifest.json"]
