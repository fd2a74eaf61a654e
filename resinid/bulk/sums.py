"""Sums over one property for pieces that each have one reading with a normal error.

A piece with reading ``c`` of standard deviation ``s``, a chance of a mishap ``e`` whose
likelihood is then ``q``, and tests in words with the likelihood ``S(x)`` has for a
column of masses ``m`` the evidence

    (1 - e) sum_x m(x) S(x) g((x - c)/s)/s + e q sum_x m(x) S(x).

Evidence counts up to a factor a piece; in units of ``e q`` it is ``sum_x A(x) m(x)`` plus
the sum of ``m S``, with ``A(x) = S(x) exp(-((x - c)/s)^2/2)/b`` and
``b = e q s sqrt(2 pi)/(1 - e)``. Pieces sorted by their readings share nodes, so that
for a block of them the sums are one matrix product.

The nodes are those of the one-piece engine and the sums its own, but that nodes further
from the reading than ``s sqrt(-2 log(b d))`` are left out. There ``A(x) < d S(x)``, so they
hold less than ``d`` of the second part, whatever the masses, and no probability changes
by more than ``d/4`` for each property: with :data:`NEGLECTED` a hundredth of 1e-9.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.scoring.term import Normals

    Array = NDArray[np.float64]
    Codes = NDArray[np.int64]

__all__ = ["Outcomes", "add_near", "product", "sort_key"]

NEGLECTED: Final = 1e-10
"""Most that is left out of a sum, as a share of what a botched reading adds to it."""

BLOCK: Final = 1024
FEWEST: Final = 16
SPREAD: Final = 1.5
"""Most pieces in a block. While its nodes are more than this many times those that one of
its pieces needs, it is halved, down to the fewest pieces worth a block."""

SLAB: Final = 32
SMALL: Final = 200_000
"""Most rows, and most multiplications, of a product handed to the linear-algebra library at once.

Small products are not shared out over threads there (OpenBLAS does from 262144 on), which
for products of this size costs more than it gains, stops other threads, and on a busy
machine can take ten times as long.
"""

LEAST: Final = -700.0
"""Log of the least relative density that is told from nought; spares arithmetic on denormal numbers."""

LEVELS: Final = 4096
"""Readings are sorted to this part of their range; more would gain nothing."""

BANDS: Final = 15
"""Pieces are sorted by standard deviation first, in so many bands a factor of two wide."""

ROOT_2_PI: Final = math.sqrt(2.0 * math.pi)


@dataclass(frozen=True, slots=True)
class Outcomes:
    """What the tests in words said of some pieces; a pattern is one combination of outcomes.

    Parameters
    ----------
    log : numpy.ndarray
        Log likelihood of each pattern at the nodes, shape (patterns, nodes).
    total : numpy.ndarray
        Its sums with the masses, shape (patterns, columns).
    pattern : numpy.ndarray
        Pattern of each piece, shape (pieces,).
    """

    log: Array
    total: Array
    pattern: Codes


def sort_key(centre: Array, sd: Array) -> NDArray[np.uint16]:
    """Return a number to sort pieces by: how broad the reading is, then where; small, so that sorting is one pass."""
    low = centre.min()
    level = (centre - low) * ((LEVELS - 1) / (float(np.ptp(centre)) or 1.0))
    band = np.minimum(np.log2(sd / sd.min()), BANDS)
    out: NDArray[np.uint16] = np.floor(band).astype(np.uint16) * np.uint16(LEVELS) + level.astype(np.uint16)
    return out


def add_near(out: Array, values: Array, mass: Array, normals: Normals, outcomes: Outcomes) -> None:
    """Put the evidence of pieces that have a reading where it belongs.

    Parameters
    ----------
    out : numpy.ndarray
        Filled, shape (pieces, columns).
    values : numpy.ndarray
        The nodes, shape (nodes,).
    mass : numpy.ndarray
        Shape (nodes, columns).
    normals : Normals
        Their readings, sorted by :func:`sort_key`.
    outcomes : Outcomes
    """
    nodes = np.log(values) if normals.logarithmic else values
    nodes = nodes[: nodes.size - int(np.isinf(nodes[-1]))]
    centre, sd, pattern = normals.centre, normals.sd, outcomes.pattern
    botched = normals.mishap * normals.if_mishap * (sd * ROOT_2_PI) / (1.0 - normals.mishap)
    steep, height = math.sqrt(0.5) / sd[:, None], -np.log(botched)
    reach = sd * np.sqrt(np.maximum(2.0 * (height - math.log(NEGLECTED)), 0.0))
    edges, lows, highs = _blocks(centre, reach)
    firsts, lasts = np.searchsorted(nodes, lows).tolist(), np.searchsorted(nodes, highs).tolist()
    alike, silent = len(outcomes.log) == 1, not outcomes.log.any()
    widest = max(mass.shape[1], *(high - low for low, high in zip(firsts, lasts, strict=True)))
    spare = np.empty((2, BLOCK * widest))
    for begin, end, low, high in zip(edges, edges[1:], firsts, lasts, strict=False):
        block = slice(begin, end)
        z, other = _shaped(spare, end - begin, high - low)
        np.subtract(centre[block, None], nodes[low:high], out=z)
        z *= steep[block]
        z *= z
        np.subtract(height[block, None], z, out=z)
        if not silent:
            z += outcomes.log[:, low:high] if alike else _taken(outcomes.log[:, low:high], pattern[block], other)
        np.maximum(z, LEAST, out=z)
        np.exp(z, out=z)
        product(z, mass[low:high], out[block])
        _, other = _shaped(spare, end - begin, mass.shape[1])
        out[block] += outcomes.total if alike else _taken(outcomes.total, pattern[block], other)


def _shaped(spare: Array, rows: int, columns: int) -> tuple[Array, Array]:
    """Return the beginnings of two spare rows as matrices, so that no block asks for memory."""
    first, second = spare[:, : rows * columns].reshape(2, rows, columns)
    return first, second


def _taken(rows: Array, which: Codes, out: Array) -> Array:
    # Clipping spares numpy a copy; no index is out of range.
    return np.take(rows, which, axis=0, out=out, mode="clip")


def product(left: Array, right: Array, out: Array) -> None:
    """Put the matrix product of two matrices into a third, a slab of rows at a time, see :data:`SLAB`."""
    rows, inner = left.shape
    if rows * right.size <= SMALL:
        np.matmul(left, right, out=out)
        return
    slab = min(SLAB, max(SMALL // right.size, 1))
    whole = rows // slab * slab
    np.matmul(left[:whole].reshape(-1, slab, inner), right, out=out[:whole].reshape(-1, slab, right.shape[1]))
    np.matmul(left[whole:], right, out=out[whole:])


def _blocks(centre: Array, reach: Array) -> tuple[list[int], Array, Array]:
    """Cut sorted pieces into blocks that need about the same nodes.

    Returns
    -------
    list of int
        Where the blocks begin, and last where they end.
    numpy.ndarray, numpy.ndarray
        Ends of each block's range of nodes.
    """
    low, high = centre - reach, centre + reach
    starts = np.arange(0, centre.size, BLOCK)
    size = BLOCK
    while True:
        lows, highs = np.minimum.reduceat(low, starts), np.maximum.reduceat(high, starts)
        wide = highs - lows > SPREAD * 2.0 * np.maximum.reduceat(reach, starts)
        size //= 2
        halves = starts[wide] + size
        halves = halves[halves < centre.size]
        if size < FEWEST or not halves.size:
            return [*starts.tolist(), centre.size], lows, highs
        starts = np.union1d(starts, halves)
