"""The cells of a table made ready for scoring: readings and their uncertainties in canonical units.

The uncertainty of a reading is the one written in its cell, else that in the column of uncertainties, else what the
last digit of a text says (as for one piece); of a number it is the usual one of its quantity, and that is told.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from resinid.errors import Faults, InputError
from resinid.quantities import QUANTITIES
from resinid.tables.cells import parted
from resinid.tables.columns import CellSource, ColumnPlan
from resinid.tables.written import cell_of, pointed, spread_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from resinid.arrays import Array

    Mask = NDArray[np.bool_]
    Errors = dict[int, list[str]]

__all__ = ["Tidied", "check_units", "tidied"]


@dataclass(frozen=True, slots=True)
class Tidied:
    """A table of which each reading is a column of floats in its canonical unit, with one of uncertainties.

    Parameters
    ----------
    frame : pandas.DataFrame
    plan : ColumnPlan
        Names the columns of ``frame``.
    errors : dict of int to list of str
        What is wrong with a row, by row counted from 0.
    notes : tuple of str
        What was taken for granted.
    """

    frame: pd.DataFrame
    plan: ColumnPlan
    errors: Errors
    notes: tuple[str, ...]


def tidied(frame: pd.DataFrame, plan: ColumnPlan, decimal: str = ".") -> Tidied:
    """Read the cells of a table.

    Parameters
    ----------
    frame : pandas.DataFrame
    plan : ColumnPlan
        Of its headers.
    decimal : str, optional
        What stands before the decimals in cells that are texts.

    Examples
    --------
    >>> from resinid.tables.columns import plan_columns
    >>> frame = pd.DataFrame({"density [kg/m3]": ["957(3)", "950 ± 1 %", None]})
    >>> tidied(frame, plan_columns(frame)).frame.round(4).to_numpy().tolist()
    [[0.957, 0.003], [0.95, 0.0095], [nan, nan]]
    """
    errors: Errors = {}
    notes: dict[str, None] = {}
    columns: dict[str, Any] = {}
    tests = []
    for done in plan.tests:
        fields = []
        for field, source in done.fields:
            own = source
            if source.quantity is None:
                words = frame[source.header]
                columns[source.header] = words if decimal == "." or field != "liquid" else _pointed(words, decimal)
            else:
                own = CellSource(source.header, source.quantity, u_header=f"{source.header} (uncertainty)")
                value, u, note = _readings(frame, source, decimal, errors)
                columns[own.header], columns[str(own.u_header)] = value, u
                if note:
                    notes[note] = None
            fields.append((field, own))
        tests.append(replace(done, fields=tuple(fields)))
    made = pd.DataFrame(columns, index=frame.index, copy=False)
    return Tidied(made, ColumnPlan(tuple(tests), plan.foreign), errors, tuple(notes))


def check_units(frame: pd.DataFrame, plan: ColumnPlan) -> None:
    """Refuse a column of bare numbers whose header names no unit, all such together.

    Examples
    --------
    >>> from resinid.tables.columns import plan_columns
    >>> frame = pd.DataFrame({"density": [0.957]})
    >>> check_units(frame, plan_columns(frame))
    Traceback (most recent call last):
        ...
    resinid.errors.InputError: density: names no unit; write it in brackets, for example 'density [g/cm3]'
    """
    faults = Faults()
    for done in plan.tests:
        for _, source in done.fields:
            if source.quantity is None or source.unit is not None:
                continue
            numbers, _, texts = parted(frame[source.header], source.header, {})
            if not any(any(sign.isalpha() or sign in "%°" for sign in text) for text in texts):
                if np.isnan(numbers).all() and not texts.size:
                    continue
                example = f"{source.header.strip()} [{source.quantity.label}]"
                faults.add(source.header, f"names no unit; write it in brackets, for example {example!r}")
    faults.check()


def _pointed(words: pd.Series[Any], decimal: str) -> pd.Series[Any]:
    return words.map(lambda word: pointed(word, decimal) if isinstance(word, str) else word)


def _readings(frame: pd.DataFrame, source: CellSource, decimal: str, errors: Errors) -> tuple[Array, Array, str]:
    """Return values and uncertainties of one reading, and what was taken for granted."""
    quantity = source.quantity or QUANTITIES["density"]
    header = source.header
    numbers, written, texts = parted(frame[header], header, errors)
    bare = ~np.isnan(numbers)
    spread, share, told = _spreads(frame, source, decimal, errors, given=bare | written)
    if source.unit is None:
        for row in np.flatnonzero(bare).tolist():
            why = f"{numbers[row]:g} has no unit; write it here or in the header, for example '{quantity.example}'"
            errors.setdefault(row, []).append(f"{header}: {why}")
        numbers[bare] = math.nan
        bare[:] = False
    value = numbers * source.scale + source.offset
    own, digit = np.full(value.size, math.nan), np.full(value.size, math.nan)
    rows = np.flatnonzero(written)
    if rows.size:
        # A plain number whose uncertainty stands beside it needs no look at its digits.
        read = pd.to_numeric(pd.Series(texts, dtype=object), errors="coerce").to_numpy(
            dtype=np.float64, na_value=math.nan
        )
        quick = ~np.isnan(read) & told[rows] & (source.unit is not None)
        value[rows[quick]] = read[quick] * source.scale + source.offset
        codes, distinct = pd.factorize(texts[~quick])
        found = np.full((len(distinct), 3), math.nan)
        faults: dict[int, str] = {}
        for code, text in enumerate(distinct):
            try:
                found[code] = cell_of(pointed(text, decimal), source)
            except InputError as error:
                faults[code] = error.faults[0].message
        slow = rows[~quick]
        value[slow], own[slow], digit[slow] = found[codes].T
        _note(errors, header, slow, codes, faults)
    _out_of_range(source, value, errors)
    u = np.where(share, np.abs(value - source.offset) * spread, spread)
    u = np.where(np.isnan(own), np.where(np.isnan(u), digit, u), own)
    given = ~np.isnan(value)
    note = ""
    lacking = given & np.isnan(u) & ~told
    lacking[list(errors)] = False
    if lacking.any():
        if quantity.usual:
            u[lacking] = np.maximum(quantity.usual_u, quantity.usual_share * np.abs(value[lacking]))
            note = f"{header}: numbers without an uncertainty are taken as good to {quantity.usual}"
        else:
            example = f"{header.split('[', maxsplit=1)[0].strip()}_u"
            for row in np.flatnonzero(lacking).tolist():
                errors.setdefault(row, []).append(
                    f"{header}: has no uncertainty; add a column {example!r} with its unit"
                )
    value[np.isnan(u)] = math.nan
    u[np.isnan(value)] = math.nan
    return value, u, note


def _spreads(
    frame: pd.DataFrame, source: CellSource, decimal: str, errors: Errors, *, given: Mask
) -> tuple[Array, Mask, Mask]:
    """Return the column of uncertainties, which of them are shares of the reading, and in which cells one stands."""
    count = len(frame)
    if source.u_header is None:
        return np.full(count, math.nan), np.zeros(count, dtype=bool), np.zeros(count, dtype=bool)
    numbers, written, texts = parted(frame[source.u_header], source.u_header, errors)
    spread, share = numbers * source.u_scale, np.full(count, source.share)
    codes, distinct = pd.factorize(texts)
    found, shares = np.full(len(distinct), math.nan), np.zeros(len(distinct), dtype=bool)
    faults: dict[int, str] = {}
    for code, text in enumerate(distinct):
        try:
            found[code], shares[code] = spread_of(pointed(text, decimal), source)
        except InputError as error:
            faults[code] = error.faults[0].message
    rows = np.flatnonzero(written)
    spread[rows], share[rows] = found[codes], shares[codes]
    _note(errors, source.u_header, rows, codes, faults)
    told = written | ~np.isnan(spread)
    for row in np.flatnonzero(~np.isnan(spread) & ~((spread >= 0) & np.isfinite(spread))).tolist():
        if given[row]:
            why = f"{spread[row] / source.u_scale:g} is no uncertainty; give a number of at least zero"
            errors.setdefault(row, []).append(f"{source.u_header}: {why}")
        spread[row] = math.nan
    return spread, share, told


def _note(errors: Errors, header: str, rows: Any, codes: Any, faults: Mapping[int, str]) -> None:  # noqa: ANN401 - arrays
    for code, why in faults.items():
        for row in rows[codes == code].tolist():
            errors.setdefault(row, []).append(f"{header}: {why}")


def _out_of_range(source: CellSource, value: Array, errors: Errors) -> None:
    """Note what cannot be, in the column's own unit, and take it out."""
    quantity = source.quantity or QUANTITIES["density"]
    low, high = ((end - source.offset) / source.scale for end in (quantity.low, quantity.high))
    wrong = (value < quantity.low) | (value > quantity.high)
    for row in np.flatnonzero(wrong).tolist():
        shown = (value[row] - source.offset) / source.scale
        why = f"{shown:g} is impossible; expected {low:g} to {high:g} in the column's unit"
        errors.setdefault(row, []).append(f"{source.header}: {why}")
    value[wrong] = math.nan
