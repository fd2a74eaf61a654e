"""Files of any length in and out in constant memory, safe to interrupt and to resume.

Rows are scored in units of fixed size. Each finished unit is written whole to a folder
beside the target (``TARGET.parts``) under a name that only appears when it is complete;
when the last is there they are joined into the target, which also appears at once. What
was finished when a run is killed is kept, and a later run goes on from there.
"""

from __future__ import annotations

import hashlib
import json
import os
import shutil
from collections import deque
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Protocol

import pandas as pd

from resinid.bulk.table import UNIT, identify_table
from resinid.door.arguments import check_counts, named_of
from resinid.errors import Fault, InputError, ResinidError

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence
    from concurrent.futures import Future

__all__ = ["Streamed", "identify_file"]

MANIFEST: Final = "manifest.json"


@dataclass(frozen=True, slots=True)
class Streamed:
    """What became of a file.

    Parameters
    ----------
    rows : int
        Rows read.
    faulty : int
        Rows that could not be used; the target's column ``error`` says why.
    kept : int
        Rows that an earlier, interrupted run had finished already.
    """

    rows: int
    faulty: int
    kept: int

    def _repr_html_(self) -> str:
        from resinid.show.reference import streamed_html

        return streamed_html(self)


class _Format(Protocol):
    """One kind of file."""

    def read(self, path: Path, rows: int) -> Iterator[tuple[pd.DataFrame, float]]:
        """Yield the file's rows in frames of about ``rows``, each with the share of the file read so far."""

    def write(self, frame: pd.DataFrame, path: Path) -> None:
        """Write one part."""

    def join(self, parts: Sequence[Path], target: Path) -> None:
        """Join parts into one file."""


WIDEST: Final = 5000
"""A CSV file with more columns is refused: pandas' time to tell them apart grows with their square."""


def _check_width(path: Path) -> None:
    with path.open("rb") as file:
        if file.readline(100 * WIDEST).count(b",") >= WIDEST:
            raise InputError([Fault(str(path), f"has more than {WIDEST} columns")])


class _Csv:
    def read(self, path: Path, rows: int) -> Iterator[tuple[pd.DataFrame, float]]:
        size = max(path.stat().st_size, 1)
        try:
            _check_width(path)
            with path.open("rb") as file, pd.read_csv(file, chunksize=rows, encoding="utf-8") as reader:
                for frame in reader:
                    yield frame, file.tell() / size
        except (pd.errors.ParserError, pd.errors.EmptyDataError, UnicodeDecodeError) as error:
            raise InputError([Fault(str(path), f"is not CSV in UTF-8: {error}")]) from error

    def write(self, frame: pd.DataFrame, path: Path) -> None:
        with path.open("w", encoding="utf-8", newline="") as file:
            frame.to_csv(file, index=False, lineterminator="\n")
            file.flush()
            os.fsync(file.fileno())

    def join(self, parts: Sequence[Path], target: Path) -> None:
        with target.open("wb") as out:
            for number, part in enumerate(parts):
                with part.open("rb") as file:
                    if number:
                        file.readline()
                    shutil.copyfileobj(file, out)
            out.flush()
            os.fsync(out.fileno())


class _Parquet:
    def read(self, path: Path, rows: int) -> Iterator[tuple[pd.DataFrame, float]]:
        parquet = _pyarrow_parquet()
        try:
            file = parquet.ParquetFile(path)
        except (OSError, ValueError) as error:
            raise InputError([Fault(str(path), f"is not Parquet: {error}")]) from error
        with file:
            total, done = max(file.metadata.num_rows, 1), 0
            for batch in file.iter_batches(batch_size=rows):
                done += batch.num_rows
                yield batch.to_pandas(), done / total

    def write(self, frame: pd.DataFrame, path: Path) -> None:
        frame.astype({"error": "string"}).to_parquet(path, engine="pyarrow", index=False)

    def join(self, parts: Sequence[Path], target: Path) -> None:
        parquet = _pyarrow_parquet()
        writer: Any = None
        for part in parts:
            rows = parquet.read_table(part)
            writer = writer or parquet.ParquetWriter(target, rows.schema)
            writer.write_table(rows)
        if writer is not None:
            writer.close()


def _pyarrow_parquet() -> Any:  # noqa: ANN401 - pyarrow has no types
    try:
        import pyarrow.parquet
    except ImportError as error:
        raise InputError([Fault("", "Parquet needs pyarrow; install resinid[scale], or use CSV")]) from error
    return pyarrow.parquet


_FORMATS: Final[dict[str, _Format]] = {".csv": _Csv(), ".parquet": _Parquet()}


def identify_file(
    source: str | Path,
    target: str | Path,
    *,
    keep: Sequence[str] = (),
    chunk: int = UNIT,
    workers: int = 1,
    resume: bool = False,
    progress: Callable[[int, float], None] | None = None,
    **options: Any,  # noqa: ANN401 - passed on as they are
) -> Streamed:
    r"""Rank the resins of every row of a file.

    Parameters
    ----------
    source, target : path
        CSV or Parquet by their endings; columns as :func:`identify_table` takes them.
    keep : sequence of str, optional
        Columns of the source to copy into the target, first.
    chunk : int, optional
        Rows read at a time; the result does not depend on it.
    workers : int, optional
        Threads; the result does not depend on it.
    resume : bool, optional
        Go on where an interrupted run of the same source and options stopped.
    progress : callable, optional
        Told the number of rows finished and the share of the source read, from time to time.
    **options
        As for :func:`identify_table`: ``top``, ``errors``, ``prior``, ``table``,
        ``methods``, ``allow``, ``danger_limit``.

    Returns
    -------
    Streamed

    Raises
    ------
    InputError
        A file that cannot be read or written, an ending that is not known, a source
        that has changed since the run that is to be resumed.

    Examples
    --------
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as folder:
    ...     source, target = Path(folder) / "pieces.csv", Path(folder) / "answers.csv"
    ...     _ = source.write_text("float.liquid,float.outcome\nwater,floats\n", encoding="utf-8")
    ...     done = identify_file(source, target, top=1)
    ...     target.read_text(encoding="utf-8").splitlines()[0]
    'resin_1,probability_1,do_not_heat,error'
    >>> done.rows
    1
    """
    check_counts(chunk=chunk, workers=workers)
    source, target = Path(source), Path(target)
    reader, writer = _format(source), _format(target)
    if source.resolve() == target.resolve():
        raise InputError([Fault(str(target), "is the source itself; write to another file")])
    parts = target.with_name(target.name + ".parts")
    job = _Job(reader, writer, source, target, parts, named_of("keep", keep, "id"), chunk, workers, options)
    try:
        done = _prepare(parts, _signature(job), resume=resume)
        try:
            return _run(job, done, progress)
        except ResinidError:
            # Refused before anything was finished: nothing is left behind.
            if not _part(parts, 0).exists():
                shutil.rmtree(parts)
            raise
    except OSError as error:
        where = error.filename or target
        raise InputError([Fault(str(where), f"cannot be used: {error.strerror or error}")]) from error


@dataclass(frozen=True, slots=True)
class _Job:
    """What to read, how, and where to put it."""

    reader: _Format
    writer: _Format
    source: Path
    target: Path
    parts: Path
    keep: tuple[str, ...]
    chunk: int
    workers: int
    options: dict[str, Any]

    def scored(self, unit: pd.DataFrame) -> pd.DataFrame:
        """Return a unit's answer, with the kept columns first."""
        missing = [name for name in self.keep if name not in unit.columns]
        if missing:
            raise InputError([Fault(str(self.source), f"has no column {', '.join(missing)} to keep")])
        answer = identify_table(unit, **self.options)
        return pd.concat([unit[list(self.keep)], answer], axis=1) if self.keep else answer


def _format(path: Path) -> _Format:
    found = _FORMATS.get(path.suffix.lower())
    if found is None:
        raise InputError([Fault(str(path), f"ends in {path.suffix!r}; expected one of: {', '.join(_FORMATS)}")])
    return found


def _signature(job: _Job) -> str:
    """Return what must be the same for a run to be resumed."""
    found = job.source.stat()
    said = {key: getattr(value, "digest", value) for key, value in sorted(job.options.items())}
    text = f"{job.source.resolve()} {found.st_size} {found.st_mtime_ns} {job.target.name} {job.keep!r} {UNIT} {said!r}"
    return hashlib.sha256(text.encode()).hexdigest()


def _prepare(parts: Path, signature: str, *, resume: bool) -> list[Path]:
    """Return the finished parts of an earlier run, or start afresh."""
    manifest = parts / MANIFEST
    if resume and manifest.is_file():
        if _signed(manifest) != signature:
            what = "is of another source or with other options, or damaged; run without resume"
            raise InputError([Fault(str(parts), what)])
        done: list[Path] = []
        while (part := _part(parts, len(done))).is_file():
            done.append(part)
        return done
    if parts.exists():
        if not manifest.is_file() and any(path.name != f"{MANIFEST}.half" for path in parts.iterdir()):
            raise InputError([Fault(str(parts), "is in the way and not of an earlier run; move it elsewhere")])
        shutil.rmtree(parts)
    parts.mkdir(parents=False)
    _replace(manifest, lambda path: path.write_text(json.dumps({"signature": signature}), encoding="utf-8"))
    return []


def _signed(manifest: Path) -> str:
    """Return the signature in a manifest; nothing where it is damaged."""
    try:
        said = json.loads(manifest.read_text(encoding="utf-8"))
        return str(said["signature"])
    except (ValueError, LookupError, TypeError, RecursionError):
        return ""


def _part(parts: Path, number: int) -> Path:
    return parts / f"{number:08d}"


def _replace(path: Path, write: Callable[[Path], object]) -> None:
    """Write a file under another name first, so that it is there whole or not at all."""
    half = path.with_name(path.name + ".half")
    write(half)
    half.replace(path)


def _run(job: _Job, done: list[Path], progress: Callable[[int, float], None] | None) -> Streamed:
    kept = rows = faulty = 0
    share = 0.0
    finished = list(done)

    def store(number: int, answer: pd.DataFrame) -> None:
        nonlocal rows, faulty
        path = _part(job.parts, number)
        _replace(path, lambda half: job.writer.write(answer, half))
        finished.append(path)
        rows += len(answer)
        faulty += int(answer["error"].notna().sum())
        if progress is not None:
            progress(rows, share)

    waiting: deque[tuple[int, Future[pd.DataFrame]]] = deque()
    with ThreadPoolExecutor(job.workers) as pool:
        for number, (unit, share) in enumerate(_units(job.reader.read(job.source, job.chunk))):  # noqa: B007 - store tells it
            if number < len(done):
                kept += len(unit)
                rows += len(unit)
                continue
            waiting.append((number, pool.submit(job.scored, unit)))
            # No more units are held than there are workers, and one read ahead.
            while len(waiting) > job.workers:
                first, future = waiting.popleft()
                store(first, future.result())
        while waiting:
            first, future = waiting.popleft()
            store(first, future.result())
    if not finished:
        raise InputError([Fault(str(job.source), "holds no rows")])
    _replace(job.target, lambda half: job.writer.join(finished, half))
    shutil.rmtree(job.parts)
    return Streamed(rows, faulty, kept)


def _units(frames: Iterator[tuple[pd.DataFrame, float]]) -> Iterator[tuple[pd.DataFrame, float]]:
    """Regroup frames into units of fixed size, so that the size of the frames does not matter."""
    held: list[pd.DataFrame] = []
    count = 0
    share = 0.0
    for frame, share in frames:
        held.append(frame)
        count += len(frame)
        while count >= UNIT:
            whole = pd.concat(held, ignore_index=True) if len(held) > 1 else held[0].reset_index(drop=True)
            yield whole.iloc[:UNIT], share
            rest = whole.iloc[UNIT:]
            held, count = ([rest] if len(rest) else []), len(rest)
    if count:
        yield pd.concat(held, ignore_index=True) if len(held) > 1 else held[0].reset_index(drop=True), share
