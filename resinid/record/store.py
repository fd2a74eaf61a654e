"""The file of a record: one SQLite database, safe with several writers and when it is stopped at any moment.

What is written is written in one transaction, taken with BEGIN IMMEDIATE so that of two writers one waits. The
journal is SQLite's rollback journal and not its write-ahead log: a record at rest is one file to copy, it can be
read where nothing may be written, and it needs no memory that processes share, which a network drive has not
(sqlite.org/wal.html, "Disadvantages"). Nothing is ever overwritten: a later answer or outcome stands behind the
earlier one.
"""

from __future__ import annotations

import hashlib
import json
import sqlite3
from contextlib import contextmanager
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, Self

from resinid.errors import Fault, Faults, InputError, safe_repr
from resinid.io.target import writable_target
from resinid.record.entry import FATES, KINDS, Answer, Check, Entry, Outcome, lot_of
from resinid.version import package_version

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator, Mapping

__all__ = ["Store"]

FORMAT: Final = 1
"""Version of the tables below, kept as SQLite's user_version."""

OURS: Final = 0x7265736E
"""SQLite's application_id of a record: the letters "resn"."""

PATIENCE: Final = 30.0
"""[s] How long a writer waits for another."""

LONGEST: Final = 2000
"""[characters] Of a name or a note."""

SCHEMA: Final = f"""
CREATE TABLE entry (
    number INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL, name TEXT NOT NULL, article TEXT NOT NULL,
    source TEXT NOT NULL, at TEXT NOT NULL, evidence TEXT NOT NULL, digest TEXT NOT NULL);
CREATE INDEX by_digest ON entry (digest);
CREATE TABLE made_from (entry INTEGER NOT NULL REFERENCES entry, part INTEGER NOT NULL REFERENCES entry,
    PRIMARY KEY (entry, part));
CREATE TABLE answer (number INTEGER PRIMARY KEY, entry INTEGER NOT NULL REFERENCES entry, at TEXT NOT NULL,
    version TEXT NOT NULL, reference_digest TEXT NOT NULL, data TEXT NOT NULL);
CREATE TABLE outcome (number INTEGER PRIMARY KEY, entry INTEGER NOT NULL REFERENCES entry, at TEXT NOT NULL,
    what TEXT NOT NULL, how TEXT NOT NULL, note TEXT NOT NULL);
CREATE TABLE checked (number INTEGER PRIMARY KEY, instrument TEXT NOT NULL, name TEXT NOT NULL,
    shown REAL NOT NULL, true REAL NOT NULL, u REAL NOT NULL, at TEXT NOT NULL);
PRAGMA application_id = {OURS};
PRAGMA user_version = {FORMAT};
"""


ANSWERS: Final = (
    "SELECT number, entry, at, version, reference_digest, data FROM answer WHERE number > ? ORDER BY number"
)


class Store:
    """The file of a record.

    Parameters
    ----------
    path : str or path
        Made where there is none, unless ``read_only``.
    read_only : bool, optional
        Open it without writing anything, such as on a disk that is write-protected.

    Raises
    ------
    InputError
        It is no record, was written by a later version, or cannot be opened. Each method raises it where the
        file cannot be read or written, the disk full for one: the record is then as it was before.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder, Store(f"{folder}/shop.sqlite") as store:
    ...     bag = store.add("bag", "caps")
    ...     slab = store.add("slab", "tile", made_from=[bag])
    ...     store.confirm(slab, "pressed well")
    ...     [entry.name for entry in store.trace(bag)]
    ['caps', 'tile']
    """

    def __init__(self, path: str | Path, *, read_only: bool = False) -> None:
        self.path: Path = Path(path)
        self.read_only: bool = read_only
        self._answers: dict[int, list[Answer]] = {}
        self._last = 0
        with self._faults():
            target = writable_target(self.path)
            if read_only and not target.exists():
                raise InputError([Fault(str(path), "is not there")])
            mode = "ro" if read_only else "rwc"
            uri = f"{target.resolve().as_uri()}?mode={mode}"
            self._file = sqlite3.connect(uri, timeout=PATIENCE, isolation_level=None, uri=True)
        try:
            with self._faults():
                self._opened()
        except BaseException:
            self._file.close()
            raise

    def _opened(self) -> None:
        if self.read_only and _interrupted(self.path.resolve()):
            why = "was stopped while it was written; open it once where it may be written, which mends it"
            raise InputError([Fault(str(self.path), why)])
        # No code of somebody else's file is run; what is written is on the disk before it counts as written.
        for pragma in ("trusted_schema = OFF", "foreign_keys = ON", "synchronous = EXTRA"):
            self._file.execute(f"PRAGMA {pragma}")
        if not self.read_only and self._number("user_version") == 0:
            with self._writing():
                if self._number("user_version") == 0 and self._empty():
                    for statement in SCHEMA.split(";")[:-1]:
                        self._file.execute(statement)
        if self._number("application_id") != OURS:
            raise InputError([Fault(str(self.path), "is no record of resinid; name another file")])
        if self._number("user_version") > FORMAT:
            raise InputError([Fault(str(self.path), "was written by a later version of resinid; use that")])

    def _empty(self) -> bool:
        return bool(self._file.execute("SELECT count(*) = 0 FROM sqlite_master").fetchone()[0])

    def _number(self, pragma: str) -> int:
        return int(self._file.execute(f"PRAGMA {pragma}").fetchone()[0])

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def close(self) -> None:
        """Close the file; what was written is there already."""
        self._file.close()

    @contextmanager
    def _faults(self) -> Iterator[None]:
        """Say of every error of the file which file it is and what to do."""
        try:
            yield
        except (sqlite3.Error, OSError, RuntimeError, OverflowError) as error:
            said = str(getattr(error, "strerror", None) or error)
            raise InputError([Fault(str(self.path), f"cannot be used as a record: {said}")]) from error
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
            if isinstance(error, InputError):
                raise
            raise InputError([Fault(str(self.path), f"is damaged, or was not written by resinid: {error}")]) from error

    @contextmanager
    def _writing(self) -> Iterator[None]:
        """Write all of a block or nothing."""
        self._file.execute("BEGIN IMMEDIATE")
        try:
            yield
            self._file.execute("COMMIT")
        except BaseException:
            if self._file.in_transaction:
                self._file.execute("ROLLBACK")
            raise

    def add(
        self,
        kind: str,
        name: str,
        evidence: Mapping[str, Any] | None = None,
        answer: Mapping[str, Any] | None = None,
        *,
        digest: str = "",
        article: str = "",
        source: str = "",
        made_from: Iterable[int] = (),
        at: str | None = None,
    ) -> int:
        """Add an entry, or an answer to the one of the same name that holds the same; return its number.

        What has no name is always new: two pieces may read alike.

        Parameters
        ----------
        kind : str
            One of :data:`resinid.record.entry.KINDS`.
        name : str
        evidence, answer : mapping, optional
            JSON types.
        digest : str, optional
            Of the reference table that the answer is by.
        article, source : str, optional
            What kind of thing it is, and where it came from.
        made_from : iterable of int, optional
            Numbers of the entries it was made from.
        at : str, optional
            When, by ISO 8601; now where not given.

        Raises
        ------
        InputError
            Another kind, a text too long, or a number that is not in the record.
        """
        faults = Faults()
        if kind not in KINDS:
            faults.add("kind", f"{safe_repr(kind)} is none of {', '.join(KINDS)}")
        _check_texts({"name": name, "article": article, "source": source}, faults)
        faults.check()
        at, parts = at or _now(), tuple(made_from)
        seen = json.dumps(dict(evidence or {}), ensure_ascii=False, sort_keys=True, allow_nan=False)
        told = None if answer is None else json.dumps(dict(answer), ensure_ascii=False, allow_nan=False)
        own = json.dumps([kind, name, seen, sorted(parts)])
        same = hashlib.sha256(own.encode("utf-8", "surrogatepass")).hexdigest()
        with self._faults(), self._writing():
            for part in parts:
                self._check_there(part)
            found = self._file.execute("SELECT number FROM entry WHERE digest = ?", (same,)).fetchone()
            if found and name:
                number = int(found[0])
            else:
                row = (kind, name, article, source, at, seen, same)
                made = self._file.execute(
                    "INSERT INTO entry (kind, name, article, source, at, evidence, digest) VALUES (?,?,?,?,?,?,?)", row
                )
                number = int(made.lastrowid or 0)
                self._file.executemany("INSERT INTO made_from VALUES (?, ?)", [(number, part) for part in set(parts)])
            last = "SELECT data FROM answer WHERE entry = ? ORDER BY number DESC LIMIT 1"
            if told is not None and (self._file.execute(last, (number,)).fetchone() or [None])[0] != told:
                self._file.execute(
                    "INSERT INTO answer (entry, at, version, reference_digest, data) VALUES (?,?,?,?,?)",
                    (number, at, package_version(), digest, told),
                )
        return number

    def confirm(self, number: int, what: str, how: str = "", note: str = "", *, at: str | None = None) -> None:
        """Write down what turned out: a resin's symbol, or one of :data:`resinid.record.entry.FATES`.

        Parameters
        ----------
        number : int
            Of the entry.
        what, how, note : str
            What turned out, how that was found, and anything else.
        at : str, optional
            When; now where not given.

        Raises
        ------
        InputError
            No such entry, or a text that is none.
        """
        faults = Faults()
        _check_texts({"outcome": what, "how": how, "note": note}, faults)
        if not what:
            faults.add("outcome", f"is empty; give a resin's symbol, or {', '.join(FATES)}")
        faults.check()
        with self._faults(), self._writing():
            self._check_there(number)
            row = (number, at or _now(), what, how, note)
            self._file.execute("INSERT INTO outcome (entry, at, what, how, note) VALUES (?,?,?,?,?)", row)

    def check(self, found: Check) -> None:
        """Write down that an instrument was tried on what is known."""
        row = (found.instrument, found.name, found.shown, found.true, found.u, found.at or _now())
        with self._faults(), self._writing():
            self._file.execute("INSERT INTO checked (instrument, name, shown, true, u, at) VALUES (?,?,?,?,?,?)", row)

    def _check_there(self, number: int) -> None:
        if not self._file.execute("SELECT 1 FROM entry WHERE number = ?", (number,)).fetchone():
            raise InputError([Fault(f"entry {number}", f"is not in {self.path}")])

    def entries(self) -> tuple[Entry, ...]:
        """Return all entries in the order recorded."""
        with self._faults():
            self._file.execute("BEGIN")
            try:  # one moment of the file, whoever writes meanwhile
                return self._read()
            finally:
                self._file.execute("ROLLBACK")

    def _read(self) -> tuple[Entry, ...]:
        rows = self._file.execute("SELECT number, kind, name, article, source, at, evidence FROM entry ORDER BY number")
        found = {
            number: Entry(number, kind, name, article, source, at, _mapping(evidence))
            for number, kind, name, article, source, at, evidence in rows
        }
        # Answers are long and never change, so each is read once.
        for last, number, at, version, digest, data in self._file.execute(ANSWERS, (self._last,)):
            self._answers.setdefault(number, []).append(Answer(at, version, digest, _mapping(data)))
            self._last = last
        for number, answers in self._answers.items():
            found[number] = replace(found[number], answers=tuple(answers))
        for number, *row in self._file.execute("SELECT entry, at, what, how, note FROM outcome ORDER BY number"):
            found[number] = replace(found[number], outcomes=(*found[number].outcomes, Outcome(*row)))
        for number, part in self._file.execute("SELECT entry, part FROM made_from ORDER BY entry, part"):
            found[number] = replace(found[number], made_from=(*found[number].made_from, part))
        return tuple(found.values())

    def entry(self, number: int) -> Entry:
        """Return one entry.

        Raises
        ------
        InputError
            It is not there.
        """
        with self._faults():
            self._check_there(number)
        return next(each for each in self.entries() if each.number == number)

    def checks(self) -> tuple[Check, ...]:
        """Return all checks of instruments in the order recorded."""
        with self._faults():
            rows = self._file.execute("SELECT instrument, name, shown, true, u, at FROM checked ORDER BY number")
            return tuple(Check(*row) for row in rows)

    def trace(self, number: int) -> tuple[Entry, ...]:
        """Return an entry, all it was made from and all that was made from it, oldest first."""
        with self._faults():
            self._check_there(number)
        entries = {each.number: each for each in self.entries()}
        return tuple(entries[each] for each in sorted(lot_of(entries, number)))


def _mapping(text: str) -> dict[str, Any]:
    found = json.loads(text)
    if not isinstance(found, dict):
        raise TypeError("evidence or an answer is no mapping")
    return found


def _interrupted(path: Path) -> bool:
    """Return whether a journal beside the file is still to be rolled back."""
    journal = path.with_name(f"{path.name}-journal")
    return journal.exists() and journal.stat().st_size > 0


def _check_texts(texts: Mapping[str, object], faults: Faults) -> None:
    for place, text in texts.items():
        if not isinstance(text, str) or len(text) > LONGEST:
            faults.add(place, f"{safe_repr(text, 50)} is not a text of at most {LONGEST} characters")


def _now() -> str:
    return datetime.now(UTC).isoformat(timespec="seconds")
