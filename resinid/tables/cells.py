"""What stands in the cells of a column: numbers, or words. What is neither is that row's fault, never the table's."""

from __future__ import annotations

import math
import re
from decimal import Decimal
from numbers import Real
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.arrays import Array

    Codes = NDArray[np.int64]

__all__ = ["numbers_in", "words_in"]

COMMA: Final = re.compile(r"\s*([-+]?[0-9]+),([0-9]+)\s*")
THOUSANDS: Final = re.compile(r"\s*[-+]?[1-9][0-9]{0,2},[0-9]{3}\s*")
"""What may as well be a whole number whose thousands a comma parts."""


def numbers_in(column: pd.Series[Any], header: str, errors: dict[int, list[str]]) -> Array:
    """Return the numbers of a column, NaN where a cell is empty; note in ``errors`` what is no number.

    Dates, truth values and complex numbers are none, though pandas would make numbers of them.

    Examples
    --------
    >>> errors = {}
    >>> numbers_in(pd.Series(["0.95", None, True, "0,95"], dtype=object), "density", errors).tolist()
    [0.95, nan, nan, nan]
    >>> errors
    {2: ['density: True is not a number'], 3: ["density: '0,95' is not a number; write a point: 0.95"]}
    """
    if column.dtype.kind in "fiu":
        if isinstance(column.dtype, np.dtype):
            return column.to_numpy(dtype=np.float64, copy=False)
        return column.to_numpy(dtype=np.float64, na_value=math.nan)
    cells = column.to_numpy(dtype=object)
    loud = np.array([isinstance(cell, Decimal) and cell.is_snan() for cell in cells], dtype=bool)
    # pandas cannot even be asked whether a signalling NaN is missing.
    given = ~pd.isna(np.where(loud, "", cells)) if loud.any() else column.notna().to_numpy(dtype=bool)
    texts = np.array([isinstance(cell, (str, bytes)) for cell in cells], dtype=bool)
    numbers = np.full(len(cells), math.nan)
    read = pd.to_numeric(pd.Series(cells[texts], dtype=object), errors="coerce")
    numbers[texts] = read.to_numpy(dtype=np.float64, na_value=math.nan)
    for row in np.flatnonzero(given & ~texts).tolist():
        numbers[row] = _number(cells[row])
    for row in np.flatnonzero(np.isnan(numbers) & given).tolist():
        errors.setdefault(row, []).append(f"{header}: {_shown(cells[row])} is not a number{_hint(cells[row])}")
    return numbers


def _number(cell: object) -> float:
    """Return the number a cell holds; NaN where it holds none, infinity where it is too large for one."""
    # numpy counts spans of time among the whole numbers.
    if isinstance(cell, (bool, np.timedelta64)) or not isinstance(cell, (Real, Decimal)):
        return math.nan
    try:
        return float(cell)
    except OverflowError:
        return -math.inf if cell < 0 else math.inf
    except Exception:  # noqa: BLE001 - because a number of somebody else's may fail in any way
        return math.nan


def _hint(cell: object) -> str:
    """Say how to write a number whose decimal point is a comma."""
    match = COMMA.fullmatch(cell) if isinstance(cell, str) else None
    if match is None or len(match[0]) > 20:
        return ""
    whole, part = match.groups()
    other = f", or {whole}{part} if the comma parts thousands" if THOUSANDS.fullmatch(match[0]) else ""
    return f"; write a point: {whole}.{part}{other}"


def words_in(column: pd.Series[Any], header: str, errors: dict[int, list[str]]) -> tuple[Codes, Any]:
    """Return for each cell the index of its word, -1 where there is none, and the words; note what is no word.

    Examples
    --------
    >>> errors = {}
    >>> codes, words = words_in(pd.Series(["floats", ["sinks"], None, "floats"]), "float.outcome", errors)
    >>> codes.tolist(), list(words)
    ([0, -1, -1, 0], ['floats'])
    >>> errors
    {1: ["float.outcome: ['sinks'] is not one word; write a single text"]}
    """
    if isinstance(column.dtype, pd.CategoricalDtype):
        return np.asarray(column.cat.codes, dtype=np.int64), column.cat.categories
    found: Any
    words: Any
    if column.dtype == object or isinstance(column.dtype, pd.ArrowDtype):
        cells = column.to_numpy(dtype=object)
        strange = np.array([not isinstance(cell, str) and not _is_word(cell) for cell in cells], dtype=bool)
        if strange.any():
            cells = cells.copy()
            for row in np.flatnonzero(strange).tolist():
                errors.setdefault(row, []).append(
                    f"{header}: {_shown(cells[row])} is not one word; write a single text"
                )
                cells[row] = None
        found, words = pd.factorize(cells)
    else:
        found, words = pd.factorize(column)
    return np.asarray(found, dtype=np.int64), words


def _is_word(cell: object) -> bool:
    """Return whether a cell can be told from others and be shown; what can is left to the test's own rules."""
    try:
        hash(cell)
        repr(cell)
    except Exception:  # noqa: BLE001 - because anything may stand in a cell, and fail in any way
        return False
    return True


def _shown(cell: object) -> str:
    try:
        return f"{cell!r:.80}"
    except Exception:  # noqa: BLE001 - because anything may stand in a cell, and fail in any way
        return f"something of type {type(cell).__name__}"
