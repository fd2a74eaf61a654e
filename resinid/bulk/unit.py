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
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.bulk.adding import Part, Placed, normalise, shares
from resinid.bulk.distinct import distinct
from resinid.bulk.merging import merged
from resinid.bulk.seen import PATTERNS, Seen, depending, outcomes_of, seen
from resinid.bulk.sums import BLOCK, Near, Outcomes, in_order, near

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from numpy.typing import NDArray

    from resinid.bulk.seen import ReadingColumn, WordColumn
    from resinid.bulk.spare import Spare
    from resinid.scoring.engine import Model

    Array = NDArray[np.float64]
    Codes = NDArray[np.int64]
    Mask = NDArray[np.bool_]

__all__ = ["unit_probability"]

CHUNK: Final = 12 * BLOCK
"""Pieces scored at a time: fewer stay nearer to the processor, more let two threads wait less for each other."""

COARSE: Final = 1
FINE: Final = 2
"""Bands to a factor of two for pieces of a chunk, and for all when sorted by one property."""


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
    left |= depending(words, readings, count)
    columns = merged(model, names)
    observed: list[Seen] = []
    for name, mass in zip(names, columns.masses, strict=True):
        own_words = [column for column in words if column.observes == name]
        own_readings = [column.normals for column in readings if column.observes == name]
        observed.append(seen(name, model.latent(name), mass, words=own_words, readings=own_readings, left=left))
    adding = shares(columns.owner, prior)
    order, lead = _order(observed, left)
    alone, observed = left[order], [each.in_order(order) for each in observed]
    first = _first(observed.pop(lead), alone) if lead is not None else None
    for begin in range(0, count, CHUNK):
        rows = slice(begin, begin + CHUNK)
        # By the place among the properties, for what methods bring along may share a latent's name.
        parts: list[Part] = [
            _placed(each, rows, alone[rows], held=partial(spare.matrix, f"evidence {place}"))
            for place, each in enumerate(observed)
        ]
        if first is not None:
            parts.insert(0, replace(first, begin=begin))
        normalise(parts, columns.masses[0].shape[1], adding, order[rows], out)
    return left


def _order(observed: Sequence[Seen], left: Mask) -> tuple[Codes, int | None]:
    """Return an order of all pieces that suits the property with most nodes, and which that is, if any."""
    some = [place for place, each in enumerate(observed) if len(each.readings) == 1 and each.outcomes is not None]
    lead = max(some, key=lambda place: len(observed[place].values), default=None)
    if lead is not None:
        normals = observed[lead].readings[0]
        given = ~(np.isnan(normals.centre) | left)
        read = np.flatnonzero(given)
        if read.size:
            order = in_order(normals.centre[read], normals.sd[read], FINE)
            return np.concatenate([read[order], np.flatnonzero(~given)]), lead
    return np.arange(left.size), None


@dataclass(frozen=True, slots=True)
class _First:
    """Evidence from the property by which all pieces are in order; the first of them have a reading.

    It is summed when asked for, and so never leaves the processor. Pieces are counted from ``begin`` on.
    """

    near: Near
    pattern: Codes
    outcomes: Outcomes
    begin: int

    def taken(self, rows: slice, out: Array) -> Array:
        """Return the rows of some pieces."""
        first, last = rows.start + self.begin, rows.stop + self.begin
        read = min(max(len(self.near.pattern) - first, 0), last - first)
        if read:
            self.near.fill(out[:read], first, first + read)
        np.take(self.outcomes.total, self.pattern[first + read : last], axis=0, out=out[read:], mode="clip")
        return out


def _first(own: Seen, left: Mask) -> _First:
    outcomes = own.outcomes or outcomes_of(own.patterns, own.values, own.mass)
    normals = own.readings[0]
    read = int(np.count_nonzero(~(np.isnan(normals.centre) | left)))
    centre, sd, if_mishap = (each[:read] for each in (normals.centre, normals.sd, normals.if_mishap))
    chosen = replace(normals, centre=centre, sd=sd, if_mishap=if_mishap)
    blocks = near(own.values, own.mass, chosen, outcomes, pattern=own.pattern[:read], fine=FINE)
    return _First(blocks, own.pattern, outcomes, 0)


def _placed(own: Seen, rows: slice, left: Mask, *, held: Callable[[int, int], Array]) -> Placed:
    """Return the evidence that some of the pieces have from one property."""
    pattern, patterns = own.pattern[rows], own.patterns
    if own.outcomes is None:
        present, pattern = distinct(pattern, len(patterns))
        patterns = [patterns[number] for number in present]
    given = [~(np.isnan(normals.centre[rows]) | left) for normals in own.readings]
    # Pieces with a reading have rows of their own, the rest that of their pattern.
    count = sum(int(np.count_nonzero(each)) for each in given)
    out = held(count + len(patterns), own.mass.shape[1])
    place = count + pattern
    at = 0
    for begin in range(0, len(patterns), PATTERNS):
        outcomes = own.outcomes or outcomes_of(patterns[begin : begin + PATTERNS], own.values, own.mass)
        out[count + begin :][: len(outcomes.log)] = outcomes.total
        for inside, normals in zip(given, own.readings, strict=True):
            here = inside
            if len(patterns) > PATTERNS:
                here = inside & (pattern >= begin) & (pattern < begin + PATTERNS)
            some = np.flatnonzero(here)
            if not some.size:
                continue
            some = some[in_order(normals.centre[rows][some], normals.sd[rows][some], COARSE)]
            centre, sd, if_mishap = (each[rows][some] for each in (normals.centre, normals.sd, normals.if_mishap))
            chosen = replace(normals, centre=centre, sd=sd, if_mishap=if_mishap)
            blocks = near(own.values, own.mass, chosen, outcomes, pattern=pattern[some] - begin, fine=COARSE)
            blocks.fill(out[at : at + some.size], 0, some.size)
            place[some] = np.arange(at, at + some.size)
            at += some.size
    return Placed(out, place)
