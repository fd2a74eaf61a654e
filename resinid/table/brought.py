"""Rows that a method brings along in a folder of its own, laid out as the reference table's files are."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING

from resinid.errors import Faults, TableError
from resinid.table.files import read_csv
from resinid.table.line import Line
from resinid.table.parse import FILES, behaviour, source, statement

if TYPE_CHECKING:
    from pathlib import Path

    from resinid.table.entries import Behaviour, Source, Statement
    from resinid.vocabulary import Quantity

__all__ = ["behaviours_of", "sources_of", "statements_of"]


@functools.lru_cache(maxsize=64)
def behaviours_of(folder: Path, aspect: str, outcomes: tuple[str, ...]) -> tuple[Behaviour, ...]:
    """Return the rows of one aspect in a folder's ``behaviour.csv``; none where it has no such file.

    Raises
    ------
    TableError
        Every fault, with file, line and column.
    """
    faults = Faults(TableError)
    path = folder / "behaviour.csv"
    lines = read_csv(path, FILES["behaviour"][0]) if path.is_file() else []
    rows = [behaviour(Line(cells, faults), {aspect: outcomes}) for cells in lines if cells["aspect"] == aspect]
    faults.check()
    return tuple(rows)


@functools.lru_cache(maxsize=64)
def statements_of(folder: Path, quantity: Quantity) -> tuple[Statement, ...]:
    """Return the rows of one property in a folder's ``properties.csv``; none where it has no such file.

    Raises
    ------
    TableError
        Every fault, with file, line and column.
    """
    faults = Faults(TableError)
    path = folder / "properties.csv"
    lines = read_csv(path, FILES["properties"][0]) if path.is_file() else []
    known = {quantity.name: quantity}
    rows = [statement(Line(cells, faults), known) for cells in lines if cells["property"] == quantity.name]
    faults.check()
    return tuple(rows)


@functools.lru_cache(maxsize=64)
def sources_of(folder: Path) -> tuple[Source, ...]:
    """Return the sources in a folder's ``sources.csv``; none where it has no such file.

    Raises
    ------
    TableError
        Every fault, with file, line and column.
    """
    faults = Faults(TableError)
    path = folder / "sources.csv"
    lines = read_csv(path, FILES["sources"][0]) if path.is_file() else []
    rows = [source(Line(cells, faults)) for cells in lines]
    faults.check()
    return tuple(rows)
