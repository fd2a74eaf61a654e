"""From the cells of a table to what the engine takes, and back to probabilities."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final, cast

import numpy as np

from resinid.errors import InputError, PlugInError, ResinidError
from resinid.heating.evidence import clearing, forbidding
from resinid.io.reading import Reading
from resinid.methods._guard import build_observation, kind_name, normals_of, observable_of, term_of
from resinid.scoring.posterior import posterior
from resinid.tables.cells import numbers_in, words_in
from resinid.tables.columns import CellSource, Done, usable_readings
from resinid.tables.distinct import distinct
from resinid.tables.doubt import in_doubt
from resinid.tables.grouping import ReadingColumn, WordColumn
from resinid.tables.kernel import unit_probability
from resinid.tables.shape import all_as_shaped

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd
    from numpy.typing import NDArray

    from resinid.methods.contract import Observation
    from resinid.scoring.engine import Model
    from resinid.tables.buffers import Buffers
    from resinid.tables.columns import ColumnPlan

    Array = NDArray[np.float64]
    Codes = NDArray[np.int64]
    Mask = NDArray[np.bool_]

__all__ = ["Scored", "score"]

MISSING: Final = -1
FAULTY: Final = -2


@dataclass(frozen=True, slots=True)
class _Test:
    """One test done on many pieces: codes of distinct observations, or readings."""

    done: Done
    codes: Codes
    observations: tuple[Observation, ...]
    readings: ReadingColumn | None
    raw: dict[str, tuple[Array, Array]]


@dataclass(frozen=True, slots=True)
class Scored:
    """What is to be said of some pieces beside their probabilities.

    Parameters
    ----------
    errors : dict of int to str
        Why a row could not be used, by row counted from 0.
    measured : numpy.ndarray of bool
        Which pieces have a test that may clear them for heating, shape (pieces,).
    forbidden : numpy.ndarray of bool
        Which pieces have an observation that forbids heating, shape (pieces,).
    left_out : dict of str to str
        Tests whose plug-in failed, and why; they are in no piece's probabilities.
    tests : sequence
        The tests done.
    """

    errors: dict[int, str]
    measured: Mask
    forbidden: Mask
    left_out: dict[str, str]
    tests: Sequence[_Test]

    def observations(self, row: int) -> tuple[Observation, ...]:
        """Return what was observed of one piece, counted from 0."""
        return tuple(made for test in self.tests if (made := _observed(test, row)) is not None)

    def in_doubt(self, model: Model, prior: Array, asked: Mask) -> Mask:
        """Return which of the pieces asked about may have readings that contradict each other."""
        return in_doubt(model, prior, *_columns(self.tests), asked)


def score(
    frame: pd.DataFrame,
    plan: ColumnPlan,
    model: Model,
    prior: Array,
    out: Array,
    *,
    buffers: Buffers,
    trusted: tuple[type, ...] = (),
) -> Scored:
    """Score the pieces of a table.

    Parameters
    ----------
    frame : pandas.DataFrame
        Holds the columns that ``plan`` names.
    plan : ColumnPlan
    model : Model
    prior : numpy.ndarray
        Of each kind's candidate, shape (kinds,).
    out : numpy.ndarray
        Filled with the probabilities by kind, shape (pieces, kinds), "none of these"
        last; NaN in rows that could not be used.
    buffers : Buffers
    trusted : tuple of type, optional
        As for :func:`resinid.heating.evidence.clearing`.

    Returns
    -------
    Scored
    """
    left_out: dict[str, str] = {}
    forbidden = np.zeros(len(frame), dtype=bool)
    used = list(plan.tests)
    while True:
        errors: dict[int, list[str]] = {}
        tests: list[_Test] = []
        try:
            tests = _as_shaped([_test(frame, done, errors) for done in used], len(frame))
            _fill(model, prior, tests, errors, out, buffers=buffers)
            break
        except PlugInError as error:
            kept = [done for done in used if done.kind is not error.kind]
            if len(kept) == len(used):
                raise
            left_out |= {kind_name(done.kind): str(error) for done in used if done.kind is error.kind}
            # Whatever fails of a plug-in, what it found that forbids heating stands.
            forbidden |= _forbidden([test for test in tests if test.done.kind is error.kind], len(frame))
            used = kept
    out[list(errors)] = math.nan
    said = {row: "; ".join(messages) for row, messages in sorted(errors.items())}
    barred = forbidden | _forbidden(tests, len(frame))
    return Scored(said, _measured(tests, len(frame), trusted), barred, left_out, tests)


def _as_shaped(tests: list[_Test], count: int) -> list[_Test]:
    told = all_as_shaped([(test.observations, test.codes) for test in tests], count)
    return [replace(test, observations=made, codes=codes) for test, (made, codes) in zip(tests, told, strict=True)]


def _measured(tests: Sequence[_Test], count: int, trusted: tuple[type, ...]) -> Mask:
    """Return which pieces have a test that may clear them for heating."""
    out = np.zeros(count, dtype=bool)
    for test in tests:
        if clearing(test.done.kind, trusted):
            out |= test.codes >= 0 if test.readings is None else ~np.isnan(test.readings.normals.centre)
    return out


def _forbidden(tests: Sequence[_Test], count: int) -> Mask:
    """Return which pieces have an observation that forbids heating, whatever they are."""
    out = np.zeros(count, dtype=bool)
    for test in tests:
        told = np.array([bool(forbidding([observation])) for observation in test.observations])
        if told.any():
            given = test.codes >= 0
            out[given] |= told[test.codes[given]]
    return out


def _fill(
    model: Model, prior: Array, tests: Sequence[_Test], errors: dict[int, list[str]], out: Array, *, buffers: Buffers
) -> None:
    """Fill in the probabilities of all pieces that have no error."""
    words, numbers = _columns(tests)
    left = unit_probability(model, prior, words, numbers, out, buffers=buffers)
    for row in np.flatnonzero(left).tolist():
        if row not in errors:
            made = [each for test in tests if (each := _observed(test, row)) is not None]
            out[row] = posterior(prior, model.evidence([term_of(each) for each in made]).kinds)


def _columns(tests: Sequence[_Test]) -> tuple[list[WordColumn], list[ReadingColumn]]:
    words = [column for test in tests if test.readings is None for column in _word_columns(test)]
    return words, [test.readings for test in tests if test.readings is not None]


def _observed(test: _Test, row: int) -> Observation | None:
    """Return what a test observed of one piece, None where it was not done."""
    if test.readings is None:
        code = int(test.codes[row])
        return test.observations[code] if code >= 0 else None
    values = {field: Reading(float(v[row]), float(u[row])) for field, (v, u) in test.raw.items()}
    if any(math.isnan(reading.value) for reading in values.values()):
        return None
    return build_observation(test.done.kind, cast("dict[Any, object]", values))


def _word_columns(test: _Test) -> list[WordColumn]:
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


def _test(frame: pd.DataFrame, done: Done, errors: dict[int, list[str]]) -> _Test:
    many = getattr(done.kind, "many", None)
    if many is not None and len(done.fields) == 1 and done.fields[0][1].quantity is not None:
        field, source = done.fields[0]
        value, u = _numbers(frame, source, errors)
        normals = normals_of(done.kind, {field: (value, u)})
        return _Test(
            done,
            np.zeros(0, dtype=np.int64),
            (),
            ReadingColumn(observable_of(done.kind), normals),
            {field: (value, u)},
        )
    return _distinct(frame, done, errors)


def _numbers(frame: pd.DataFrame, source: CellSource, errors: dict[int, list[str]]) -> tuple[Array, Array]:
    value = numbers_in(frame[source.header], source.header, errors)
    u_header = source.u_header or source.header
    u = numbers_in(frame[u_header], u_header, errors)
    return usable_readings(source, value, u, errors)


def _distinct(frame: pd.DataFrame, done: Done, errors: dict[int, list[str]]) -> _Test:
    """Find the distinct observations of a test and which piece has which."""
    count = len(frame)
    key, span = np.zeros(count, dtype=np.int64), 1
    absent = np.ones(count, dtype=bool)
    values: dict[str, Any] = {}
    for field, source in done.fields:
        if source.quantity is not None:
            number, spread = _numbers(frame, source, errors)
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
    return _Test(done, codes, tuple(made), None, {})


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
        reading = {"value": float(number[row]), "u": float(spread[row]), "unit": source.quantity.unit}
        out[field] = {"density": reading} if field == "liquid" else reading
    return out
