"""What one property says of the pieces of a unit, chunk by chunk.

All pieces of a unit are sorted by the reading of one property, the leading one; its
evidence is summed when asked for. The evidence of the others is summed for a chunk of
pieces in the order of their own readings, and looked up from there.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.tables.distinct import distinct
from resinid.tables.grouping import PATTERNS, outcomes_of, some_of
from resinid.tables.normalise import Placed
from resinid.tables.sums import BLOCK, in_order, near

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.tables.grouping import Seen
    from resinid.tables.normalise import EvidencePart
    from resinid.tables.sums import Near, Outcomes

    Codes = NDArray[np.int64]
    Mask = NDArray[np.bool_]
    Held = Callable[[int, int], Array]

__all__ = ["Leading", "Patched", "Sorted", "Unsorted", "chunks", "in_lead", "leading", "other"]

CHUNK: Final = 12 * BLOCK
"""Pieces scored at a time: fewer stay nearer to the processor, more let two threads wait less for each other."""

COARSE: Final = 1
FINE: Final = 2
"""Bands to a factor of two for pieces of a chunk, and for all when sorted by one property."""


@dataclass(frozen=True, slots=True)
class Leading:
    """Evidence from the property by which all pieces are in order; the first of them have a reading.

    It is summed when asked for, and so never leaves the processor. Pieces are counted from
    ``begin`` on, and asked for from block to block (:func:`resinid.tables.sums.near`).
    """

    near: Near
    pattern: Codes
    outcomes: Outcomes
    begin: int = 0

    def of(self, rows: slice) -> EvidencePart:
        """Return the evidence of some pieces."""
        return replace(self, begin=rows.start)

    def taken(self, rows: slice, out: Array) -> Array:
        """Return the rows of some of those pieces."""
        first, last = rows.start + self.begin, rows.stop + self.begin
        read = min(max(len(self.near.pattern) - first, 0), last - first)
        if read:
            self.near.fill(out[:read], first, first + read)
        np.take(self.outcomes.total, self.pattern[first + read : last], axis=0, out=out[read:], mode="clip")
        return out


@dataclass(frozen=True, slots=True)
class Sorted:
    """Evidence from another property with one column of readings and few combinations of outcomes.

    Parameters
    ----------
    near : Near
        Of the pieces that have a reading, by chunk and then by the reading.
    pieces : numpy.ndarray
        Which they are, shape (pieces with a reading,).
    bounds : list of int
        How many of them come before each chunk, and how many are in all.
    pattern : numpy.ndarray
        Shape (pieces,).
    outcomes : Outcomes
    held : callable
        Gives memory.
    """

    near: Near
    pieces: Codes
    bounds: list[int]
    pattern: Codes
    outcomes: Outcomes
    held: Held

    def of(self, rows: slice) -> EvidencePart:
        """Return the evidence of the pieces of one chunk."""
        chunk = rows.start // CHUNK
        begin, end = self.bounds[chunk : chunk + 2]
        count, total = end - begin, self.outcomes.total
        # Pieces with a reading have rows of their own, the rest that of their pattern.
        out = self.held(count + len(total), total.shape[1])
        out[count:] = total
        place = count + self.pattern[rows]
        if count:
            self.near.fill(out[:count], begin, end)
            place[self.pieces[begin:end] - rows.start] = np.arange(count)
        return Placed(out, place)


@dataclass(frozen=True, slots=True)
class Unsorted:
    """Evidence from a property without readings, with several columns of them, or with very many outcomes."""

    seen: Seen
    given: list[Mask]
    held: Held

    def of(self, rows: slice) -> EvidencePart:
        """Return the evidence of the pieces of one chunk."""
        own = self.seen
        pattern, patterns = own.pattern[rows], own.patterns
        if own.outcomes is None:
            present, pattern = distinct(pattern, len(patterns))
            patterns = [patterns[number] for number in present]
        given = [each[rows] for each in self.given]
        count = sum(int(np.count_nonzero(each)) for each in given)
        out = self.held(count + len(patterns), own.mass.shape[1])
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
                read, same = some_of(normals, some + rows.start), pattern[some] - begin
                blocks = near(own.values, own.mass, read, outcomes, pattern=same, fine=COARSE)
                blocks.fill(out[at : at + some.size], 0, some.size)
                place[some] = np.arange(at, at + some.size)
                at += some.size
        return Placed(out, place)


@dataclass(frozen=True, slots=True)
class Patched:
    """Evidence from a property of which some pieces were scored apart.

    Parameters
    ----------
    rest : Leading, Sorted or Unsorted
        Evidence of all other pieces.
    values : numpy.ndarray
        Rows of evidence of those apart.
    place : numpy.ndarray
        For each piece its row there, below zero for all others.
    """

    rest: Leading | Sorted | Unsorted
    values: Array
    place: Codes

    def of(self, rows: slice) -> EvidencePart:
        """Return the evidence of the pieces of one chunk."""
        return _PatchedChunk(self.rest.of(rows), self.values, self.place[rows])


@dataclass(frozen=True, slots=True)
class _PatchedChunk:
    rest: EvidencePart
    values: Array
    place: Codes

    def taken(self, rows: slice, out: Array) -> Array:
        self.rest.taken(rows, out)
        place = self.place[rows]
        some = np.flatnonzero(place >= 0)
        out[some] = self.values[place[some]]
        return out


def chunks(count: int) -> Iterator[slice]:
    """Cut pieces into chunks."""
    return (slice(begin, min(begin + CHUNK, count)) for begin in range(0, count, CHUNK))


def in_lead(observed: Sequence[Seen], count: int) -> tuple[Codes, int | None]:
    """Return an order of all pieces that suits the property with most nodes, and which that is, if any."""
    some = [place for place, each in enumerate(observed) if len(each.readings) == 1 and each.outcomes is not None]
    lead = max(some, key=lambda place: len(observed[place].values), default=None)
    if lead is not None:
        normals, (given,) = observed[lead].readings[0], observed[lead].given()
        read = np.flatnonzero(given)
        if read.size:
            order = in_order(normals.centre[read], normals.sd[read], FINE)
            return np.concatenate([read[order], np.flatnonzero(~given)]), lead
    return np.arange(count), None


def leading(own: Seen, outcomes: Outcomes) -> Leading:
    """Return the evidence from the property by whose one column of readings the pieces are in order."""
    read = int(np.count_nonzero(own.given()[0]))
    normals = some_of(own.readings[0], slice(read))
    blocks = near(own.values, own.mass, normals, outcomes, pattern=own.pattern[:read], fine=FINE)
    return Leading(blocks, own.pattern, outcomes)


def other(own: Seen, held: Held) -> Sorted | Unsorted:
    """Return the evidence from a property."""
    given = own.given()
    if own.outcomes is None or len(given) != 1 or not given[0].any():
        return Unsorted(own, given, held)
    read = np.flatnonzero(given[0])
    normals, chunk = some_of(own.readings[0], read), (read // CHUNK).astype(np.uint16)
    bounds = np.searchsorted(chunk, np.arange(-(-own.apart.size // CHUNK) + 1)).tolist()
    order = in_order(normals.centre, normals.sd, COARSE, chunk)
    pieces, normals = read[order], some_of(normals, order)
    pattern = own.pattern[pieces]
    blocks = near(own.values, own.mass, normals, own.outcomes, pattern=pattern, fine=COARSE, apart=bounds[:-1])
    return Sorted(blocks, pieces, bounds, own.pattern, own.outcomes, held)
