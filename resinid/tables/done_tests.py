"""One test of a table: its cells as the distinct observations, and which piece has which."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, cast

import numpy as np

from resinid.errors import InputError, PlugInError, ResinidError
from resinid.io.fields import required_fields
from resinid.io.reading import Reading
from resinid.methods._guard import build_observation, normals_of, observable_of, term_of
from resinid.methods.registry import is_built_in
from resinid.tables.array_columns import ArrayColumn, possible
from resinid.tables.cells import words_in
from resinid.tables.distinct import distinct
from resinid.tables.grouping import ReadingColumn, WordColumn

if TYPE_CHECKING:
    import pandas as pd
    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.methods.contract import Observation
    from resinid.scoring.term import Term
    from resinid.tables.columns import CellSource, Done

    Codes = NDArray[np.int64]

__all__ = ["DoneTest", "observed", "read_test", "word_columns"]

MISSING: Final = -1
FAULTY: Final = -2

TRIED: Final = 8
"""So many pieces are tried for readings that can be together; where none has any, all are read one by one."""


@dataclass(frozen=True, slots=True)
class DoneTest:
    """One test done on many pieces: codes of distinct observations, or readings."""

    done: Done
    codes: Codes
    observations: tuple[Observation, ...]
    readings: ReadingColumn | None
    raw: dict[str, tuple[Array, Array]]
    arrays: ArrayColumn | None = None


def read_test(frame: pd.DataFrame, done: Done, errors: dict[int, list[str]]) -> DoneTest:
    """Return a test of the pieces of a table; what is wrong with a row is added to ``errors``."""
    many = getattr(done.kind, "many", None)
    if many is not None and len(done.fields) == 1 and done.fields[0][1].quantity is not None:
        field, source = done.fields[0]
        value, u = _numbers(frame, source)
        normals = normals_of(done.kind, {field: (value, u)})

        def term(row: int) -> Term:
            return term_of(_built(done.kind, {field: Reading(float(value[row]), float(u[row]))}))

        column = ReadingColumn(observable_of(done.kind), normals, term)
        return DoneTest(done, np.zeros(0, dtype=np.int64), (), column, {field: (value, u)})
    if getattr(done.kind, "takes_columns", False) and is_built_in(done.kind):
        return _by_columns(frame, done, errors)
    return _distinct(frame, done, errors)


def observed(test: DoneTest, row: int) -> Observation | None:
    """Return what a test observed of one piece, None where it was not done."""
    if test.readings is None:
        code = int(test.codes[row])
        if test.arrays is not None and test.arrays.done[row]:
            return test.arrays.row(row)
        return test.observations[code] if code >= 0 else None
    values = {field: Reading(float(v[row]), float(u[row])) for field, (v, u) in test.raw.items()}
    if any(math.isnan(reading.value) for reading in values.values()):
        return None
    return _built(test.done.kind, values)


def _built(kind: type[Observation], values: dict[str, Reading]) -> Observation:
    return build_observation(kind, cast("dict[Any, object]", values))


def word_columns(test: DoneTest) -> list[WordColumn]:
    """Return a test's distinct observations by what they observe (one property, for all built-in tests)."""
    if not test.observations:
        return []
    terms = tuple(term_of(observation) for observation in test.observations)
    codes = np.where(test.codes < 0, MISSING, test.codes)
    out: list[WordColumn] = []
    for name in dict.fromkeys(term.observes for term in terms):
        places = [index for index, term in enumerate(terms) if term.observes == name]
        renumber = np.full(len(terms) + 1, MISSING, dtype=np.int64)
        renumber[places] = np.arange(len(places))
        out.append(WordColumn(name, renumber[codes], tuple(terms[index] for index in places)))
    return out


def _numbers(frame: pd.DataFrame, source: CellSource) -> tuple[Array, Array]:
    """Return readings and their uncertainties in canonical units, as :mod:`resinid.tables.readings` left them."""
    return frame[source.header].to_numpy(dtype=np.float64), frame[source.u_header].to_numpy(dtype=np.float64)


def _by_columns(frame: pd.DataFrame, done: Done, errors: dict[int, list[str]]) -> DoneTest:
    """Read a test whose readings are taken as arrays; pieces whose readings cannot be are read one by one."""
    count = len(frame)
    readings: dict[str, tuple[Array, Array]] = {}
    key, span = np.zeros(count, dtype=np.int64), 1
    complete = np.ones(count, dtype=bool)
    noted: dict[int, list[str]] = {}
    for field, source in done.fields:
        if source.quantity is None:
            code, _ = words_in(frame[source.header], source.header, noted)
        elif field == "liquid":
            return _distinct(frame, done, errors)
        else:
            readings[field] = _numbers(frame, source)
            code = np.where(np.isnan(readings[field][0]), MISSING, 0)
        if field in required_fields(done.kind):
            complete &= code >= 0
        radix = int(code.max(initial=MISSING)) + 2
        present, key = distinct(key * radix + (code + 1), span * radix)
        span = present.size
    complete[list(noted)] = False
    group = np.full(count, MISSING)
    made: list[Observation] = []
    for number in np.unique(key[complete]).tolist():
        rows = np.flatnonzero(complete & (key == number))
        like = _first_made(frame, done, rows)
        if like is not None:
            good = possible(like, readings, rows)
            group[rows[good]] = len(made)
            made.append(like)
    rest = np.flatnonzero(group < 0)
    told: dict[int, list[str]] = {}
    apart = _distinct(frame.iloc[rest], done, told)
    for row, messages in told.items():
        errors.setdefault(int(rest[row]), []).extend(messages)
    codes = np.full(count, MISSING)
    codes[rest] = apart.codes
    arrays = ArrayColumn(observable_of(done.kind), group, tuple(made), readings) if made else None
    return DoneTest(done, codes, apart.observations, None, {}, arrays)


def _first_made(frame: pd.DataFrame, done: Done, rows: Codes) -> Observation | None:
    """Return what was observed of the first of some pieces of which that can be."""
    for row in rows[:TRIED].tolist():
        found = _distinct(frame.iloc[[row]], done, {})
        if found.observations:
            return found.observations[0]
    return None


def _distinct(frame: pd.DataFrame, done: Done, errors: dict[int, list[str]]) -> DoneTest:
    """Find the distinct observations of a test and which piece has which."""
    count = len(frame)
    key, span = np.zeros(count, dtype=np.int64), 1
    absent = np.ones(count, dtype=bool)
    values: dict[str, Any] = {}
    for field, source in done.fields:
        if source.quantity is not None:
            number, spread = _numbers(frame, source)
            pairs = np.column_stack([number, spread])
            missing = np.isnan(number)
            _, code = np.unique(
                np.where(missing[:, None], math.nan, pairs), axis=0, return_inverse=True, equal_nan=True
            )
            values[field] = (number, spread)
        else:
            code, words = words_in(frame[source.header], source.header, errors)
            missing = code < 0
            values[field] = words, code
        # A jug that stands ready is no reading: a test with nothing but a liquid was not done.
        if field != "liquid":
            absent &= missing
        if code.size and code.min() == code.max():
            # The same for all, as a jug often is: it tells no observations apart.
            continue
        radix = int(code.max(initial=-1)) + 2
        present, key = distinct(key * radix + (code.ravel() + 1), span * radix)
        span = present.size
    first = np.empty(span, dtype=np.int64)
    first[key] = np.arange(count)
    made: list[Observation] = []
    place = np.full(span, FAULTY, dtype=np.int64)
    why: dict[int, str] = {}
    for index, row in enumerate(first):
        entries = _entries(done, values, int(row))
        if not entries or absent[row]:
            place[index] = MISSING
            continue
        found = _made(done, entries)
        if isinstance(found, str):
            why[index] = found
        else:
            made.append(found)
            place[index] = len(made) - 1
    codes = place[key]
    for row in np.flatnonzero(codes == FAULTY):
        if int(row) not in errors:
            errors.setdefault(int(row), []).append(why[int(key[row])])
    return DoneTest(done, codes, tuple(made), None, {})


def _made(done: Done, entries: dict[Any, object]) -> Observation | str:
    """Return an observation, or why what was written is none; a plug-in that fails at it is left out."""
    try:
        return build_observation(done.kind, entries)
    except PlugInError:
        raise
    except ResinidError as error:
        return _reason(done, error)


def _reason(done: Done, error: ResinidError) -> str:
    if isinstance(error, InputError):
        return "; ".join(
            f"{done.label}.{fault.place}: {fault.message}" if fault.place else f"{done.label}: {fault.message}"
            for fault in error.faults
        )
    return f"{done.label}: {error}"


def _entries(done: Done, values: dict[str, Any], row: int) -> dict[Any, object]:
    out: dict[Any, object] = {}
    for field, source in done.fields:
        if source.quantity is None:
            words, code = values[field]
            if code[row] >= 0:
                word = words[code[row]]
                # A column that is all numbers or all true and false holds numpy's, which no rule knows.
                out[field] = word.item() if isinstance(word, np.generic) else word
            continue
        number, spread = values[field]
        if math.isnan(number[row]):
            continue
        value, u = float(number[row]), float(spread[row])
        if field == "liquid":
            out[field] = {"density": {"value": value, "u": u, "unit": source.quantity.unit}}
        else:
            out[field] = Reading(value, u)
    return out
