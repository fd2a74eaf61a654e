"""Files of any length in and out in constant memory, safe to interrupt and to resume.

Rows are scored in units of fixed size. Each finished unit is written whole to a folder
beside the target (``TARGET.parts``) under a name that only appears when it is complete;
when the last is there they are joined into the target, which also appears at once. What
was finished when a run is killed is kept, and a later run goes on from there.
"""

from __future__ import annotations

import hashlib
import json
import shutil
import warnings
from collections import deque
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Literal

import pandas as pd

from resinid.errors import Fault, Faults, InputError, MethodWarning
from resinid.heating.verdict import DANGER_LIMIT
from resinid.io.arguments import as_names
from resinid.io.target import writable_target
from resinid.methods.registry import listed
from resinid.notebook import Answer
from resinid.tables.columns import plan_columns
from resinid.tables.formats import CsvStyle, format_of, inferred
from resinid.tables.frame import UNIT, Asked, check_whole, columns_of, ranked, slow_notes
from resinid.tables.hold import held
from resinid.tables.readings import check_units
from resinid.version import package_version

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Sequence
    from concurrent.futures import Future

    from resinid.methods.contract import Method
    from resinid.reference.table import ReferenceTable
    from resinid.tables.columns import ColumnPlan
    from resinid.tables.formats import Format

__all__ = ["Streamed", "identify_file"]

MANIFEST: Final = "manifest.json"


@dataclass(frozen=True, slots=True)
class Streamed(Answer):
    """What became of a file.

    Parameters
    ----------
    rows : int
        Rows read.
    faulty : int
        Rows that could not be used; the target's column ``error`` says why.
    kept : int
        Rows that an earlier, interrupted run had finished already.
    unused : tuple of str
        Columns that name no test and were not kept.
    notes : tuple of str
        What was taken for granted, such as the usual uncertainty of numbers that state none.
    """

    rows: int
    faulty: int
    kept: int
    unused: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def identify_file(
    source: str | Path,
    target: str | Path,
    *,
    keep: Sequence[str] = (),
    chunk: int = UNIT,
    workers: int = 1,
    resume: bool = False,
    progress: Callable[[int, float], None] | None = None,
    sep: str = ",",
    decimal: str = ".",
    encoding: str = "utf-8",
    top: int | None = None,
    prefix: str = "",
    errors: Literal["report", "raise"] = "report",
    prior: str | Mapping[str, float] = "default",
    reference: ReferenceTable | None = None,
    methods: Iterable[Method] = (),
    allow: Iterable[str] = (),
    danger_limit: float = DANGER_LIMIT,
    trusted: Iterable[str] = (),
) -> Streamed:
    r"""Rank the resins of every row of a file.

    Parameters
    ----------
    source, target : path
        CSV, Parquet (with the extra ``scale``), or a spreadsheet, ``.xlsx`` or ``.ods`` (with the extra
        ``sheets``), by their endings; columns as :func:`identify_table` takes them.
    keep : sequence of str, optional
        Columns of the source to copy into the target, first; from CSV to the letter.
        None may be called as a column of the answer.
    chunk : int, optional
        Rows read at a time; the result does not depend on it.
    workers : int, optional
        Threads; the result does not depend on it.
    resume : bool, optional
        Go on where an interrupted run of the same source and options stopped.
    progress : callable, optional
        Told the number of rows finished and the share of the source read, from time to time.
    sep, decimal, encoding : str, optional
        How a CSV source is written, as for ``pandas.read_csv``; the target has commas and points, in UTF-8.
    top, prefix, errors, prior, reference, methods, allow, danger_limit, trusted
        As for :func:`identify_table`; without ``top`` one column a resin.

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
    ...     _ = source.write_text("float.liquid;float.outcome\nwater;floats\n", encoding="utf-8")
    ...     done = identify_file(source, target, top=1, sep=";")
    ...     target.read_text(encoding="utf-8").splitlines()[0][:40]
    'resin_1,probability_1,verdict,do_not_hea'
    >>> done.rows
    1
    """
    check_whole(top=top, chunk=chunk, workers=workers)
    # What can be told of the options is told before anything is read or written, and each unit is scored with the
    # same: a generator would last for the first only.
    trusted = as_names("trusted", trusted, "slide angle")
    asked = Asked.of(
        errors=errors,
        prior=prior,
        reference=reference,
        methods=methods,
        allow=allow,
        danger_limit=danger_limit,
        trusted=trusted,
        decimal=decimal,
    )
    style = CsvStyle(sep, decimal, encoding) if str(source).lower().endswith(".csv") else CsvStyle()
    answer = {f"{prefix}{name}": kind for name, kind in columns_of(top, asked.setting.model.reference).items()}
    kept = _kept(keep, answer)
    source, target = Path(source), Path(target)
    reader, writer = format_of(source, style), format_of(target)
    target = _apart(source, target)
    parts = target.with_name(target.name + ".parts")
    said = {
        "top": top, "prefix": prefix, "errors": errors, "danger_limit": danger_limit, "style": style,
        "prior": sorted((str(r), w) for r, w in prior.items()) if isinstance(prior, Mapping) else prior,
        "trusted": sorted(set(trusted)),
    }  # fmt: skip
    try:
        kinds = reader.kinds(source, kept) | answer
        plan = plan_columns(reader.headers(source), asked.methods, asked.allow, kept=kept)
        job = _Job(reader, writer, source, target, parts, kept, kinds, chunk, workers, plan, asked, top, prefix)
        with held(parts):
            done = _prepare(parts, _signature(job, said), resume=resume)
            try:
                return _run(job, done, progress)
            finally:
                if not _part(parts, 0).is_file():  # nothing was finished that a later run could go on from
                    shutil.rmtree(parts, ignore_errors=True)
    except OSError as error:
        where = error.filename or target
        raise InputError([Fault(str(where), f"cannot be used: {error.strerror or error}")]) from error


def _kept(keep: object, answer: Mapping[str, str]) -> tuple[str, ...]:
    """Return the columns to keep, each named once and none as a column of the answer."""
    kept = as_names("keep", keep, "id")
    faults = Faults()
    for name in dict.fromkeys(kept):
        if kept.count(name) > 1:
            faults.add("keep", f"{name!r:.100} is there twice; name each column once")
        if name in answer:
            faults.add("keep", f"{name!r:.100} is a column of the answer, too; call it otherwise in the source")
    faults.check()
    return kept


def _apart(source: Path, target: Path) -> Path:
    """Return the file to write, which is not the source."""
    if source.exists() and not source.is_file():
        raise InputError([Fault(str(source), "is no plain file")])
    try:
        target = writable_target(target)
        same = target.resolve() == source.resolve()
    except (OSError, RuntimeError) as error:  # RuntimeError: links in a ring
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError([Fault(str(target), f"cannot be used: {reason}")]) from error
    if same:
        raise InputError([Fault(str(target), "is the source itself; write to another file")])
    return target


@dataclass(frozen=True, slots=True)
class _Job:
    """What to read, how, and where to put it."""

    reader: Format
    writer: Format
    source: Path
    target: Path
    parts: Path
    keep: tuple[str, ...]
    kinds: Mapping[str, Any]
    chunk: int
    workers: int
    plan: ColumnPlan
    asked: Asked
    top: int | None
    prefix: str

    def scored(self, unit: pd.DataFrame) -> tuple[pd.DataFrame, tuple[str, ...], int]:
        """Return a unit's answer, the kept columns first, what was taken for granted, and how much was done singly."""
        missing = [name for name in self.keep if name not in unit.columns]
        if missing:
            raise InputError([Fault(str(self.source), f"has no column {', '.join(missing)} to keep")])
        tested = unit
        if self.source.suffix.lower() == ".csv":
            words = set(self.plan.words)
            tested = unit.assign(**{name: inferred(unit[name]) for name in self.keep if name in words})
        answer = ranked(tested, self.plan, self.asked)
        for why in (answer.left_out or {}).values():
            warnings.warn(f"left out of the whole table: {why}", MethodWarning, stacklevel=2)
        flat = answer.to_frame(self.top, prefix=self.prefix)
        return (pd.concat([unit[list(self.keep)], flat], axis=1) if self.keep else flat), answer.notes, answer.singly


def _signature(job: _Job, said: Mapping[str, object]) -> str:
    """Return what must be the same for a run to be resumed."""
    found = job.source.stat()
    asked = job.asked
    methods = sorted((each.method.name, each.method.version, each.origin) for each in listed(asked.methods))
    # A set is in another order in another process.
    options = [*said.items(), ("reference", asked.setting.model.reference.digest), ("methods", methods)]
    options.append(("allow", sorted(set(asked.allow))))
    columns = [(name, str(kind)) for name, kind in job.kinds.items()]
    text = f"{package_version()} {job.source.resolve()} {found.st_size} {found.st_mtime_ns} {job.target.name}"
    text += f" {job.keep!r} {columns!r} {UNIT} {sorted(options, key=str)!r}"
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
    if not manifest.is_file() and any(path.name != f"{MANIFEST}.half" for path in parts.iterdir()):
        raise InputError([Fault(str(parts), "is in the way and not of an earlier run; move it elsewhere")])
    # The folder itself stays, for it is held.
    for path in sorted(parts.iterdir()):
        path.unlink()
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
    try:
        write(half)
        half.replace(path)
    except BaseException:
        with suppress(OSError):
            half.unlink(missing_ok=True)
        raise


def _run(job: _Job, done: list[Path], progress: Callable[[int, float], None] | None) -> Streamed:
    kept = rows = faulty = singly = 0
    share = 0.0
    finished = list(done)
    notes: dict[str, None] = {}

    def store(number: int, answer: pd.DataFrame, told: tuple[str, ...], slow: int) -> None:
        nonlocal rows, faulty, singly
        singly += slow
        path = _part(job.parts, number)
        _replace(path, lambda half: job.writer.write(answer, half, job.kinds))
        finished.append(path)
        notes.update(dict.fromkeys([*told, *_formulas(answer, job.keep)]))
        rows += len(answer)
        faulty += int(answer[f"{job.prefix}error"].notna().sum())
        if progress is not None:
            progress(rows, share)

    texts = list(dict.fromkeys([*job.keep, *job.plan.readings]))
    waiting: deque[tuple[int, Future[tuple[pd.DataFrame, tuple[str, ...], int]]]] = deque()
    with ThreadPoolExecutor(job.workers) as pool:
        for number, (unit, share) in enumerate(_units(job.reader.read(job.source, job.chunk, texts))):  # noqa: B007 - store tells it
            if number == 0:
                check_units(unit, job.plan)
            if number < len(done):
                kept += len(unit)
                rows += len(unit)
                continue
            waiting.append((number, pool.submit(job.scored, unit)))
            # No more units are held than there are workers, and one read ahead.
            while len(waiting) > job.workers:
                first, future = waiting.popleft()
                store(first, *future.result())
        while waiting:
            first, future = waiting.popleft()
            store(first, *future.result())
    if not finished:
        raise InputError([Fault(str(job.source), "holds no rows")])
    _replace(job.target, lambda half: job.writer.join(finished, half))
    shutil.rmtree(job.parts)
    unused = tuple(name for name in job.plan.foreign if name not in job.keep)
    return Streamed(rows, faulty, kept, unused, (*notes, *slow_notes(singly)))


def _formulas(answer: pd.DataFrame, keep: Sequence[str]) -> list[str]:
    """Return a note on each kept column with cells that a spreadsheet would take for formulas."""
    found = []
    for name in keep:
        if pd.api.types.is_numeric_dtype(answer[name].dtype):
            continue
        texts = (cell for cell in answer[name].array if isinstance(cell, str))
        begun = pd.Series([text for text in texts if text.startswith(("=", "+", "-", "@", "\t", "\r"))], dtype=object)
        if pd.to_numeric(begun, errors="coerce").isna().any():
            found.append(f"{name}: some cells begin as formulas do; have a spreadsheet read the column as text")
    return found


def _units(frames: Iterator[tuple[pd.DataFrame, float]]) -> Iterator[tuple[pd.DataFrame, float]]:
    """Regroup frames into units of fixed size, so that the size of the frames does not matter.

    A unit's index counts the rows of the whole source from 0, as that of a table read at once.
    """
    held: list[pd.DataFrame] = []
    count = begin = 0
    share = 0.0
    for frame, share in frames:
        held.append(frame)
        count += len(frame)
        while count >= UNIT:
            whole = _joined(held, begin)
            yield whole.iloc[:UNIT], share
            begin += UNIT
            rest = whole.iloc[UNIT:]
            held, count = ([rest] if len(rest) else []), len(rest)
    if count:
        yield _joined(held, begin), share


def _joined(held: Sequence[pd.DataFrame], begin: int) -> pd.DataFrame:
    whole = pd.concat(held, ignore_index=True) if len(held) > 1 else held[0]
    return whole.set_axis(pd.RangeIndex(begin, begin + len(whole)))
