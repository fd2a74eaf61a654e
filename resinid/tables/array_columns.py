"""Tests whose readings are whole columns: one object holds the readings of thousands of pieces as arrays.

A test with the class attribute ``takes_columns`` says so: its ``term()`` and its likelihood take readings that are
arrays as they take numbers, and ``possible()`` says of which pieces the readings can be together.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, cast

import numpy as np

from resinid.io.reading import Reading
from resinid.methods._guard import term_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.methods.contract import Observation
    from resinid.scoring.properties import Observable
    from resinid.scoring.term import Term

    Codes = NDArray[np.int64]
    Mask = NDArray[np.bool_]

__all__ = ["ArrayColumn", "possible"]


@dataclass(frozen=True, slots=True)
class ArrayColumn:
    """A test done on many pieces.

    Parameters
    ----------
    observes : str or property
    group : numpy.ndarray
        For each piece which of ``made`` it is like, but for its readings; -1 where the test was not done.
    made : tuple of Observation
        One for all pieces that differ in nothing but their readings: in one jug, say.
    readings : mapping of str to (numpy.ndarray, numpy.ndarray)
        Values and standard uncertainties by field, each of shape (pieces,); NaN where there is none.
    """

    observes: Observable
    group: Codes
    made: tuple[Observation, ...]
    readings: Mapping[str, tuple[Array, Array]]

    @property
    def done(self) -> Mask:
        """On which pieces it was done."""
        return self.group >= 0

    def of(self, rows: Codes) -> ArrayColumn:
        """Return the same of some pieces."""
        readings = {field: (value[rows], u[rows]) for field, (value, u) in self.readings.items()}
        return replace(self, group=self.group[rows], readings=readings)

    def row(self, row: int) -> Observation:
        """Return what was observed of one piece."""
        return with_readings(
            self.made[self.group[row]],
            {field: Reading(float(value[row]), float(u[row])) for field, (value, u) in self.readings.items()},
        )

    def rows(self, rows: Codes) -> Observation:
        """Return what was observed of some pieces of one group, readings in the first of three axes."""
        return with_readings(
            self.made[self.group[rows[0]]],
            {field: _column(value[rows], u[rows]) for field, (value, u) in self.readings.items()},
        )

    def keys(self) -> list[Array]:
        """Return numbers that are the same for pieces with the same readings."""
        out: list[Array] = [self.group.astype(np.float64)]
        for pair in self.readings.values():
            out += [np.nan_to_num(each, nan=-np.inf) for each in pair]
        return out

    def features(self) -> tuple[Array, Array]:
        """Return where each piece's likelihood is sharpest and how wide it is there; not numbers where not done."""
        centre, width = np.full((2, self.group.size), np.nan)
        for group in range(len(self.made)):
            rows = np.flatnonzero(self.group == group)
            if rows.size:
                feature = self.terms(rows).feature
                assert feature is not None, "a test that takes columns says where its likelihood is sharpest"  # noqa: S101 - so its contract says
                centre[rows], width[rows] = (np.ravel(each) for each in feature)
        return centre, width

    def terms(self, rows: Codes) -> Term:
        """Return the terms of some pieces of one group; what differs from piece to piece is in arrays."""
        return term_of(self.rows(rows))


def with_readings(made: Observation, readings: Mapping[str, Reading]) -> Observation:
    """Return an observation with other readings in the fields that have one."""
    given = {field: reading for field, reading in readings.items() if getattr(made, field) is not None}
    return cast("Observation", replace(cast("Any", made), **given))


def possible(made: Observation, readings: Mapping[str, tuple[Array, Array]], rows: Codes) -> Mask:
    """Return which pieces' readings can be together in a test like another."""
    columns = {field: _column(value[rows], u[rows]) for field, (value, u) in readings.items()}
    test: Any = with_readings(made, columns)
    with np.errstate(invalid="ignore", divide="ignore"):
        out: Mask = np.broadcast_to(np.ravel(test.possible()), rows.shape)
    return out


def _column(value: Array, u: Array) -> Reading:
    return Reading(cast("float", value[:, None, None]), cast("float", u[:, None, None]))
