"""What the tests said of the pieces, property by property, in the form in which many are summed at once."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.scoring.dependence import dependent
from resinid.scoring.grid import FINEST
from resinid.scoring.integrals import log_product
from resinid.scoring.properties import axis_of
from resinid.tables.distinct import distinct
from resinid.tables.sums import Outcomes, product

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.scoring.latents import Latent
    from resinid.scoring.properties import Observable
    from resinid.scoring.term import Normals, Term

    Codes = NDArray[np.int64]
    Mask = NDArray[np.bool_]

__all__ = ["PATTERNS", "ReadingColumn", "Seen", "WordColumn", "depending", "outcomes_of", "seen"]

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


@dataclass(frozen=True, slots=True)
class ReadingColumn:
    """A test with one normal reading a piece; its centre is NaN where not done."""

    observes: Observable
    normals: Normals


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
        Columns of readings; no piece that is not to be scored alone has two.
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
    pattern: Codes
    patterns: list[list[Term]]
    outcomes: Outcomes | None

    def given(self, left: Mask) -> list[Mask]:
        """Return for each column of readings which pieces have one, but for those ``left`` to be scored one by one."""
        return [~(np.isnan(normals.centre) | left) for normals in self.readings]

    def in_order(self, order: Codes) -> Seen:
        """Return the same with the pieces in another order."""
        readings = tuple(
            replace(
                each, centre=each.centre[order], sd=each.sd[order], outlier_likelihood=each.outlier_likelihood[order]
            )
            for each in self.readings
        )
        return replace(self, pattern=self.pattern[order], readings=readings)


def seen(
    name: Observable,
    latent: Latent,
    mass: Array,
    *,
    words: Sequence[WordColumn],
    readings: Sequence[Normals],
    left: Mask,
) -> Seen:
    """Sort out what one property's tests said; note in ``left`` which pieces must be scored one by one."""
    for normals in readings:
        left |= _too_fine(name, normals)
    left |= sum((~np.isnan(normals.centre) for normals in readings), np.zeros(left.shape, dtype=np.int64)) > 1
    pattern, patterns = _patterns(words, left.size)
    for number, terms in enumerate(patterns):
        keys = {term.shared.key for term in terms if term.shared is not None}
        if any(_unresolved(term.observes, term) for term in terms):
            left |= pattern == number
        for normals in readings:
            if normals.shared is not None and normals.shared in keys:
                left |= (pattern == number) & ~np.isnan(normals.centre)
    outcomes = outcomes_of(patterns, latent.values, mass) if len(patterns) <= PATTERNS else None
    return Seen(latent.values, mass, tuple(readings), pattern, patterns, outcomes)


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


def _unresolved(name: Observable, term: Term) -> bool:
    axis = axis_of(name)
    return axis is not None and term.feature is not None and axis.too_sharp(*term.feature) is not None


def depending(words: Sequence[WordColumn], readings: Sequence[ReadingColumn], count: int) -> Mask:
    """Return which pieces have two properties that are not independent, so that each counts for less."""
    done: dict[Observable, Mask] = {}
    for word in words:
        done[word.observes] = done.get(word.observes, np.zeros(count, dtype=bool)) | (word.codes >= 0)
    for reading in readings:
        given = ~np.isnan(reading.normals.centre)
        done[reading.observes] = done.get(reading.observes, np.zeros(count, dtype=bool)) | given
    out = np.zeros(count, dtype=bool)
    for one, other in combinations(done, 2):
        if dependent(one, other):
            out |= done[one] & done[other]
    return out


def _too_fine(name: Observable, normals: Normals) -> Mask:
    """Return which pieces have a reading finer than the grid."""
    axis = axis_of(name)
    if axis is None:
        return np.zeros(normals.centre.shape, dtype=bool)
    plain = axis.logarithmic and not normals.logarithmic
    with np.errstate(invalid="ignore", divide="ignore"):
        place = np.log(normals.centre) if plain else normals.centre
        width = normals.sd / normals.centre if plain else normals.sd
        # The spacing is widest at an end, so that mostly no piece need be looked at.
        ends = np.array([np.fmin.reduce(place, initial=np.inf), np.fmax.reduce(place, initial=-np.inf)])
        if np.fmin.reduce(width, initial=np.inf) >= FINEST * np.max(axis.spacing(ends)):
            return np.zeros(place.shape, dtype=bool)
        return ~np.isnan(normals.centre) & ~(width >= FINEST * axis.spacing(place))
