"""The pieces of a table scored: tests in, probabilities and what forbids or may clear heating out."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from resinid.errors import PlugInError
from resinid.heating.evidence import clearing, forbidding
from resinid.methods._guard import kind_name
from resinid.methods.implied import implied_by
from resinid.tables.columns import Done
from resinid.tables.done_tests import DoneTest, observed, read_test, word_columns
from resinid.tables.doubt import in_doubt
from resinid.tables.grouping import Columns
from resinid.tables.kernel import unit_probability
from resinid.tables.shape import all_as_shaped

if TYPE_CHECKING:
    from collections.abc import Sequence

    import pandas as pd
    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.methods.contract import Observation
    from resinid.scoring.engine import Model
    from resinid.tables.buffers import Buffers
    from resinid.tables.columns import ColumnPlan

    Mask = NDArray[np.bool_]

__all__ = ["Scored", "score"]


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
    tests: Sequence[DoneTest]

    def observations(self, row: int) -> tuple[Observation, ...]:
        """Return what was observed of one piece, counted from 0."""
        return tuple(made for test in self.tests if (made := observed(test, row)) is not None)

    def in_doubt(self, model: Model, prior: Array, asked: Mask) -> Mask:
        """Return which of the pieces asked about may have readings that contradict each other."""
        return in_doubt(model, prior, _columns(self.tests), asked)


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
        tests: list[DoneTest] = []
        try:
            tests = _as_shaped([read_test(frame, done, errors) for done in used], len(frame))
            tests += _implied(tests, len(frame))
            unit_probability(model, prior, _columns(tests), out, buffers=buffers)
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


def _as_shaped(tests: list[DoneTest], count: int) -> list[DoneTest]:
    told = all_as_shaped([(test.observations, test.codes) for test in tests], count)
    return [replace(test, observations=made, codes=codes) for test, (made, codes) in zip(tests, told, strict=True)]


def _implied(tests: Sequence[DoneTest], count: int) -> list[DoneTest]:
    """Return what the tests imply of the pieces on which that was not done by itself, as `with_implied` of one."""
    out = []
    for made in dict.fromkeys(made for test in tests for made in implied_by(test.done.kind)):
        rows, known = np.zeros(count, dtype=bool), np.zeros(count, dtype=bool)
        for test in tests:
            rows |= _done(test) & (made in implied_by(test.done.kind))
            known |= _done(test) & (test.done.kind is type(made))
        codes = np.where(rows & ~known, 0, -1)
        out.append(DoneTest(Done(made.test, type(made), ()), codes, (made,), None, {}))
    return out


def _done(test: DoneTest) -> Mask:
    """Return on which pieces a test was done."""
    out: Mask = test.codes >= 0 if test.readings is None else ~np.isnan(test.readings.normals.centre)
    return out if test.arrays is None else out | test.arrays.done


def _measured(tests: Sequence[DoneTest], count: int, trusted: tuple[type, ...]) -> Mask:
    """Return which pieces have a test that may clear them for heating."""
    out = np.zeros(count, dtype=bool)
    for test in tests:
        if clearing(test.done.kind, trusted):
            out |= _done(test)
    return out


def _forbidden(tests: Sequence[DoneTest], count: int) -> Mask:
    """Return which pieces have an observation that forbids heating, whatever they are."""
    out = np.zeros(count, dtype=bool)
    for test in tests:
        told = np.array([bool(forbidding([observation])) for observation in test.observations])
        if told.any():
            given = test.codes >= 0
            out[given] |= told[test.codes[given]]
    return out


def _columns(tests: Sequence[DoneTest]) -> Columns:
    words = [column for test in tests if test.readings is None for column in word_columns(test)]
    readings = [test.readings for test in tests if test.readings is not None]
    return Columns(words, readings, [test.arrays for test in tests if test.arrays is not None])
