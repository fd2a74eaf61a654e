"""What stands in the cells of a column: numbers, or words. What is neither is that row's fault, never the table's."""

from __future__ import annotations

import math
from decimal import Decimal
from numbers import Real
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.arrays import Array

    Codes = NDArray[np.int64]
    Mask = NDArray[np.bool_]
    Texts = NDArray[np.object_]

__all__ = ["MISSING", "parted", "words_in"]

MISSING: Final = frozenset({
    "", "#N/A", "#N/A N/A", "#NA", "-1.#IND", "-1.#QNAN", "-NaN", "-nan", "1.#IND", "1.#QNAN",
    "<NA>", "N/A", "NA", "NULL", "NaN", "None", "n/a", "nan", "null",
})  # fmt: skip
"""Cells that pandas reads as empty where it is not told otherwise, as its manual lists them."""


def parted(column: pd.Series[Any], header: str, errors: dict[int, list[str]]) -> tuple[Array, Mask, Texts]:
    """Return the numbers of a column, NaN elsewhere; where texts stand; and the texts. Note what is neither.

    Dates, truth values and complex numbers are none, though pandas would make numbers of them.

    Examples
    --------
    >>> errors = {}
    >>> numbers, written, texts = parted(pd.Series([0.95, None, True, "0.95", " "], dtype=object), "density", errors)
    >>> numbers.tolist(), written.tolist(), texts.tolist()
    ([0.95, nan, nan, nan, nan], [False, False, False, True, False], ['0.95'])
    >>> errors
    {2: ['density: True is not a number']}
    """
    count = len(column)
    if column.dtype.kind in "fiu":
        plain = isinstance(column.dtype, np.dtype)
        numbers = column.to_numpy(dtype=np.float64) if plain else column.to_numpy(dtype=np.float64, na_value=math.nan)
        return numbers, np.zeros(count, dtype=bool), np.zeros(0, dtype=object)
    cells = column.to_numpy(dtype=object)
    loud = np.array([isinstance(cell, Decimal) and cell.is_snan() for cell in cells], dtype=bool)
    # pandas cannot even be asked whether a signalling NaN is missing.
    given = ~pd.isna(np.where(loud, "", cells)) if loud.any() else column.notna().to_numpy(dtype=bool)
    texts = np.array([_as_text(cell) for cell in cells], dtype=object)
    written = np.array([text is not None and text not in MISSING for text in texts], dtype=bool)
    numbers = np.full(count, math.nan)
    no_text = np.array([text is None for text in texts], dtype=bool)
    for row in np.flatnonzero(given & no_text).tolist():
        numbers[row] = _number(cells[row])
        if math.isnan(numbers[row]):
            errors.setdefault(row, []).append(f"{header}: {_shown(cells[row])} is not a number")
    return numbers, written, texts[written]


def _as_text(cell: object) -> str | None:
    if isinstance(cell, bytes):
        return cell.decode("utf-8", errors="replace").strip()
    return cell.strip() if isinstance(cell, str) else None


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
    codes = np.asarray(found, dtype=np.int64)
    blank = [code for code, word in enumerate(words) if isinstance(word, str) and not word.strip()]
    if blank:
        codes[np.isin(codes, blank)] = -1
    return codes, words


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
