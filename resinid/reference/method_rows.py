"""Rows that a method brings along in a folder of its own, laid out as the reference table's files are."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, TypeVar

from resinid.errors import Faults, TableError
from resinid.reference.files import read_csv
from resinid.reference.line import Line
from resinid.reference.parse import FILES, OPTIONAL, behaviour, source, statement

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from resinid.quantities import Quantity
    from resinid.reference.entries import Behaviour, Source, Statement

T = TypeVar("T")

__all__ = ["behaviours_of", "sources_of", "statements_of"]


@functools.lru_cache(maxsize=64)
def behaviours_of(folder: Path, aspect: str, outcomes: tuple[str, ...]) -> tuple[Behaviour, ...]:
    """Return the rows of one aspect in a folder's ``behaviour.csv``; none where it has no such file.

    Raises
    ------
    TableError
        Every fault, with file, line and column.
    """
    return _rows(folder, "behaviour", lambda line: behaviour(line, {aspect: outcomes}), ("aspect", aspect))


@functools.lru_cache(maxsize=64)
def statements_of(folder: Path, quantity: Quantity) -> tuple[Statement, ...]:
    """Return the rows of one property in a folder's ``properties.csv``; none where it has no such file.

    Raises
    ------
    TableError
        Every fault, with file, line and column.
    """
    known = {quantity.name: quantity}
    return _rows(folder, "properties", lambda line: statement(line, known), ("property", quantity.name))


@functools.lru_cache(maxsize=64)
def sources_of(folder: Path) -> tuple[Source, ...]:
    """Return the sources in a folder's ``sources.csv``; none where it has no such file.

    Raises
    ------
    TableError
        Every fault, with file, line and column.
    """
    return _rows(folder, "sources", source)


def _rows(folder: Path, file: str, make: Callable[[Line], T], only: tuple[str, str] | None = None) -> tuple[T, ...]:
    """Return what the lines of a file state, or only those with one text in one column."""
    faults = Faults(TableError)
    path = folder / f"{file}.csv"
    lines = read_csv(path, FILES[file][0], OPTIONAL.get(file, ())) if path.is_file() else []
    rows = [make(Line(cells, faults)) for cells in lines if only is None or cells[only[0]] == only[1]]
    faults.check()
    return tuple(rows)
