"""The last step for many pieces: multiply the properties' evidence, add up each candidate's columns, normalise."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.bulk.sums import product

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Codes = NDArray[np.int64]

__all__ = ["Part", "Share", "normalise", "shares"]

WIDTH: Final = 37
"""Columns added up in one matrix product, about; wider ones would mostly add noughts."""

TOGETHER: Final = 2048
"""Pieces normalised at a time."""


@dataclass(frozen=True, slots=True)
class Part:
    """Evidence from one property: rows of values, and for each piece the row that is its own.

    ``place`` is None where each piece's row is its own and they are in order; the values may then be overwritten.
    """

    values: Array
    place: Codes | None

    def taken(self, rows: slice, out: Array) -> Array:
        """Return the rows of some pieces."""
        if self.place is None:
            return self.values[rows]
        # Clipping spares numpy a copy; no place is out of range.
        return np.take(self.values, self.place[rows], axis=0, out=out, mode="clip")


@dataclass(frozen=True, slots=True)
class Share:
    """Weights with which some columns of evidence add up to some candidates."""

    of: slice
    to: slice
    weights: Array


def shares(owner: Codes, prior: Array) -> list[Share]:
    """Return how columns add up to candidates, times the prior, a few candidates at a time.

    The matrix that adds all up is nearly all noughts; a few smaller ones along its diagonal are not.

    Parameters
    ----------
    owner : numpy.ndarray
        Candidate of each column, ascending, shape (columns,).
    prior : numpy.ndarray
        Shape (candidates,).

    Examples
    --------
    >>> [(share.of, share.to) for share in shares(np.array([0, 0, 1, 2]), np.array([0.5, 0.3, 0.2]))]
    [(slice(0, 4, None), slice(0, 3, None))]
    """
    weights = np.zeros((owner.size, prior.size))
    weights[np.arange(owner.size), owner] = prior[owner]
    cuts = np.linspace(0, prior.size, max(1, round(owner.size / WIDTH)) + 1).round()
    ends = np.unique(np.searchsorted(owner, cuts)).tolist()
    out: list[Share] = []
    for first, last in pairwise(ends):
        to = slice(int(owner[first]), int(owner[last - 1]) + 1)
        out.append(Share(slice(first, last), to, np.ascontiguousarray(weights[first:last, to])))
    return out


def normalise(parts: Sequence[Part], adding: Sequence[Share], where: Codes, out: Array) -> None:
    """Fill in the probabilities of some pieces.

    Parameters
    ----------
    parts : sequence of Part
        What each property says of them.
    adding : sequence of Share
    where : numpy.ndarray
        Their rows in ``out``, shape (pieces,).
    out : numpy.ndarray
        Shape (all pieces, candidates).
    """
    evidence, factor = (np.empty((TOGETHER, parts[0].values.shape[1])) for _ in range(2))
    weighed, total = np.zeros((TOGETHER, out.shape[1])), np.empty((TOGETHER, 1))
    ones = np.ones((out.shape[1], 1))
    for begin in range(0, len(where), TOGETHER):
        rows = slice(begin, min(begin + TOGETHER, len(where)))
        size = rows.stop - begin
        each, candidates = factor[:size], weighed[:size]
        whole = parts[0].taken(rows, evidence[:size])
        for part in parts[1:]:
            whole *= part.taken(rows, each)
        for share in adding:
            product(whole[:, share.of], share.weights, candidates[:, share.to])
        product(candidates, ones, total[:size])
        candidates /= total[:size]
        out[where[rows]] = candidates
