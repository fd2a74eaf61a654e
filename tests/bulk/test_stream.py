"""Files in and out: the same answer for any chunk, nothing lost when killed, nothing half-written."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from typing import TYPE_CHECKING

import pandas as pd
import pytest
from test_tables import shop

if TYPE_CHECKING:
    from pathlib import Path

from resinid import InputError, identify_file, identify_table
from resinid.bulk import stream, table


@pytest.fixture
def small_units(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(table, "UNIT", 100)
    monkeypatch.setattr(stream, "UNIT", 100)


@pytest.fixture
def source(tmp_path: Path) -> Path:
    path = tmp_path / "bags.csv"
    shop(950).to_csv(path, index=False)
    return path


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
    expected = identify_table(pd.read_csv(source))
    written = pd.read_csv(target)
    pd.testing.assert_frame_equal(written.drop(columns="error"), expected.drop(columns="error"), rtol=1e-12)


def test_parquet_in_and_out(source: Path, tmp_path: Path) -> None:
    parquet = tmp_path / "bags.parquet"
    pd.read_csv(source).to_parquet(parquet)
    identify_file(parquet, tmp_path / "out.parquet", top=2, keep=["id"])
    identify_file(source, tmp_path / "out.csv", top=2, keep=["id"])
    one, other = pd.read_parquet(tmp_path / "out.parquet"), pd.read_csv(tmp_path / "out.csv")
    pd.testing.assert_frame_equal(one.drop(columns="error"), other.drop(columns="error"), check_dtype=False, rtol=1e-12)


KILLED = """
import sys, time
from resinid.bulk import stream, table
table.UNIT = stream.UNIT = 100
def slow(rows, share):
    print(rows, flush=True)
    time.sleep(0.3)
stream.identify_file(sys.argv[1], sys.argv[2], top=3, progress=slow)
"""


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
        (tmp_path / "x.xlsx", "ends in"),
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


def test_command_line(source: Path, tmp_path: Path) -> None:
    target = tmp_path / "out.csv"
    command = [sys.executable, "-m", "resinid", "rows", str(source), str(target), "--keep", "id", "--json"]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert json.loads(done.stdout)["rows"] == 950
    assert pd.read_csv(target)["id"].tolist()[:2] == ["piece 0", "piece 1"]
    assert done.stderr == ""
    bad = subprocess.run(
        [*command[:4], str(tmp_path / "no.csv"), str(target)], capture_output=True, text=True, check=False
    )
    assert bad.returncode == 2
    assert "Traceback" not in bad.stderr
