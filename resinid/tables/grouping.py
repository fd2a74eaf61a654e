"""What the tests said of the pieces, property by property, in the form in which many are summed at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.scoring.dependence import dependent
from resinid.scoring.grid import FINEST
from resinid.scoring.integrals import log_product
from resinid.scoring.properties import axis_of
from resinid.tables.distinct import distinct
from resinid.tables.sums import Outcomes, product

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.scoring.engine import Model
    from resinid.scoring.grid import Axis
    from resinid.scoring.latents import Latent
    from resinid.scoring.properties import Observable
    from resinid.scoring.term import Normals, Term
    from resinid.tables.array_columns import ArrayColumn

    Codes = NDArray[np.int64]
    Mask = NDArray[np.bool_]

__all__ = [
    "PATTERNS",
    "Columns",
    "ReadingColumn",
    "Seen",
    "WordColumn",
    "on_axis",
    "outcomes_of",
    "powers_of",
    "seen",
    "too_fine",
    "unfit",
]

PATTERNS: Final = 256
"""Most combinations of outcomes held at a time, so that memory stays bounded."""


ROWS: Final = 8
"""Patterns are summed so many at a time."""


@dataclass(frozen=True, slots=True)
class WordColumn:
    """A test whose outcomes are few: for each piece the index of its term, -1 where not done."""

    observes: Observable
    codes: Codes
    terms: tuple[Term, ...]

    def of(self, rows: Codes) -> WordColumn:
        """Return the same of some pieces."""
        return replace(self, codes=self.codes[rows])


@dataclass(frozen=True, slots=True)
class ReadingColumn:
    """A test with one normal reading a piece; its centre is NaN where not done.

    ``term`` returns the same as the one-piece engine takes it, for a piece counted from 0.
    """

    observes: Observable
    normals: Normals
    term: Callable[[int], Term]

    def of(self, rows: Codes) -> ReadingColumn:
        """Return the same of some pieces."""
        return replace(self, normals=some_of(self.normals, rows), term=lambda row: self.term(int(rows[row])))


@dataclass(frozen=True, slots=True)
class Columns:
    """The tests of a table by how they are scored; each column has one entry a piece."""

    words: Sequence[WordColumn]
    readings: Sequence[ReadingColumn]
    arrays: Sequence[ArrayColumn]

    def names(self) -> tuple[Observable, ...]:
        """Return the properties observed."""
        return tuple(dict.fromkeys(observes for observes, _ in self.done()))

    def of(self, rows: Codes) -> Columns:
        """Return the same of some pieces."""
        words, readings = [word.of(rows) for word in self.words], [each.of(rows) for each in self.readings]
        return Columns(words, readings, [each.of(rows) for each in self.arrays])

    def observing(self, name: Observable) -> Columns:
        """Return those that observe one property."""
        return Columns(
            [column for column in self.words if column.observes == name],
            [column for column in self.readings if column.observes == name],
            [column for column in self.arrays if column.observes == name],
        )

    def done(self) -> list[tuple[Observable, Mask]]:
        """Return what each column observes, and of which pieces."""
        return [
            *((column.observes, column.codes >= 0) for column in self.words),
            *((column.observes, ~np.isnan(column.normals.centre)) for column in self.readings),
            *((column.observes, column.done) for column in self.arrays),
        ]


@dataclass(frozen=True, slots=True)
class Seen:
    """What one property's tests said of some pieces.

    Parameters
    ----------
    values : numpy.ndarray
        The property's nodes, shape (nodes,).
    mass : numpy.ndarray
        Shape (nodes, columns).
    readings : tuple of Normals
        Columns of readings; a piece that is not ``apart`` has a reading in one at most.
    apart : numpy.ndarray of bool
        Pieces that do not fit this form, shape (pieces,); they have no outcomes and readings here.
    pattern : numpy.ndarray
        For each piece the number of its combination of outcomes, shape (pieces,).
    patterns : list of list of Term
        The combinations.
    outcomes : Outcomes or None
        Their likelihoods; None where there are more than :data:`PATTERNS`.
    """

    values: Array
    mass: Array
    readings: tuple[Normals, ...]
    apart: Mask
    pattern: Codes
    patterns: list[list[Term]]
    outcomes: Outcomes | None

    def given(self) -> list[Mask]:
        """Return for each column of readings which pieces have one, but for those apart."""
        return [~(np.isnan(normals.centre) | self.apart) for normals in self.readings]

    def in_order(self, order: Codes) -> Seen:
        """Return the same with the pieces in another order."""
        readings = tuple(some_of(each, order) for each in self.readings)
        return replace(self, apart=self.apart[order], pattern=self.pattern[order], readings=readings)


def seen(latent: Latent, mass: Array, words: Sequence[WordColumn], readings: Sequence[Normals], apart: Mask) -> Seen:
    """Sort out what one property's tests said, but for the pieces ``apart``."""
    kept = [replace(column, codes=np.where(apart, -1, column.codes)) for column in words]
    pattern, patterns = _patterns(kept, apart.size)
    outcomes = outcomes_of(patterns, latent.values, mass) if len(patterns) <= PATTERNS else None
    return Seen(latent.values, mass, tuple(readings), apart, pattern, patterns, outcomes)


@dataclass(frozen=True, slots=True)
class Unfit:
    """Which pieces do not fit the form of :class:`Seen`: by one fine reading, one array's, and by anything else."""

    fine: Mask
    array: Mask
    other: Mask


def unfit(model: Model, name: Observable, columns: Columns, count: int) -> Unfit:
    """Return which pieces cannot be summed together with the others.

    Those with one reading finer than the grid, those with one reading of an array, and the rest: two readings, a
    word finer than the grid, or a word that shares a reading's error.
    """
    words, readings = columns.words, columns.readings
    given = [~np.isnan(column.normals.centre) for column in readings]
    by_array = [column.done for column in columns.arrays]
    array = np.any([np.zeros(count, dtype=bool), *by_array], axis=0)
    other = np.sum([np.zeros(count, dtype=np.int64), *given, *by_array], axis=0) > 1
    fine = np.zeros(count, dtype=bool)
    for column in readings:
        fine |= too_fine(name, column.normals)
    for word in words:
        sharp = [bool(model.sharp(name, [term])) for term in word.terms]
        other |= np.array([*sharp, False])[word.codes]
        for column, done in zip(readings, given, strict=True):
            shared = column.normals.shared
            same = [shared is not None and term.shared is not None and term.shared.key == shared for term in word.terms]
            other |= np.array([*same, False])[word.codes] & done
    return Unfit(fine & ~other, array & ~other, other)


def outcomes_of(patterns: Sequence[Sequence[Term]], values: Array, mass: Array) -> Outcomes:
    """Return the likelihood of each pattern at the nodes, relative to its greatest, and its sums with the masses."""
    log = np.zeros((len(patterns), values.size))
    alone: dict[int, Array] = {}
    for row, terms in enumerate(patterns):
        keys = [term.shared.key for term in terms if term.shared is not None]
        if len(set(keys)) < len(keys):
            log[row] = log_product(terms, values)
            continue
        for term in terms:
            if id(term) not in alone:
                alone[id(term)] = log_product([term], values)
            log[row] += alone[id(term)]
    log -= log.max(axis=1, keepdims=True)
    # As many rows as a multiple of :data:`ROWS`, so that a pattern's last digit does not hang on how many there are.
    rows = np.zeros((-(-len(patterns) // ROWS) * ROWS, values.size))
    rows[: len(patterns)] = np.exp(log)
    total = np.empty((len(rows), mass.shape[1]))
    product(rows, mass, total)
    return Outcomes(log, total[: len(patterns)])


def _patterns(words: Sequence[WordColumn], count: int) -> tuple[Codes, list[list[Term]]]:
    """Return the number of each piece's combination of outcomes, and the terms of each."""
    key, span = np.zeros(count, dtype=np.int64), 1
    for column in words:
        key, span = key * (len(column.terms) + 1) + (column.codes + 1), span * (len(column.terms) + 1)
        present, key = distinct(key, span)
        span = present.size
    example = np.empty(span, dtype=np.int64)
    example[key] = np.arange(count)
    return key, [[c.terms[code] for c in words if (code := int(c.codes[row])) >= 0] for row in example.tolist()]


def powers_of(columns: Columns, names: Sequence[Observable]) -> Array:
    """Return the power of the evidence from each property of each piece, shape (properties, pieces).

    As :func:`resinid.scoring.dependence.powers` has it of the properties that were observed of the piece.
    """
    done: dict[Observable, Mask] = {}
    for observes, given in columns.done():
        done[observes] = done[observes] | given if observes in done else given
    every = [[dependent(one, other) if one is not other else 0.0 for other in names] for one in names]
    given = np.array([done[name] for name in names])
    out: Array = np.where(given, 1.0 / (1.0 + np.array(every) @ given), 1.0)
    return out


def too_fine(name: Observable, normals: Normals) -> Mask:
    """Return which pieces have a reading finer than the grid."""
    axis = axis_of(name)
    if axis is None:
        return np.zeros(normals.centre.shape, dtype=bool)
    place, width = on_axis(axis, normals)
    # The spacing is widest at an end, so that mostly no piece need be looked at.
    ends = np.array([np.fmin.reduce(place, initial=np.inf), np.fmax.reduce(place, initial=-np.inf)])
    if np.fmin.reduce(width, initial=np.inf) >= FINEST * np.max(axis.spacing(ends)):
        return np.zeros(place.shape, dtype=bool)
    return (place >= axis.low) & (place <= axis.high) & ~(width >= FINEST * axis.spacing(place))


def on_axis(axis: Axis, normals: Normals) -> tuple[Array, Array]:
    """Return coordinate and width of readings on an axis, NaN where there is none."""
    if axis.logarithmic == normals.logarithmic:
        return normals.centre, normals.sd
    with np.errstate(invalid="ignore", divide="ignore"):
        return np.log(normals.centre), normals.sd / normals.centre


def some_of(normals: Normals, pieces: Codes | slice) -> Normals:
    """Return the readings of some pieces."""
    centre, sd, outlier_likelihood = normals.centre[pieces], normals.sd[pieces], normals.outlier_likelihood[pieces]
    return replace(normals, centre=centre, sd=sd, outlier_likelihood=outlier_likelihood)
