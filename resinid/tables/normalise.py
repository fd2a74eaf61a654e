"""The last step for many pieces: multiply the properties' evidence, add up each candidate's columns, normalise."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final, Protocol

import numpy as np

from resinid.tables.sums import BLOCK, product

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array

    Codes = NDArray[np.int64]

__all__ = ["ColumnShare", "EvidencePart", "Placed", "column_shares", "normalise"]

WIDTH: Final = 37
"""Columns added up in one matrix product, about; wider ones would mostly add noughts."""

TOGETHER: Final = 2 * BLOCK
"""Pieces normalised at a time."""


class EvidencePart(Protocol):
    """Evidence from one property."""

    def taken(self, rows: slice, out: Array) -> Array:
        """Return the rows of some pieces, which may be put into ``out``."""
        ...


@dataclass(frozen=True, slots=True)
class Placed:
    """Rows of evidence, and for each piece the row that is its own."""

    values: Array
    place: Codes

    def taken(self, rows: slice, out: Array) -> Array:
        """Return the rows of some pieces."""
        # Clipping spares numpy a copy; no place is out of range.
        return np.take(self.values, self.place[rows], axis=0, out=out, mode="clip")


@dataclass(frozen=True, slots=True)
class ColumnShare:
    """Weights with which some columns of evidence add up to some candidates."""

    of: slice
    to: slice
    weights: Array


def column_shares(owner: Codes, weight: Array, candidates: int) -> list[ColumnShare]:
    """Return how columns add up to candidates, a few candidates at a time.

    The matrix that adds all up is nearly all noughts; a few smaller ones along its diagonal are not.

    Parameters
    ----------
    owner : numpy.ndarray
        Candidate of each column, ascending, shape (columns,).
    weight : numpy.ndarray
        What each column counts, shape (columns,).
    candidates : int

    Examples
    --------
    >>> [(share.of, share.to) for share in column_shares(np.array([0, 0, 1, 2]), np.array([0.5, 0.5, 0.3, 0.2]), 3)]
    [(slice(0, 4, None), slice(0, 3, None))]
    """
    weights = np.zeros((owner.size, candidates))
    weights[np.arange(owner.size), owner] = weight
    cuts = np.linspace(0, candidates, max(1, round(owner.size / WIDTH)) + 1).round()
    ends = np.unique(np.searchsorted(owner, cuts)).tolist()
    out: list[ColumnShare] = []
    for first, last in pairwise(ends):
        to = slice(int(owner[first]), int(owner[last - 1]) + 1)
        out.append(ColumnShare(slice(first, last), to, np.ascontiguousarray(weights[first:last, to])))
    return out


def normalise(
    parts: Sequence[EvidencePart],
    columns: int,
    adding: Sequence[ColumnShare],
    where: Codes,
    out: Array,
    *,
    powers: Array | None = None,
) -> None:
    """Fill in the probabilities of some pieces.

    Parameters
    ----------
    parts : sequence of EvidencePart
        What each property says of them.
    columns : int
        Columns of the evidence.
    adding : sequence of ColumnShare
    where : numpy.ndarray
        Their rows in ``out``, shape (pieces,).
    out : numpy.ndarray
        Shape (all pieces, candidates).
    powers : numpy.ndarray, optional
        The power with which each part counts, shape (parts, pieces); all 1 where not given.
    """
    evidence, factor = np.empty((2, TOGETHER, columns))
    weighed = np.zeros((TOGETHER, out.shape[1]))
    for begin in range(0, len(where), TOGETHER):
        rows = slice(begin, min(begin + TOGETHER, len(where)))
        size = rows.stop - begin
        each, candidates = factor[:size], weighed[:size]
        whole = evidence[:size]
        for place, part in enumerate(parts):
            found = part.taken(rows, each if place else whole)
            if powers is not None:
                found **= powers[place, rows, None]
            if place:
                whole *= found
        for share in adding:
            product(whole[:, share.of], share.weights, candidates[:, share.to])
        # A plain sum, whose last digit does not hang on how many pieces there are.
        candidates /= candidates.sum(axis=1, keepdims=True)
        out[where[rows]] = candidates
