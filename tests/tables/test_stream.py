"""Files in and out: the same answer for any chunk, nothing lost when killed, nothing half-written."""

from __future__ import annotations

import io
import json
import os
import re
import signal
import subprocess
import sys
import time
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, ClassVar

import numpy as np
import pandas as pd
import pytest
from pandas._libs.parsers import STR_NA_VALUES  # type: ignore[import-not-found]  # because it has no stub
from shop import shop

if TYPE_CHECKING:
    from pathlib import Path

from resinid import InputError, Method, default_reference, identify, identify_file, identify_table
from resinid.io.fields import choice
from resinid.methods.aspects import AspectSeen
from resinid.methods.float_test.method import METHOD
from resinid.methods.registry import Listed
from resinid.tables import frame as table
from resinid.tables import stream
from resinid.tables.cells import MISSING


@pytest.fixture
def small_units(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(table, "UNIT", 100)
    monkeypatch.setattr(stream, "UNIT", 100)


@pytest.fixture
def source(tmp_path: Path) -> Path:
    path = tmp_path / "bags.csv"
    shop(950).to_csv(path, index=False)
    return path


@pytest.mark.slow
@pytest.mark.usefixtures("small_units")
def test_chunks_and_workers_do_not_matter(source: Path, tmp_path: Path) -> None:
    """The target is the same to the byte for any chunk and number of workers."""
    first = tmp_path / "first.csv"
    done = identify_file(source, first, top=3, keep=["id"])
    assert (done.rows, done.faulty, done.kept) == (950, 0, 0)
    for chunk, workers in ((7, 1), (100, 2), (333, 3), (5000, 4)):
        other = tmp_path / f"{chunk}.csv"
        identify_file(source, other, top=3, keep=["id"], chunk=chunk, workers=workers)
        assert other.read_bytes() == first.read_bytes()
    assert not first.with_name("first.csv.parts").exists()


def test_file_and_frame_agree(source: Path, tmp_path: Path) -> None:
    target = tmp_path / "out.csv"
    identify_file(source, target)
    expected = identify_table(pd.read_csv(source)).to_frame()
    written = pd.read_csv(target)
    text = ["error", "verdict", "group", "precautions"]
    pd.testing.assert_frame_equal(written.drop(columns=text), expected.drop(columns=text), rtol=1e-12)
    assert written["precautions"].fillna("").tolist() == expected["precautions"].fillna("").tolist()


def test_parquet_in_and_out(source: Path, tmp_path: Path) -> None:
    parquet = tmp_path / "bags.parquet"
    pd.read_csv(source).to_parquet(parquet)
    identify_file(parquet, tmp_path / "out.parquet", top=2, keep=["id"])
    identify_file(source, tmp_path / "out.csv", top=2, keep=["id"])
    one, other = pd.read_parquet(tmp_path / "out.parquet"), pd.read_csv(tmp_path / "out.csv")
    # A missing text is None in the one and NaN in the other.
    one, other = (frame.astype(object).where(frame.notna(), "") for frame in (one, other))
    pd.testing.assert_frame_equal(one, other, rtol=1e-12)


KILLED = """
import sys, time
from resinid.tables import formats
from resinid.tables import stream
from resinid.tables import frame as table
from resinid.tables.cells import MISSING
table.UNIT = stream.UNIT = 100
def slow(rows, share):
    print(rows, flush=True)
    time.sleep(0.3)
stream.identify_file(sys.argv[1], sys.argv[2], top=3, progress=slow)
"""


@pytest.mark.slow
@pytest.mark.usefixtures("small_units")
def test_killed_and_resumed(source: Path, tmp_path: Path) -> None:
    """Killed outright, finished units are kept; resumed, the target is as if never killed."""
    whole, target = tmp_path / "whole.csv", tmp_path / "out.csv"
    identify_file(source, whole, top=3)
    with subprocess.Popen([sys.executable, "-c", KILLED, str(source), str(target)], stdout=subprocess.PIPE) as program:
        assert program.stdout is not None
        for _ in range(3):
            program.stdout.readline()
        os.kill(program.pid, signal.SIGKILL)
    assert not target.exists()
    done = identify_file(source, target, top=3, resume=True)
    assert done.kept >= 200
    assert done.rows == 950
    assert target.read_bytes() == whole.read_bytes()


@pytest.mark.usefixtures("small_units")
def test_resuming_something_else_is_refused(source: Path, tmp_path: Path) -> None:
    target = tmp_path / "out.csv"

    def stop(rows: int, share: float) -> None:
        raise KeyboardInterrupt(rows, share)

    with pytest.raises(KeyboardInterrupt):
        identify_file(source, target, top=3, progress=stop)
    assert (tmp_path / "out.csv.parts").is_dir()
    with pytest.raises(InputError, match="other options"):
        identify_file(source, target, top=2, resume=True)
    time.sleep(0.01)
    source.write_text(source.read_text(encoding="utf-8") + "\n", encoding="utf-8")
    with pytest.raises(InputError, match="of another source"):
        identify_file(source, target, top=3, resume=True)
    assert identify_file(source, target, top=3).rows == 950


def test_a_folder_of_somebody_else_is_not_deleted(source: Path, tmp_path: Path) -> None:
    """A folder that happens to be named as ours stays, with a clear error; ours, though damaged, is made anew."""
    parts = tmp_path / "out.csv.parts"
    parts.mkdir()
    (parts / "thesis.txt").write_text("mine", encoding="utf-8")
    for resume in (False, True):
        with pytest.raises(InputError, match="not of an earlier run"):
            identify_file(source, tmp_path / "out.csv", resume=resume)
    assert (parts / "thesis.txt").read_text(encoding="utf-8") == "mine"
    for damaged in ("{half", "[]", '{"signature": 1}', "[" * 100_000):
        (parts / "manifest.json").write_text(damaged, encoding="utf-8")
        with pytest.raises(InputError, match="damaged"):
            identify_file(source, tmp_path / "out.csv", resume=True)
    assert identify_file(source, tmp_path / "out.csv").rows == 950


def test_faulty_files(source: Path, tmp_path: Path) -> None:
    broken = tmp_path / "broken.csv"
    broken.write_bytes(b"density.density [g/cm3],density.density_u [g/cm3]\n\xff\xfe,1\n")
    empty = tmp_path / "empty.csv"
    empty.write_text("", encoding="utf-8")
    bare = tmp_path / "bare.csv"
    bare.write_text("snap.outcome\n", encoding="utf-8")
    wide, dotted = tmp_path / "wide.csv", tmp_path / "dotted.csv"
    wide.write_text("x.y," * 50_000 + "\n", encoding="utf-8")
    dotted.write_text(",".join(f"x.y{number}" for number in range(2000)) + "\n" + "1," * 1999 + "1\n", encoding="utf-8")
    for path, says in (
        (wide, "more than 5000 columns"),
        (dotted, "2000 columns have a dot"),
        (tmp_path / "missing.csv", "cannot be used"),
        (broken, "UTF-8"),
        (empty, "is not CSV"),
        (bare, "holds no rows"),
        (tmp_path / "x.dbf", "ends in"),
    ):
        with pytest.raises(InputError, match=says):
            identify_file(path, tmp_path / "out.csv")
    with pytest.raises(InputError, match="is the source itself"):
        identify_file(source, source)
    with pytest.raises(InputError, match="no column nope"):
        identify_file(source, tmp_path / "out.csv", keep=["nope"])
    with pytest.raises(InputError, match="cannot be used"):
        identify_file(source, tmp_path / "no folder" / "out.csv")
    assert not (tmp_path / "out.csv").exists()


TESTED = "float.liquid,float.outcome"


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("{0}\nwater,floats,\nwater,floats,\n", 2),
        ("\n{0}\n\nwater,floats,x\nwater,floats\n", 4),
        ("{0}\nwater,floats\nwater,sinks\nwater,floats,,\n", 4),
        ("{0}\n" + "water,floats\n" * 50 + "water,floats,1\n", 52),
        ("density.density [g/cm3],density.density_u [g/cm3]\n0,95,0,01\n", 2),
    ],
)
@pytest.mark.parametrize("chunk", [2, 1000])
def test_a_row_longer_than_the_header_is_refused(text: str, line: int, chunk: int, tmp_path: Path) -> None:
    """Nothing shifts into the next column, wherever the row stands; the line is named and nothing is left behind."""
    path = tmp_path / "long.csv"
    path.write_text(text.format(TESTED), encoding="utf-8")
    with pytest.raises(InputError, match=rf"long\.csv: line {line}: has \d cells; the header has 2"):
        identify_file(path, tmp_path / "out.csv", chunk=chunk)
    assert [left.name for left in tmp_path.iterdir()] == ["long.csv"]


def test_empty_cells_are_what_pandas_takes_for_empty() -> None:
    """With and without kept columns the same cells are missing."""
    listed = pd.read_csv(io.StringIO("\n".join(["a", *map('"{}"'.format, MISSING)])), skip_blank_lines=False)
    assert listed["a"].isna().all()
    assert set(MISSING) == STR_NA_VALUES


def test_kept_columns_are_copied_to_the_letter(tmp_path: Path) -> None:
    """Numbers, noughts before them and "NA" stay as they stand, also where the column is a reading as well."""
    path, target = tmp_path / "bags.csv", tmp_path / "out.csv"
    ids = ["0012", "1e5", "NA", "", "12.0", '"a,b"', "true"]
    marks = ["02", "5", "", "NA", "1", "7", "6"]
    rows = [f"{id_},{mark},water,floats" for id_, mark in zip(ids, marks, strict=True)]
    path.write_text("\n".join([f"id,mark.reads,{TESTED}", *rows, ""]), encoding="utf-8")
    identify_file(path, target, keep=["id", "mark.reads"], top=1)
    lines = target.read_text(encoding="utf-8").splitlines()[1:]
    resins = "|".join([*map(re.escape, default_reference().symbols), ",not yet"])
    assert [re.split(rf",(?:{resins}),", line)[0] for line in lines] == [
        f"{id_},{mark}" for id_, mark in zip(ids, marks, strict=True)
    ]
    plain = tmp_path / "plain.csv"
    identify_file(path, plain, top=1)
    kept, bare = pd.read_csv(target), pd.read_csv(plain)
    pd.testing.assert_frame_equal(kept[bare.columns.tolist()], bare)
    pd.DataFrame({"id": [12, None], "snap.outcome": "snaps"}).astype({"id": "Int64"}).to_parquet(tmp_path / "x.parquet")
    identify_file(tmp_path / "x.parquet", target, keep=["id"], top=1)
    assert [line.split(",")[0] for line in target.read_text(encoding="utf-8").splitlines()] == ["id", "12", ""]


@pytest.mark.parametrize("cells", [["2", "5", "6"], ["2", "", "5"], ["2", "PP", "5"]])
def test_marks_that_are_all_numbers_are_read(cells: list[str], tmp_path: Path) -> None:
    """A column of resin codes is one of marks, though pandas makes numbers of it."""
    path = tmp_path / "marks.csv"
    path.write_text("id,mark.reads\n" + "".join(f"a,{cell}\n" for cell in cells), encoding="utf-8")
    assert identify_file(path, tmp_path / "out.csv", top=1).faulty == 0
    found = pd.read_csv(tmp_path / "out.csv")["resin_1"].tolist()
    assert [found[cells.index(code)] for code in cells if code == "5"] == ["PP"] * cells.count("5")


def test_columns_meant_for_a_test_are_not_left_out_without_a_word(tmp_path: Path) -> None:
    """A near miss of a reading is refused unless it is only to be kept; what is foreign is named."""
    path = tmp_path / "bags.csv"
    for header, says in (
        ("denisty [g/cm3]", "is nearly a reading, but no test is called 'denisty'; did you mean 'density'? Write"),
        ("density", "names no unit; write it in brackets, for example 'density [g/cm3]'"),
        ("Density_u [g/cm3]", "is the uncertainty of density.density, which has no column"),
        ("weighing [g]", "does not say which reading of the test 'weighing'; write one of weighing.in_air"),
    ):
        path.write_text(f"id,{header},{TESTED}\n1,0.95,water,floats\n", encoding="utf-8")
        with pytest.raises(InputError) as caught:
            identify_file(path, tmp_path / "out.csv")
        assert f"{header}: {says}" in str(caught.value)
        if header != "Density_u [g/cm3]":
            assert identify_file(path, tmp_path / "out.csv", keep=[header]).unused == ("id",)
    path.write_text(f"id,weight [g],{TESTED}\n1,0.95,water,floats\n", encoding="utf-8")
    assert identify_file(path, tmp_path / "out.csv").unused == ("id", "weight [g]")


def test_what_cannot_be_is_refused_before_any_work(
    source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Counts below one, semicolons and a missing library leave nothing behind."""
    target = tmp_path / "out.csv"
    wrong: tuple[dict[str, int], ...] = ({"top": -1}, {"top": 0}, {"workers": 0}, {"workers": -1}, {"chunk": 0})
    for counts in wrong:
        with pytest.raises(InputError, match="whole number from 1"):
            identify_file(source, target, **counts)  # type: ignore[arg-type]  # because mypy takes one for progress
    with pytest.raises(InputError, match="whole number from 1"):
        identify_table(shop(2), top=0)
    semicolons = tmp_path / "semicolons.csv"
    semicolons.write_text("id;float.liquid;float.outcome\n1;water;floats\n", encoding="utf-8")
    with pytest.raises(InputError, match="semicolons"):
        identify_file(semicolons, target)
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    monkeypatch.setitem(sys.modules, "pyarrow.parquet", None)
    with pytest.raises(InputError, match="Parquet needs pyarrow"):
        identify_file(source, tmp_path / "out.parquet")
    assert sorted(left.name for left in tmp_path.iterdir()) == ["bags.csv", "semicolons.csv"]


def test_command_line(source: Path, tmp_path: Path) -> None:
    target = tmp_path / "out.csv"
    command = [sys.executable, "-m", "resinid", "rows", str(source), str(target), "--keep", "id", "--json"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert json.loads(done.stdout)["rows"] == 950
    assert json.loads(done.stdout)["unused"] == []
    assert pd.read_csv(target)["id"].tolist()[:2] == ["piece 0", "piece 1"]
    assert done.stderr == ""
    bad = subprocess.run(
        [*command[:4], str(tmp_path / "no.csv"), str(target)], capture_output=True, text=True, check=False
    )
    assert bad.returncode == 2
    assert "Traceback" not in bad.stderr


def interrupted(source: Path, target: Path, **options: object) -> None:
    """Start a run and stop it after its first unit."""

    def stop(rows: int, share: float) -> None:
        raise KeyboardInterrupt(rows, share)

    with pytest.raises(KeyboardInterrupt):
        identify_file(source, target, progress=stop, **options)  # type: ignore[arg-type]  # because they are of many types


@pytest.mark.usefixtures("small_units")
def test_an_answer_is_not_of_two_tables_or_versions(
    source: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What was begun with another table, method or version is not gone on with, though nobody named either."""
    target = tmp_path / "out.csv"
    interrupted(source, target, top=1)
    other = replace(default_reference(), digest="0" * 64)
    tampered = METHOD, replace(METHOD, name="other", version="2", tests=())
    for place, name, value in (
        (table, "reference_or_default", lambda given: given or other),
        (stream, "package_version", lambda: "0.0.0"),
        (stream, "listed", lambda _: [Listed(each, "built-in") for each in tampered]),
    ):
        with monkeypatch.context() as patch:
            patch.setattr(place, name, value)
            with pytest.raises(InputError, match="is of another source or with other options"):
                identify_file(source, target, top=1, resume=True)
    assert identify_file(source, target, top=1, resume=True, reference=default_reference()).kept == 100


@pytest.mark.usefixtures("small_units")
def test_the_order_of_what_has_none_does_not_matter_to_a_resumed_run(source: Path, tmp_path: Path) -> None:
    target = tmp_path / "out.csv"
    interrupted(source, target, allow=["solvent", "burn"], prior={"PP": 1.0, "PS": 2.0}, top=1)
    again = {"PS": 2.0, "PP": 1.0}
    with pytest.raises(InputError, match="with other options"):
        identify_file(source, target, allow={"burn"}, prior=again, top=1, resume=True)
    assert identify_file(source, target, allow={"burn", "solvent"}, prior=again, top=1, resume=True).kept == 100


@pytest.mark.usefixtures("small_units")
@pytest.mark.parametrize("chunk", [7, 1000])
def test_a_faulty_row_is_called_as_in_a_table(chunk: int, tmp_path: Path) -> None:
    """It is counted from the top of the file, whichever unit it is in."""
    path = tmp_path / "in.csv"
    path.write_text("snap.outcome\n" + "snaps\n" * 234 + "x\n" + "snaps\n" * 66, encoding="utf-8")
    with pytest.raises(InputError) as of_table:
        identify_table(pd.read_csv(path), errors="raise")
    with pytest.raises(InputError) as of_file:
        identify_file(path, tmp_path / "out.csv", errors="raise", chunk=chunk)
    assert of_table.value.faults[0].place == "row 234"
    assert of_file.value.faults == of_table.value.faults


@dataclass(frozen=True, slots=True)
class Bitten(AspectSeen):
    """Somebody else's test that is off until it is allowed."""

    test: ClassVar[str] = "bitten"
    observes: ClassVar[str] = "snap"
    only_if_allowed: ClassVar[str] = "burn"
    outcome: str = choice(("snaps", "creases", "springs back"))


@pytest.mark.usefixtures("small_units")
def test_generators_last_for_all_units(tmp_path: Path) -> None:
    """Dangers that are allowed and methods may be given one by one."""
    path, target = tmp_path / "in.csv", tmp_path / "out.csv"
    path.write_text("bitten.outcome\n" + "snaps\n" * 250, encoding="utf-8")
    own = Method("bitten", "1", "Bite it.", "", ("invented for this test",), (Bitten,))
    done = identify_file(path, target, top=1, allow=(danger for danger in ["burn"]), methods=(each for each in [own]))
    assert (done.rows, done.faulty) == (250, 0)
    alone = identify([{"test": "bitten", "outcome": "snaps"}], allow=["burn"], methods=[own])
    assert set(pd.read_csv(target)["resin_1"]) == {alone.leader}


def test_none_is_no_count(source: Path, tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        identify_file(source, tmp_path / "out.csv", chunk=None, workers=None, top=0)  # type: ignore[arg-type]  # tested
    assert [fault.place for fault in caught.value.faults] == ["top", "chunk", "workers"]
    with pytest.raises(InputError, match="workers: is None; give a whole number from 1"):
        identify_table(shop(2), workers=None)  # type: ignore[call-overload]  # because that is what is tested
    for errors in (["report"], np.array(["report", "raise"]), None):
        with pytest.raises(InputError, match="is not one of: report, raise"):
            identify_table(shop(2), errors=errors)  # type: ignore[call-overload]  # because that is what is tested
    assert [left.name for left in tmp_path.iterdir()] == ["bags.csv"]
