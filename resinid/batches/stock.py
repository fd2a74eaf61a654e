"""A stock of batches: a CSV file in, a symmetric matrix of pairs out."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from resinid.batches.bag import Batch, as_batches, read_batch
from resinid.batches.bag_posterior import CONCENTRATION
from resinid.batches.mix_part import mix_part
from resinid.batches.mixing_rules import mixing_rules
from resinid.batches.outcome import OUTCOMES, judged
from resinid.batches.pairs import judge_pairs
from resinid.errors import Fault, Faults, InputError, UnknownNameError, safe_repr
from resinid.heating.verdict import DANGER_LIMIT, danger_limit_of
from resinid.io.arguments import as_folder, check_text
from resinid.io.close_words import did_you_mean
from resinid.notebook import Answer
from resinid.reference.table import ReferenceTable, reference_or_default

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd

__all__ = ["COLUMNS", "StockMatrix", "read_stock", "stock_matrix"]

COLUMNS: Final = ("name", "file", "marked", "process", "mfr", "mfr_condition", "remarks", "mass")
"""Columns of a stock file, in any order; only ``name`` is needed. ``file`` names a batch document
beside the CSV file; ``marked`` is like ``PE-HD:12 PP:1``; ``remarks`` are separated by semicolons."""

FORMULA: Final = ("=", "+", "-", "@", "\t", "\r")
"""A cell that starts so may run as a formula in a spreadsheet, and is refused."""

MOST_BATCHES: Final = 200
LARGEST: Final = 1_000_000
"""[characters] A longer stock file is refused."""


@dataclass(frozen=True, slots=True)
class StockMatrix(Answer):
    """What becomes of every two batches of a stock in equal shares; on the diagonal, of each by itself.

    Parameters
    ----------
    names : tuple of str
    verdicts : tuple of tuple of str
        Symmetric.
    chances : tuple of tuple of tuple of float
        Of one melt, usable with limits, will delaminate and dangerous, symmetric.
    deciding : tuple of tuple of str
        The weightiest reason of each verdict, symmetric.
    """

    names: tuple[str, ...]
    verdicts: tuple[tuple[str, ...], ...]
    chances: tuple[tuple[tuple[float, ...], ...], ...]
    deciding: tuple[tuple[str, ...], ...]

    def __repr__(self) -> str:
        return f"<StockMatrix of {len(self.names)} bags>"

    @property
    def outcomes(self) -> tuple[tuple[str, ...], ...]:
        """What would become of each mix if nothing in it were dangerous, symmetric."""
        return tuple(tuple(map(judged, row)) for row in self.chances)

    def to_frame(self) -> pd.DataFrame:
        """Return the verdicts as a DataFrame with the batches' names on both sides."""
        import pandas as pd

        return pd.DataFrame(list(self.verdicts), index=list(self.names), columns=list(self.names))

    def to_csv(self) -> str:
        """Return the verdicts as CSV text, names in the first row and column."""
        out = io.StringIO()
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(["", *self.names])
        writer.writerows([name, *row] for name, row in zip(self.names, self.verdicts, strict=True))
        return out.getvalue()

    def to_dict(self) -> dict[str, Any]:
        """Return the matrix as JSON types."""
        return {
            "batches": list(self.names),
            "outcomes": list(OUTCOMES),
            "verdicts": [list(row) for row in self.verdicts],
            "chances": [[list(cell) for cell in row] for row in self.chances],
            "deciding": [list(row) for row in self.deciding],
        }


def stock_matrix(
    batches: Sequence[Batch],
    *,
    danger_limit: float = DANGER_LIMIT,
    prior: str | Mapping[str, float] = "default",
    reference: ReferenceTable | None = None,
    concentration: float = CONCENTRATION,
) -> StockMatrix:
    """Say for every two batches of a stock what becomes of equal shares of them.

    Parameters
    ----------
    batches : sequence of Batch
        Of different names.
    danger_limit, prior, table, concentration : optional
        As for :func:`resinid.melt_together`.

    Raises
    ------
    InputError
        No batches, what is none, more than 200, or a name given twice; what is no prior or table; a
        piece that is marked with an unknown resin.
    UnknownNameError
        No prior is called that.
    RangeError
        A danger limit outside 0 to 0.05, or a concentration outside 0.001 to 1000.

    Examples
    --------
    >>> caps, cups = Batch.of("caps", marked={"PE-HD": 30}), Batch.of("cups", marked={"PS": 30})
    >>> stock_matrix([caps, cups]).verdicts[0][1], stock_matrix([caps, cups]).outcomes[0][1]
    ('NOT YET', 'will delaminate')
    """
    batches = as_batches(batches, "stock")
    names = [batch.name for batch in batches]
    faults = Faults()
    if not batches or len(batches) > MOST_BATCHES:
        faults.add("stock", f"has {len(batches)} batches; 1 to {MOST_BATCHES} are read")
    for name in sorted({name for name in names if names.count(name) > 1}):
        faults.add("stock", f"has two batches called {safe_repr(name)}; names must differ")
    faults.check()
    chosen = reference_or_default(reference)
    parts = [mix_part(batch, chosen, prior, concentration) for batch in batches]
    size = len(parts)
    found = judge_pairs(parts, mixing_rules(chosen), danger_limit_of(danger_limit))
    place = np.zeros((size, size), dtype=np.intp)
    place[np.triu_indices(size)] = np.arange(len(found))
    cells = [[found[k] for k in row] for row in np.maximum(place, place.T).tolist()]
    return StockMatrix(
        tuple(names),
        tuple(tuple(cell.verdict for cell in row) for row in cells),
        tuple(tuple(cell.chances for cell in row) for row in cells),
        tuple(tuple(cell.deciding for cell in row) for row in cells),
    )


def read_stock(
    text: str, folder: Path | None = None, file: str = "stock.csv", reference: ReferenceTable | None = None
) -> tuple[Batch, ...]:
    r"""Read a stock of batches from CSV text.

    Parameters
    ----------
    text : str
        Its first line names columns among :data:`COLUMNS`.
    folder : pathlib.Path, optional
        Where batch documents named in the column ``file`` are.
    file : str, optional
        What to call the text in messages.
    reference : ReferenceTable, optional
        Whose resins the column ``marked`` may name; the package's own where not given.

    Raises
    ------
    InputError
        Every fault, each with line and column.

    Examples
    --------
    >>> batches = read_stock("name,marked,process\ncaps,PE-HD:30,injection moulding\ncups,PS:12,\n")
    >>> [batch.name for batch in batches]
    ['caps', 'cups']
    """
    check_text(file, text)
    beside = None if folder is None else as_folder("folder", folder)
    if len(text) > LARGEST:
        raise InputError([Fault(file, f"is longer than {LARGEST} characters")])
    _check_marks(text, file)
    faults = Faults()
    reader = csv.reader(io.StringIO(text.lstrip("\ufeff"), newline=""), strict=True)
    rows: list[tuple[int, list[str]]] = []
    try:
        rows.extend((reader.line_num, row) for row in reader if row)
    except csv.Error as error:
        faults.add(f"{file}:{reader.line_num}", f"is not CSV: {error}")
    faults.check()
    if not rows:
        raise InputError([Fault(file, f"is empty; its first line names columns among {', '.join(COLUMNS)}")])
    head = [cell.strip() for cell in rows[0][1]]
    _check_head(head, file, faults)
    if "name" not in head:
        faults.add(f"{file}:1", "has no column name")
    faults.check()
    batches = [_batch(line, row, head, beside, file, faults) for line, row in rows[1:]]
    for (line, _), batch in zip(rows[1:], batches, strict=True):
        _known(batch, reference_or_default(reference), f"{file}:{line}", faults)
    faults.check()
    return tuple(batch for batch in batches if batch is not None)


def _check_marks(text: str, file: str) -> None:
    """Refuse text whose cells something else than commas parts, before its quotes are found to be no CSV."""
    first = text.lstrip("\ufeff\r\n").partition("\n")[0]
    for mark, what in ((";", "semicolons"), ("\t", "tabs")):
        if mark in first and "," not in first:
            raise InputError([Fault(f"{file}:1", f"has its cells parted by {what}; save it with commas between them")])


def _check_head(head: Sequence[str], file: str, faults: Faults) -> None:
    """Note what is no header."""
    for number, name in enumerate(head, start=1):
        if not name:
            why = "is an empty header (a comma too many?); take that comma from every line, or name the column"
        elif name not in COLUMNS:
            why = f"{name!r:.50} is no column; expected {', '.join(COLUMNS)}{did_you_mean(name, COLUMNS)}"
        elif head.index(name) != number - 1:
            why = f"{name!r} is there twice; name each column once"
        else:
            continue
        faults.add(f"{file}:1:{number}", why)


def _batch(  # noqa: PLR0917 - all of it is where the row was found
    line: int, row: list[str], head: list[str], folder: Path | None, file: str, faults: Faults
) -> Batch | None:
    if len(row) != len(head):
        faults.add(f"{file}:{line}", f"has {len(row)} cells; expected {len(head)} (is a comma unquoted?)")
        return None
    inner = Faults()
    for name, cell in zip(head, row, strict=True):
        if cell.startswith(FORMULA):
            inner.add(name, f"{cell[:30]!r} looks like a formula; write plain text")
    cells = {name: cell.strip() for name, cell in zip(head, row, strict=True) if cell.strip()}
    if "name" not in cells:
        inner.add("name", "is empty")
    made: Batch | None = None
    if not len(inner):
        try:
            made = _made(cells, folder)
        except InputError as error:
            inner.extend(error.faults)
    for fault in inner:
        faults.add(f"{file}:{line}:{fault.place}", fault.message)
    return made


def _known(batch: Batch | None, reference: ReferenceTable, place: str, faults: Faults) -> None:
    for resin, _ in batch.marked if batch else ():
        try:
            reference.resin(resin)
        except UnknownNameError as error:
            faults.add(f"{place}:marked", str(error))


def _made(cells: Mapping[str, str], folder: Path | None) -> Batch:
    if "file" in cells:
        extra = sorted(set(cells) - {"name", "file"})
        if extra:
            raise InputError([Fault(extra[0], "does not go with a file; write it in the batch document")])
        found = read_batch(_document(cells["file"], folder), cells["name"], folder)
        return replace(found, name=cells["name"])
    entries: dict[str, Any] = {key: cells[key] for key in ("process", "mfr", "mfr_condition", "mass") if key in cells}
    if "marked" in cells:
        entries["marked"] = _counts(cells["marked"])
    if "remarks" in cells:
        entries["remarks"] = [word.strip() for word in cells["remarks"].split(";") if word.strip()]
    return Batch.of(cells["name"], **entries)


def _document(name: str, folder: Path | None) -> str:
    path = Path(name)
    if folder is None or path.is_absolute() or ".." in path.parts:
        raise InputError([Fault("file", f"{name[:100]!r} is not beside the stock file; give a plain file name")])
    try:
        return (folder / path).read_text(encoding="utf-8")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or "not UTF-8 text"
        raise InputError([Fault("file", f"{name[:100]!r} cannot be read: {reason}")]) from error


def _counts(cell: str) -> dict[str, int]:
    out: dict[str, int] = {}
    for word in cell.replace(";", " ").split():
        resin, colon, number = word.rpartition(":")
        if not colon or not number.isdecimal() or resin in out:
            raise InputError([Fault("marked", f"{word[:50]!r} is not a resin and a count such as PE-HD:12, each once")])
        out[resin] = int(number)
    return out
