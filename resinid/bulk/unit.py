"""The evidence of many pieces at once, by the same sums as for one.

For one property, pieces are grouped by the outcomes of their tests in words (a
pattern: floats here, sinks there). A pattern's product of likelihoods ``S`` over the
nodes is computed once; with ``M = mass * S``, a piece that also has a reading ``c``
with a normal error has for each variant the integral

    (1 - mishap) sum_near M g(c) + mishap if_mishap sum M,

the first sum over the nodes within 7 standard deviations of the reading; what lies
beyond is less than 1e-7 of the botched part. Pieces with neighbouring readings
are done together as one matrix product. So the numbers are the one-piece engine's own,
but for the order in which they are added.

What does not fit this form is left to the one-piece engine, piece by piece: two
readings of one property, a reading that shares an error with another test, and
readings finer than the standing grid.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.scoring.dependence import dependent
from resinid.scoring.grid import FINEST
from resinid.scoring.integrals import log_product
from resinid.scoring.observed import axis_of

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from resinid.scoring.engine import Model
    from resinid.scoring.latents import Latent
    from resinid.scoring.observed import Observable
    from resinid.scoring.term import Normals, Term

    Array = NDArray[np.float64]
    Codes = NDArray[np.int64]
    Mask = NDArray[np.bool_]

__all__ = ["ReadingColumn", "WordColumn", "unit_evidence"]

REACH: Final = 7.0
"""Standard deviations to which a normal is summed."""

BLOCK: Final = 256
"""Most pieces in one matrix product."""

LEAST: Final = -80.0
"""Log of the least relative density that is told from nought; spares arithmetic on denormal numbers."""

SPREAD: Final = 1.6
"""A block's nodes are at most this many times those that its first piece needs."""

ROOT_2_PI: Final = math.sqrt(2.0 * math.pi)


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


def unit_evidence(
    model: Model, words: Sequence[WordColumn], readings: Sequence[ReadingColumn], count: int
) -> tuple[Array, Mask]:
    """Return the evidence of each piece for each candidate, up to a factor a piece.

    Parameters
    ----------
    model : Model
    words, readings : sequence of column
        The tests done; each column has one entry a piece.
    count : int
        Number of pieces.

    Returns
    -------
    numpy.ndarray
        Shape (pieces, resins + 1).
    numpy.ndarray of bool
        Pieces whose rows are not valid and must be scored one by one, shape (pieces,).
    """
    product = np.empty((count, len(model.gathering)))
    fresh = True
    left = np.zeros(count, dtype=bool)
    done = _done(words, readings, count)
    for name in done:
        own_words = [column for column in words if column.observes == name]
        own_readings = [column for column in readings if column.observes == name]
        left |= _too_fine(name, own_readings, count)
        power = _power(name, done)
        if power is None:
            _multiply(product, name, model.latent(name), own_words, own_readings, left=left, fresh=fresh)
        else:
            part = np.ones_like(product)
            _multiply(part, name, model.latent(name), own_words, own_readings, left=left, fresh=True)
            part **= power[:, None]
            product = part if fresh else product * part
        fresh = False
    if fresh:
        product[:] = 1.0
    # A sum over a resin's variants is a product with the matrix of their weights.
    return product @ model.gathering, left


def _done(words: Sequence[WordColumn], readings: Sequence[ReadingColumn], count: int) -> dict[Observable, Mask]:
    """Return for each property in which pieces it was observed, shape (pieces,)."""
    out: dict[Observable, Mask] = {}
    for word in words:
        out[word.observes] = out.get(word.observes, np.zeros(count, dtype=bool)) | (word.codes >= 0)
    for reading in readings:
        given = ~np.isnan(reading.normals.centre)
        out[reading.observes] = out.get(reading.observes, np.zeros(count, dtype=bool)) | given
    return out


def _power(name: Observable, done: Mapping[Observable, Mask]) -> Array | None:
    """Return the power with which a property enters for each piece; None where it is one for all of them.

    See :mod:`resinid.scoring.dependence`.
    """
    shares = {other: dependent(name, other) for other in done if other is not name}
    if not any(shares.values()):
        return None
    common = np.zeros(len(done[name]))
    for other, share in shares.items():
        common += share * done[other]
    power: Array = 1.0 / (1.0 + common)
    return power


def _too_fine(name: Observable, readings: Sequence[ReadingColumn], count: int) -> Mask:
    """Return which pieces have two readings of one property, or one finer than the grid."""
    out = np.zeros(count, dtype=bool)
    given = np.zeros(count, dtype=np.int64)
    axis = axis_of(name)
    for column in readings:
        centre, sd = column.normals.centre, column.normals.sd
        there = ~np.isnan(centre)
        given += there
        if axis is None:
            continue
        with np.errstate(invalid="ignore", divide="ignore"):
            plain = axis.logarithmic and not column.normals.logarithmic
            place = np.log(centre) if plain else centre
            width = sd / centre if plain else sd
            out |= there & ~(width >= FINEST * axis.spacing(place))
    return out | (given > 1)


def _multiply(
    product: Array,
    name: Observable,
    latent: Latent,
    words: Sequence[WordColumn],
    readings: Sequence[ReadingColumn],
    *,
    left: Mask,
    fresh: bool,
) -> None:
    """Multiply the integrals over one property into the product, or put them there where it is fresh."""
    count = len(product)
    key = np.zeros(count, dtype=np.int64)
    for column in words:
        key = key * (len(column.terms) + 1) + (column.codes + 1)
    order = np.argsort(key, kind="stable")
    edges = np.flatnonzero(np.diff(key[order])) + 1
    for rows in np.split(order, edges):
        terms = [column.terms[code] for column in words if (code := int(column.codes[rows[0]])) >= 0]
        keys = {term.shared.key for term in terms if term.shared is not None}
        if any(_unresolved(name, term) for term in terms):
            left[rows] = True
            continue
        pattern = _Pattern.of(terms, latent)
        bare = np.ones(rows.size, dtype=bool)
        for reading in readings:
            here = ~np.isnan(reading.normals.centre[rows])
            bare &= ~here
            chosen = rows[here]
            if reading.normals.shared is not None and reading.normals.shared in keys:
                left[chosen] = True
                continue
            chosen = chosen[~left[chosen]]
            if chosen.size:
                _readings_of(product, pattern, reading.normals, chosen, fresh=fresh)
        if fresh:
            product[rows[bare]] = pattern.total
        elif terms:
            product[rows[bare]] *= pattern.total


def _unresolved(name: Observable, term: Term) -> bool:
    axis = axis_of(name)
    return axis is not None and term.feature is not None and axis.too_sharp(*term.feature) is not None


@dataclass(frozen=True, slots=True)
class _Pattern:
    """Pieces whose tests in words had the same outcomes.

    Parameters
    ----------
    values : numpy.ndarray
        The nodes, shape (nodes,).
    weighted : numpy.ndarray
        Mass times the likelihood of the outcomes, shape (nodes, variants + 1).
    total : numpy.ndarray
        Its sum over the nodes, shape (variants + 1,).
    """

    values: Array
    weighted: Array
    total: Array

    @classmethod
    def of(cls, terms: Sequence[Term], latent: Latent) -> _Pattern:
        """Make the pattern of some outcomes."""
        weighted = latent.mass.T
        if terms:
            logs = log_product(terms, latent.values)
            weighted = weighted * np.exp(logs - logs.max())[:, None]
        return cls(latent.values, np.ascontiguousarray(weighted), weighted.sum(axis=0))


def _readings_of(product: Array, pattern: _Pattern, normals: Normals, rows: Codes, *, fresh: bool) -> None:
    """Multiply the integrals of pieces of one pattern that have a reading into their rows."""
    nodes = np.log(pattern.values) if normals.logarithmic else pattern.values
    finite = nodes.size - int(np.isinf(nodes[-1]))
    rows = rows[np.argsort(normals.centre[rows], kind="stable")]
    centre, sd = normals.centre[rows], normals.sd[rows]
    first = np.searchsorted(nodes[:finite], centre - REACH * sd)
    last = np.searchsorted(nodes[:finite], centre + REACH * sd)
    # Evidence counts up to a factor a piece, so each is taken in units of its normal's height.
    botched = normals.mishap * normals.if_mishap[rows] * (sd * ROOT_2_PI) / (1.0 - normals.mishap)
    for begin, end in _blocks(first, last):
        low, high = int(first[begin:end].min()), int(last[begin:end].max())
        # The last column and row are the botched part: its likelihood times the sum of all mass.
        normal = np.empty((end - begin, high - low + 1))
        weighted = np.empty((high - low + 1, pattern.total.size))
        z = normal[:, :-1]
        np.matmul(*_exponents(nodes[low:high], centre[begin:end], sd[begin:end]), out=z)
        np.maximum(z, LEAST, out=z)
        np.exp(z, out=z)
        normal[:, -1] = botched[begin:end]
        weighted[:-1] = pattern.weighted[low:high]
        weighted[-1] = pattern.total
        if fresh:
            product[rows[begin:end]] = normal @ weighted
        else:
            product[rows[begin:end]] *= normal @ weighted


def _exponents(nodes: Array, centre: Array, sd: Array) -> tuple[Array, Array]:
    """Return factors whose matrix product is ``-((x - c)/s)^2/2`` for every piece and node.

    One pass over the large matrix instead of four; about the middle of the block, so
    that the square's expansion loses no more than a few units in the last place.
    """
    middle = float(centre[centre.size // 2])
    x, c = nodes - middle, centre - middle
    steep = -0.5 / (sd * sd)
    return np.column_stack([steep, -2.0 * steep * c, steep * c * c]), np.vstack([x * x, x, np.ones_like(x)])


def _blocks(first: Codes, last: Codes) -> list[tuple[int, int]]:
    """Cut sorted pieces into blocks that need about the same nodes."""
    out: list[tuple[int, int]] = []
    begin, count = 0, first.size
    while begin < count:
        reach = first[begin] + SPREAD * max(int(last[begin] - first[begin]), 16)
        end = min(begin + BLOCK, count)
        beyond = np.flatnonzero(last[begin:end] > reach)
        if beyond.size and beyond[0] > 0:
            end = begin + int(beyond[0])
        out.append((begin, end))
        begin = end
    return out
