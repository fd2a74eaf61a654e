"""Where the table's files are, and how a CSV file is read with its line numbers."""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

from resinid.errors import Fault, Faults, TableError

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["Cells", "own_folder", "read_csv"]

_LARGEST: Final = 32 * 1024 * 1024
"""[bytes] A table file larger than this is refused rather than read into memory."""


@dataclass(frozen=True, slots=True)
class Cells:
    """One line of a table file.

    Parameters
    ----------
    file : str
        Name of the file.
    line : int
        Line on which the record ends, counted from 1.
    cells : dict of str to str
        Stripped text by column.
    """

    file: str
    line: int
    cells: dict[str, str]

    def __getitem__(self, column: str) -> str:
        """Return the text of one column."""
        return self.cells[column]

    def place(self, column: str) -> str:
        """Return ``file:line:column``, as faults name it."""
        return f"{self.file}:{self.line}:{column}"


def own_folder() -> Path:
    """Return the folder of the reference table that comes with the package.

    A wheel carries it inside the package; a source tree has it beside the package.
    """
    package = Path(__file__).resolve().parent.parent
    inside = package / "reference" / "data"
    return inside if inside.is_dir() else package.parent / "reference"


def read_csv(path: Path, columns: tuple[str, ...], optional: tuple[str, ...] = ()) -> list[Cells]:
    """Read a CSV file whose first line names exactly ``columns``.

    Parameters
    ----------
    path : pathlib.Path
        The file, in UTF-8.
    columns : tuple of str
        Names the first line must hold, in any order.
    optional : tuple of str, optional
        Names it may hold besides; a column that is left out is empty.

    Returns
    -------
    list of Cells

    Raises
    ------
    TableError
        The file cannot be read, is not UTF-8 text, lacks or repeats a column, or
        a record has too few or too many cells.
    """
    faults = Faults(TableError)
    try:
        if path.exists() and not path.is_file():
            raise TableError([Fault(str(path), "is no plain file")])
        if path.stat().st_size > _LARGEST:
            raise TableError([Fault(path.name, f"is larger than {_LARGEST} bytes; split it")])
        text = path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise TableError([Fault(path.name, f"is not UTF-8 text ({error.reason}); save it as UTF-8")]) from error
    except OSError as error:
        raise TableError([Fault(str(path), f"cannot be read: {error.strerror or error}")]) from error
    records = _records(text, path.name, faults)
    header = next(records, None)
    if header is None:
        raise TableError([Fault(path.name, f"is empty; its first line must be: {','.join(columns)}")])
    names = [cell.strip() for cell in header[1]]
    missing = dict.fromkeys(set(optional) - set(names), "")
    if sorted((*names, *missing)) != sorted((*columns, *optional)):
        raise TableError(
            [Fault(f"{path.name}:1", f"has the columns {','.join(names)}; expected exactly {','.join(columns)}")]
        )
    out: list[Cells] = []
    for line, record in records:
        if len(record) != len(names):
            faults.add(f"{path.name}:{line}", f"has {len(record)} cells; expected {len(names)} (is a comma unquoted?)")
            continue
        cells = dict(zip(names, (cell.strip() for cell in record), strict=True))
        out.append(Cells(path.name, line, cells | missing))
    faults.check()
    return out


def _records(text: str, name: str, faults: Faults) -> Iterator[tuple[int, list[str]]]:
    reader = csv.reader(io.StringIO(text, newline=""), strict=True)
    while True:
        try:
            record = next(reader)
        except StopIteration:
            return
        except csv.Error as error:
            faults.add(f"{name}:{reader.line_num}", f"is not CSV: {error}")
            return
        if record:
            yield reader.line_num, record
