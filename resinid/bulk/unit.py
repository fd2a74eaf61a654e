"""The probabilities of many pieces at once, by the same sums as for one.

For one property, what the tests in words said (floats here, sinks there) is the same
for many pieces: such a pattern's likelihood over the nodes is computed once, and its
sums with the masses. A piece that also has a reading with a normal error is summed
over the nodes near it, in blocks (:mod:`resinid.bulk.sums`). The variants of a resin are
added up before that where possible (:mod:`resinid.bulk.merging`). So the numbers are the
one-piece engine's own, but for the order in which they are added.

What does not fit this form is left to the one-piece engine, piece by piece: two
readings of one property, a reading that shares an error with another test, readings
finer than the standing grid, and properties that depend on each other.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import partial
from itertools import combinations
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.bulk.merging import merged
from resinid.bulk.sums import Outcomes, add_near, product, sort_key
from resinid.scoring.dependence import dependent
from resinid.scoring.grid import FINEST
from resinid.scoring.integrals import log_product
from resinid.scoring.observed import axis_of

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from resinid.bulk.spare import Spare
    from resinid.scoring.engine import Model
    from resinid.scoring.latents import Latent
    from resinid.scoring.observed import Observable
    from resinid.scoring.term import Normals, Term

    Array = NDArray[np.float64]
    Codes = NDArray[np.int64]
    Mask = NDArray[np.bool_]

__all__ = ["ReadingColumn", "WordColumn", "distinct", "unit_probability"]

PATTERNS: Final = 256
"""Most combinations of outcomes held at a time, so that memory stays bounded."""

TOGETHER: Final = 512
"""Pieces normalised at a time, so that they stay in the processor's cache."""

DENSE: Final = 1 << 16
"""Keys below this are renumbered by looking them up, larger ones by sorting."""


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
class _Part:
    """Evidence from one property: rows of values, and for each piece the row that is its own."""

    values: Array
    place: Codes


def unit_probability(
    model: Model,
    prior: Array,
    words: Sequence[WordColumn],
    readings: Sequence[ReadingColumn],
    out: Array,
    *,
    spare: Spare,
) -> Mask:
    """Fill in the probabilities of some pieces.

    Parameters
    ----------
    model : Model
    prior : numpy.ndarray
        Shape (resins + 1,).
    words, readings : sequence of column
        The tests done; each column has one entry a piece.
    out : numpy.ndarray
        Filled, shape (pieces, resins + 1).
    spare : Spare

    Returns
    -------
    numpy.ndarray of bool
        Pieces whose rows are not valid and must be scored one by one, shape (pieces,).
    """
    count = len(out)
    left = np.zeros(count, dtype=bool)
    names = tuple(dict.fromkeys([*(column.observes for column in words), *(column.observes for column in readings)]))
    if not names:
        out[:] = prior / prior.sum()
        return left
    left |= _dependent(words, readings, count)
    columns = merged(model, names)
    parts: list[_Part] = []
    for name, mass in zip(names, columns.masses, strict=True):
        own_words = [column for column in words if column.observes == name]
        own_readings = [column.normals for column in readings if column.observes == name]
        for normals in own_readings:
            left |= _too_fine(name, normals)
        left |= sum((~np.isnan(normals.centre) for normals in own_readings), np.zeros(count, dtype=np.int64)) > 1
        # By the place among the properties, for what methods bring along may share a latent's name.
        held = partial(spare.matrix, f"evidence {len(parts)}")
        parts.append(_part(model.latent(name), mass, own_words, own_readings, left, held=held))
    # The last column is the sum of the others, by which they are divided.
    gathering = np.zeros((columns.owner.size, prior.size + 1))
    gathering[np.arange(columns.owner.size), columns.owner] = prior[columns.owner]
    gathering[:, -1] = prior[columns.owner]
    _normalise(parts, gathering, out)
    return left


def _normalise(parts: Sequence[_Part], gathering: Array, out: Array) -> None:
    """Multiply the properties' evidence, add up each candidate's columns, and divide by the sum of all."""
    evidence, factor = (np.empty((TOGETHER, len(gathering))) for _ in range(2))
    weighed = np.empty((TOGETHER, gathering.shape[1]))
    for begin in range(0, len(out), TOGETHER):
        rows = slice(begin, min(begin + TOGETHER, len(out)))
        size = rows.stop - begin
        whole, each, sums = evidence[:size], factor[:size], weighed[:size]
        # Clipping spares numpy a copy; no place is out of range.
        np.take(parts[0].values, parts[0].place[rows], axis=0, out=whole, mode="clip")
        for part in parts[1:]:
            np.take(part.values, part.place[rows], axis=0, out=each, mode="clip")
            whole *= each
        product(whole, gathering, sums)
        np.divide(sums[:, :-1], sums[:, -1:], out=out[rows])


def _dependent(words: Sequence[WordColumn], readings: Sequence[ReadingColumn], count: int) -> Mask:
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
        return ~np.isnan(normals.centre) & ~(width >= FINEST * axis.spacing(place))


def distinct(key: Codes, span: int) -> tuple[Codes, Codes]:
    """Renumber keys from 0 to ``span`` without gaps.

    Returns
    -------
    numpy.ndarray
        The keys that occur, ascending.
    numpy.ndarray
        For each key its index among them.
    """
    if span > DENSE:
        present, number = np.unique(key, return_inverse=True)
        return present, number.ravel()
    present = np.flatnonzero(np.bincount(key, minlength=span))
    number = np.zeros(span, dtype=np.int64)
    number[present] = np.arange(present.size)
    return present, number[key]


def _part(
    latent: Latent,
    mass: Array,
    words: Sequence[WordColumn],
    readings: Sequence[Normals],
    left: Mask,
    *,
    held: Callable[[int, int], Array],
) -> _Part:
    """Return the evidence from one property; note pieces that must be scored one by one."""
    count = left.size
    pattern, patterns = _patterns(words, count)
    for number, terms in enumerate(patterns):
        keys = {term.shared.key for term in terms if term.shared is not None}
        if any(_unresolved(term.observes, term) for term in terms):
            left |= pattern == number
        for normals in readings:
            if normals.shared is not None and normals.shared in keys:
                left |= (pattern == number) & ~np.isnan(normals.centre)
    reading = sum((~np.isnan(normals.centre) & ~left for normals in readings), np.zeros(count, dtype=bool))
    # Pieces with a reading have rows of their own, the rest that of their pattern.
    rows_of_patterns = int(np.count_nonzero(reading))
    out = held(rows_of_patterns + len(patterns), mass.shape[1])
    place = rows_of_patterns + pattern
    at = 0
    for begin in range(0, len(patterns), PATTERNS):
        log = _logs(patterns[begin : begin + PATTERNS], latent.values)
        total = out[rows_of_patterns + begin :][: len(log)]
        product(np.exp(log), mass, total)
        inside = reading & (pattern >= begin) & (pattern < begin + PATTERNS) if len(patterns) > PATTERNS else reading
        for normals in readings:
            rows = np.flatnonzero(inside & ~np.isnan(normals.centre))
            if not rows.size:
                continue
            rows = rows[np.argsort(sort_key(normals.centre[rows], normals.sd[rows]), kind="stable")]
            own = slice(at, at + rows.size)
            chosen = replace(
                normals, centre=normals.centre[rows], sd=normals.sd[rows], if_mishap=normals.if_mishap[rows]
            )
            add_near(out[own], latent.values, mass, chosen, Outcomes(log, total, pattern[rows] - begin))
            place[rows] = np.arange(own.start, own.stop)
            at = own.stop
    return _Part(out, place)


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


def _logs(patterns: Sequence[Sequence[Term]], values: Array) -> Array:
    """Return the log likelihood of each pattern relative to its greatest, shape (patterns, nodes)."""
    out = np.zeros((len(patterns), values.size))
    alone: dict[int, Array] = {}
    for row, terms in enumerate(patterns):
        keys = [term.shared.key for term in terms if term.shared is not None]
        if len(set(keys)) < len(keys):
            out[row] = log_product(terms, values)
            continue
        for term in terms:
            if id(term) not in alone:
                alone[id(term)] = log_product([term], values)
            out[row] += alone[id(term)]
    out -= out.max(axis=1, keepdims=True)
    return out


def _unresolved(name: Observable, term: Term) -> bool:
    axis = axis_of(name)
    return axis is not None and term.feature is not None and axis.too_sharp(*term.feature) is not None
