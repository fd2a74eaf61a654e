"""Sums over one property for pieces that each have one reading with a normal error.

A piece with reading ``c`` of standard deviation ``s``, a chance of an outlier ``e`` whose
likelihood is then ``q``, and tests in words with the likelihood ``S(x)`` has for a
column of masses ``m`` the evidence

    (1 - e) sum_x m(x) S(x) g((x - c)/s)/s + e q sum_x m(x) S(x).

Evidence counts up to a factor, its own for each piece; in units of ``e q`` it is ``sum_x A(x) m(x)`` plus
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
from itertools import pairwise
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.scoring.normal import ROOT_2_PI

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.scoring.term import Normals

    Codes = NDArray[np.int64]

__all__ = ["BLOCK", "Near", "Outcomes", "in_order", "near", "product"]

NEGLECTED: Final = 1e-10
"""Most that is left out of a sum, as a share of what a botched reading adds to it."""

BLOCK: Final = 1024
FEWEST: Final = 16
WORTH: Final = 10_000.0
"""Most pieces in a block. It is halved, down to the fewest pieces worth a block, while all its
pieces together are summed over so many nodes more than they would need one by one."""

WIDEST: Final = 400.0
"""Most standard deviations that a block of more than one piece may span: the exponents, as
polynomials about its middle, are sums of parts up to half the square of that, times 1e-16 rounding."""

SLAB: Final = 32
SMALL: Final = 262_143
"""Rows, and most multiplications, of a product handed to the linear-algebra library at once.

Small products are not shared out over threads there (OpenBLAS does from 262144 on), which
for products of this size costs more than it gains, stops other threads, and on a busy
machine can take ten times as long.
"""

LEAST: Final = -700.0
"""Log of the least relative density that is told from nought; spares arithmetic on denormal numbers."""

BANDS: Final = 15
"""Pieces are sorted by standard deviation before their reading, in bands; what is broader still is in the last."""

LEVELS: Final = 4096
"""Readings are sorted to this part of their range; so the numbers to sort by are small, and sorting is one pass."""


@dataclass(frozen=True, slots=True)
class Outcomes:
    """What the tests in words said of some pieces; a pattern is one combination of outcomes.

    Parameters
    ----------
    log : numpy.ndarray
        Log likelihood of each pattern at the nodes, shape (patterns, nodes).
    total : numpy.ndarray
        Its sums with the masses, shape (patterns, columns).
    """

    log: Array
    total: Array


def in_order(centre: Array, sd: Array, fine: int, chunk: NDArray[np.uint16] | None = None) -> Codes:
    """Return an order of pieces in which neighbours share most nodes: by band, then by where the reading lies.

    Parameters
    ----------
    centre, sd : numpy.ndarray
        Readings, shape (pieces,), at least one.
    fine : int
        Bands to a factor of two.
    chunk : numpy.ndarray, optional
        What to sort by before all else, shape (pieces,).
    """
    # Readings may be the same, or differ by less than a number can be divided by.
    part = (centre - centre.min()) * ((LEVELS - 1) / max(float(np.ptp(centre)), 1e-300))
    order = np.argsort(_bands(sd, fine) * np.uint16(LEVELS) + part.astype(np.uint16), kind="stable")
    return order if chunk is None else order[np.argsort(chunk[order], kind="stable")]


def _bands(sd: Array, fine: int) -> NDArray[np.uint16]:
    """Return a number for how broad each reading is, the same for about the same."""
    band = np.floor(np.log2(sd) * fine)
    out: NDArray[np.uint16] = np.minimum(band - band.min(), BANDS).astype(np.uint16)
    return out


@dataclass(frozen=True, slots=True)
class Near:
    """Sums for pieces that have a reading, in blocks that are computed when asked for.

    Parameters
    ----------
    nodes : numpy.ndarray
        The finite nodes, as the readings count them, shape (nodes,).
    mass : numpy.ndarray
        Shape (nodes, columns).
    outcomes : Outcomes
    pattern : numpy.ndarray
        Which of them is each piece's, shape (pieces,).
    powers : numpy.ndarray
        Factors of the powers of a node's distance from the middle of its block in the exponent, shape (pieces, 3).
    ends : numpy.ndarray
        Where blocks end among the pieces, shape (blocks,).
    firsts, lasts : numpy.ndarray
        Their ranges of nodes, shape (blocks,).
    middles : numpy.ndarray
        Shape (blocks,).
    deepest : numpy.ndarray
        No exponent of a block is less, shape (blocks,).
    """

    nodes: Array
    mass: Array
    outcomes: Outcomes
    pattern: Codes
    powers: Array
    ends: Codes
    firsts: Codes
    lasts: Codes
    middles: Array
    deepest: Array

    def fill(self, out: Array, begin: int, end: int) -> None:
        """Put the evidence of some pieces where it belongs; a block may not begin before them or end after them.

        Parameters
        ----------
        out : numpy.ndarray
            Filled, shape (end - begin, columns).
        begin, end : int
            The pieces.
        """
        first, last = np.searchsorted(self.ends, [begin, end - 1], side="right")
        blocks = slice(first, last + 1)
        log, total, mass = self.outcomes.log, self.outcomes.total, self.mass
        widest = max(int((self.lasts - self.firsts)[blocks].max()), mass.shape[1])
        spare, basis = np.empty((2, BLOCK * (widest + 1))), np.empty((3, widest + 1))
        alike, silent = len(log) == 1, not log.any()
        # Where all have one pattern its total is one more row of masses, that of a node where the exponent is nought.
        more, joined = int(alike), np.empty((widest + 1, mass.shape[1]))
        start = begin
        for stop, low, high, middle, least in zip(
            *(each[blocks].tolist() for each in (self.ends, self.firsts, self.lasts, self.middles, self.deepest)),
            strict=True,
        ):
            block, width, count = slice(start, stop), high - low, stop - start
            to = out[start - begin : stop - begin]
            z, other = spare[:, : count * (width + more)].reshape(2, count, width + more)
            base, masses = basis[:, : width + more], mass[low:high]
            base[0, :width] = 1.0
            np.subtract(self.nodes[low:high], middle, out=base[1, :width])
            if alike:
                base[:2, width] = 0.0
                joined[:width], joined[width] = masses, total
                masses = joined[: width + 1]
            np.multiply(base[1], base[1], out=base[2])
            product(self.powers[block], base, z)
            if not silent:
                z[:, :width] += log[:, low:high] if alike else _taken(log[:, low:high], self.pattern[block], other)
            if least < LEAST:
                np.maximum(z, LEAST, out=z)
            np.exp(z, out=z)
            product(z, masses, to)
            if not alike:
                to += _taken(total, self.pattern[block], spare[1, : to.size].reshape(to.shape))
            start = stop


def near(
    values: Array,
    mass: Array,
    normals: Normals,
    outcomes: Outcomes,
    *,
    pattern: Codes,
    fine: int,
    apart: Sequence[int] = (0,),
) -> Near:
    """Plan the sums for pieces that have a reading.

    Parameters
    ----------
    values : numpy.ndarray
        The nodes, shape (nodes,).
    mass : numpy.ndarray
        Shape (nodes, columns).
    normals : Normals
        Their readings, in the order of :func:`in_order`.
    outcomes : Outcomes
    pattern : numpy.ndarray
        Which of them is each piece's, shape (pieces,).
    fine : int
        As there.
    apart : sequence of int
        Where pieces begin that share no block with those before, ascending from 0.

    Returns
    -------
    Near
        From each of these on a block ends at every multiple of :data:`BLOCK` pieces.
    """
    nodes = np.log(values) if normals.logarithmic else values
    nodes = nodes[: nodes.size - int(np.isinf(nodes[-1]))]
    centre, sd = normals.centre, normals.sd
    height = -np.log(normals.outlier * normals.outlier_likelihood * (sd * ROOT_2_PI) / (1.0 - normals.outlier))
    reach = sd * np.sqrt(np.maximum(2.0 * (height - math.log(NEGLECTED)), 0.0))
    whole = [np.arange(begin, end, BLOCK) for begin, end in pairwise([*apart, centre.size])]
    cuts = np.concatenate([*whole, np.flatnonzero(np.diff(_bands(sd, fine))) + 1])
    ends, lows, highs = _blocks(nodes, centre, sd, reach, np.unique(cuts))
    firsts, lasts = np.searchsorted(nodes, lows), np.searchsorted(nodes, highs)
    starts = np.append(0, ends[:-1])
    middles = 0.5 * (lows + highs)
    # The exponent is a polynomial in a node's distance from the middle of the block's nodes.
    away, curve = centre - np.repeat(middles, ends - starts), -0.5 / sd**2
    powers = np.stack([height + curve * away**2, -2.0 * curve * away, curve], axis=1)
    deepest = np.minimum.reduceat(curve, starts) * (highs - lows) ** 2 + outcomes.log.min()
    return Near(nodes, mass, outcomes, pattern, powers, ends, firsts, lasts, middles, deepest)


def _taken(rows: Array, which: Codes, out: Array) -> Array:
    # Clipping spares numpy a copy; no index is out of range.
    return np.take(rows, which, axis=0, out=out, mode="clip")


def product(left: Array, right: Array, out: Array) -> None:
    """Put the matrix product of two matrices into a third, a slab of rows at a time, see :data:`SLAB`."""
    rows, inner = left.shape
    if rows * right.size <= SMALL:
        np.matmul(left, right, out=out)
        return
    if FEWEST * right.size > SMALL:
        # So tall a matrix is cut across, for rows one by one take ten times as long.
        half = inner // 2
        product(left[:, :half], right[:half], out)
        other = np.empty_like(out)
        product(left[:, half:], right[half:], other)
        out += other
        return
    slab = min(SLAB, SMALL // right.size)
    whole = rows // slab * slab
    np.matmul(left[:whole].reshape(-1, slab, inner), right, out=out[:whole].reshape(-1, slab, right.shape[1]))
    if whole < rows:
        np.matmul(left[whole:], right, out=out[whole:])


def _blocks(nodes: Array, centre: Array, sd: Array, reach: Array, starts: Codes) -> tuple[Codes, Array, Array]:
    """Cut sorted pieces into blocks that need about the same nodes, and begin at least at some pieces.

    Returns
    -------
    numpy.ndarray
        Where the blocks end.
    numpy.ndarray, numpy.ndarray
        Ends of each block's range of nodes.
    """
    low, high = centre - reach, centre + reach
    while True:
        ends = np.append(starts[1:], centre.size)
        lows, highs = np.minimum.reduceat(low, starts), np.maximum.reduceat(high, starts)
        width = np.searchsorted(nodes, highs) - np.searchsorted(nodes, lows)
        needed = 2.0 * np.maximum.reduceat(reach, starts)
        wide = (ends - starts) * width * (highs - lows - needed) > WORTH * (highs - lows)
        far = highs - lows > WIDEST * np.minimum.reduceat(sd, starts)
        halved = (wide & (ends - starts >= 2 * FEWEST)) | (far & (ends - starts > 1))
        if not halved.any():
            return ends, lows, highs
        starts = np.union1d(starts, (starts[halved] + ends[halved]) // 2)
