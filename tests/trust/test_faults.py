"""Killed at any moment, on a full disk, in a folder that cannot be written, and many at once."""

from __future__ import annotations

import multiprocessing
import os
import subprocess
import sys
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from pathlib import Path
from typing import Final

import pytest

from resinid import identify, identify_file
from resinid.cli.document_files import write_whole
from resinid.cli.session import Session, load_session, save_session
from resinid.errors import InputError
from resinid.identification import score as scored
from resinid.io import unit_conversion

HERE: Final = Path(__file__).parent
ROWS: Final = "id,density.density [g/cm3],density.density_u [g/cm3]\n"
PIECES: Final = tuple(
    [
        {"test": "density", "density": f"{density} ± 0.004 g/cm3"},
        {"test": "float", "liquid": liquid, "outcome": "sinks"},
        {"test": "softening", "temperature": f"{at} ± 2 degC"},
    ]
    for density, liquid, at in (
        ("0.955", "ethanol 40 %v/v", 131),
        ("1.05", "water", 98),
        ("1.19", "table salt 110 g/kg water", 105),
        ("1.38", "table salt saturated", 255),
        ("0.905", "ethanol 55 %v/v", 163),
        ("1.41", "CaCl2 400 g/kg water", 170),
    )
)

pytestmark = pytest.mark.skipif(os.name != "posix", reason="kills and limits processes as POSIX has it")

KILLED: Final = '''
"""Does a job again and again in children, each killed at a later line of one module; prints how many there are."""
import os, signal, sys
import {module} as traced
from fault_jobs import {job} as job, {check} as check

def killing(at):
    left = at
    def trace(frame, event, arg):
        nonlocal left
        if frame.f_code.co_filename != traced.__file__:
            return None
        if event == "line":
            if left == 0:
                os.kill(os.getpid(), signal.SIGKILL)
            left -= 1
        return trace
    return trace

at = 0
while True:
    child = os.fork()
    if child == 0:
        sys.settrace(killing(at))
        job(sys.argv[1])
        os._exit(0)
    _, status = os.waitpid(child, 0)
    if not os.WIFSIGNALED(status):
        assert os.waitstatus_to_exitcode(status) == 0
        break
    check(sys.argv[1])
    at += {stride}
print(at)
'''


def killed_at_every_line(module: str, job: str, check: str, folder: Path, stride: int = 1) -> int:
    script = KILLED.format(module=module, job=job, check=check, stride=stride)
    path = os.pathsep.join([str(HERE), str(HERE.parents[1])])
    command = [sys.executable, "-W", "ignore", "-c", script, str(folder)]
    done = subprocess.run(
        command, capture_output=True, text=True, check=False, timeout=300, env={**os.environ, "PYTHONPATH": path}
    )
    assert done.returncode == 0, done.stderr[-2000:]
    return int(done.stdout)


def test_session_killed_at_any_line(tmp_path: Path) -> None:
    """Killed at any line of the saving, the file holds the old answers or the new, whole; the next save tidies up."""
    assert killed_at_every_line("resinid.cli.document_files", "saving", "saved", tmp_path) > 10
    save_session(Session("cap", (PIECES[0][0],)), tmp_path / "piece.toml")
    assert [path.name for path in tmp_path.iterdir()] == ["piece.toml"]


@pytest.mark.slow
def test_stream_killed_at_any_line(tmp_path: Path) -> None:
    """Killed at any line of the streaming, the target is whole or absent, and resuming gives it to the byte."""
    assert killed_at_every_line("resinid.tables.stream", "streaming", "streamed", tmp_path, stride=7) > 60


LIMITED: Final = """
import resource, sys
from fault_jobs import {job} as job, prepare
prepare(sys.argv[1])
resource.setrlimit(resource.RLIMIT_FSIZE, ({size}, {size}))
from resinid.errors import InputError
try:
    job(sys.argv[1])
except InputError as error:
    print(error)
    sys.exit(2)
"""


@pytest.mark.parametrize(("job", "size"), [("saving", 40), ("streaming", 40), ("streaming", 600)])
def test_full_disk(job: str, size: int, tmp_path: Path) -> None:
    """Where a file cannot grow, the error says so, and neither an old file is harmed nor a half-written one left."""
    old = tmp_path / "piece.toml"
    old.write_text("old\n", encoding="utf-8")
    path = os.pathsep.join([str(HERE), str(HERE.parents[1])])
    command = [sys.executable, "-W", "ignore", "-c", LIMITED.format(job=job, size=size), str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, env={**os.environ, "PYTHONPATH": path})
    assert done.returncode == 2, done.stderr[-2000:]
    assert "too large" in done.stdout
    assert old.read_text(encoding="utf-8") == "old\n"
    assert not [path for path in tmp_path.rglob("*") if path.name in {"out.csv", "out.csv.half"}]
    assert not list(tmp_path.glob(".*"))


def test_no_room_for_the_answer(tmp_path: Path) -> None:
    """An answer that standard output does not take, as on a full disk, is told in one line."""
    piece = tmp_path / "piece.toml"
    piece.write_text("[[observation]]\ntest = 'snap'\noutcome = 'snaps'\n", encoding="utf-8")
    with Path("/dev/full").open("w", encoding="utf-8") as full:
        command = [sys.executable, "-m", "resinid", "identify", str(piece)]
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, check=False)
    assert done.returncode == 2
    assert done.stderr.startswith("resinid: the answer cannot be written: No space left")
    assert len(done.stderr.splitlines()) == 1


def test_places_that_cannot_be_written(tmp_path: Path) -> None:
    """A folder, a path under a file, a name no file can have, and a place that takes no files: all told."""
    under = tmp_path / "file"
    under.write_text("x", encoding="utf-8")
    source = tmp_path / "in.csv"
    source.write_text(ROWS + "1,0.95,0.003\n", encoding="utf-8")
    for path in (tmp_path, under / "x", tmp_path / "a\0b", tmp_path / ("n" * 300), Path("/proc/x"), Path()):
        with pytest.raises(InputError, match="cannot be written"):
            write_whole(path, "text")
    for target in (under / "x.csv", tmp_path / ("n" * 300 + ".csv"), Path("/proc/x.csv"), tmp_path / "no" / "x.csv"):
        with pytest.raises(InputError, match="cannot be used"):
            identify_file(source, target)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["file", "in.csv"]


def test_only_its_own_leftovers_are_tidied(tmp_path: Path) -> None:
    """A file of like name that a living process is writing, or that is no leftover, stays."""
    mine, theirs = tmp_path / f".piece.toml.{os.getppid()}.tmp", tmp_path / ".piece.toml.notes.tmp"
    for path in (mine, theirs):
        path.write_text("x", encoding="utf-8")
    write_whole(tmp_path / "piece.toml", "y\n")
    assert sorted(path.name for path in tmp_path.iterdir()) == sorted([mine.name, theirs.name, "piece.toml"])


def forget() -> None:
    """Empty every cache that a first answer fills."""
    for cached in (scored.model_of, scored.heat_rule_of, scored._named_prior):
        cached.cache_clear()
    unit_conversion._registry.cache_clear()
    unit_conversion.conversion.cache_clear()


def answered(index: int) -> str:
    return identify(PIECES[index % len(PIECES)], piece=str(index)).to_json()


def test_threads_share_nothing() -> None:
    """Answers of many threads, all starting cold, equal those of one after the other."""
    alone = [answered(index) for index in range(48)]
    for _ in range(2):
        forget()
        with ThreadPoolExecutor(8) as pool:
            assert list(pool.map(answered, range(48))) == alone


def test_processes_share_nothing() -> None:
    """Answers of other processes, started afresh, equal ours; observations and answers travel."""
    observations = identify(PIECES[0]).observations
    with ProcessPoolExecutor(2, mp_context=multiprocessing.get_context("spawn")) as pool:
        there = pool.submit(identify, observations).result()
    assert there == identify(observations)


def test_session_file_survives_its_own_killing(tmp_path: Path) -> None:
    """What the killed children saved can be read by the session's reader."""
    path = tmp_path / "piece.toml"
    save_session(Session("cap", tuple(PIECES[0])), path)
    assert load_session(path).observations == tuple(PIECES[0])
