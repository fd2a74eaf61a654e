"""Readings that share an error: their product with that error integrated out.

An outlier may stay with piece and bath (a hollow chip floats every time), so among terms that
share an error a quarter (:data:`COMMON`) of the stated chance of an outlier is common to them
all: with stated chance ``e``, common part ``c`` and remaining part ``r = (e - c)/(1 - c)``,

    L = (1 - c) integral phi(z) prod_i [(1 - r_i) good_i(x, z) + r_i bad_i] dz
        + c prod_i bad_i,

which for a single term is ``(1 - e) good + e bad`` again. Where the stated chances differ,
the common parts are nested (:func:`causes`): what botches the test with the smaller chance
botches the other too. Repeating a test thus never makes an outlier incredible.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.scoring.term import Term

__all__ = ["COMMON", "causes", "errors_of", "half_of", "rest_of", "together"]

COMMON: Final = 0.25
"""Share of outliers that recur whenever the test is repeated with the same piece and
bath, instrument or hand (common practice, no source)."""

REACH: Final = 6.0
"""A shared error is integrated over this many standard deviations to either side."""

COARSEST: Final = 0.25
FINEST: Final = 0.02
"""Largest and smallest step of that integral [standard deviations]."""

PROBED: Final = 8
"""At every eighth step of that integral it is seen which nodes the error matters to. A step is no wider than a
likelihood's own width, so a bell between two of these still has a third of a thousandth of its height at one."""

MATTERS: Final = 1e-16
"""Least change of a likelihood, relative to that of an outlier, that matters."""

BLOCK: Final = 4096
LEAST_BLOCK: Final = 32
"""Nodes worked on at a time when an error is shared, times the terms that share it, so that memory stays bounded;
and the fewest nodes worth a block."""

FEW: Final = 30_000
"""Most nodes, times errors and terms, of which it is not first seen whether the error matters to them. Six observations
with a weighing and a float in one jug took 1.69 times as long as GaussianNB with 8000, 1.38 with this."""

LEVELS: Final = 4
"""Causes of outliers common to several terms that are worked on at a time."""


def together(terms: Sequence[Term], values: Array, *, apart: bool = True) -> Array:
    """Integrate a shared error out of the product of two or more terms.

    Returns
    -------
    numpy.ndarray
        Logs at the nodes of the product of all terms; and where ``apart``, of all but each, and of all with each
        botched, shape (1, nodes) or (1 + 2 terms, nodes).
    """
    outliers = [term.outlier for term in terms]
    rest = rest_of(outliers)
    *levels, (every, _) = causes(outliers)
    sharpness = [term.shared.sharpness for term in terms if term.shared is not None]
    error, weight = errors_of(int(half_of(min(sharpness), len(terms))))
    bad = np.array([term.outlier_likelihood for term in terms])
    count = len(terms) if apart else 0
    out = np.empty((1 + 2 * count, values.size))
    for nodes, errors, weights in _parts(terms, rest, values, error, weight):
        good = np.array([term.likelihood(values[nodes], errors) for term in terms])
        each = ((1.0 - rest) / bad)[:, None, None] * good + rest[:, None, None]
        found = [
            _at_levels(each, weights, rest, levels[first : first + LEVELS], count=count)
            for first in range(0, len(levels), LEVELS)
        ]
        best = np.maximum(np.max([scale for scale, _ in found], axis=0), math.log(every))
        sums = np.exp(math.log(every) - best) + sum(np.exp(scale - best) * total for scale, total in found)
        out[:, nodes] = best + np.log(sums)
    # Above, likelihoods are in units of those of outliers; so all are one where one cause botches every term.
    log_bad = np.log(bad)
    out += log_bad.sum()
    out[1 : 1 + count] -= log_bad[:count, None]
    return out


def half_of(sharpest: Array | float, count: int) -> NDArray[np.float64]:
    """Return how many steps to sum over to either side, for the sharpest of several terms."""
    # The product of n readings is about sqrt(n) times as sharp as the sharpest.
    step = np.minimum(np.maximum(sharpest / math.sqrt(count), FINEST), COARSEST)
    out: Array = np.ceil(REACH / step)
    return out


def errors_of(half: int) -> tuple[Array, Array]:
    """Return the errors to sum over, so many steps to either side, and their weights, each of shape (errors, 1)."""
    error = np.linspace(-REACH, REACH, 2 * half + 1)[:, None]
    weight = np.exp(-0.5 * error**2)
    return error, weight / weight.sum()


def rest_of(outliers: Sequence[float]) -> Array:
    """Return each term's chance to be botched on its own, given that no common cause botched it."""
    chance = np.array(outliers)
    out: Array = (chance - COMMON * chance) / (1.0 - COMMON * chance)
    return out


def _parts(
    terms: Sequence[Term], rest: Array, values: Array, error: Array, weight: Array
) -> list[tuple[slice | NDArray[np.int64], Array, Array]]:
    """Return which nodes are summed at a time, and over which errors with which weights."""
    if len(terms) * error.size * values.size <= FEW:
        return [(slice(None), error, weight)]
    moved = np.zeros(values.size, dtype=bool)
    for term, own in zip(terms, rest, strict=True):
        found = term.likelihood(values, error[::PROBED])
        moved |= np.ptp(found, axis=0) > MATTERS * own * term.outlier_likelihood
    size = max(BLOCK // len(terms), LEAST_BLOCK)
    where = np.flatnonzero(moved)
    # Where the error matters to no term, any value of it stands for all.
    parts = [(np.flatnonzero(~moved), np.zeros((1, 1)), np.ones((1, 1)))]
    return [*parts, *((where[first : first + size], error, weight) for first in range(0, where.size, size))]


def _at_levels(
    each: Array, weight: Array, rest: Array, levels: Sequence[tuple[float, list[int]]], *, count: int
) -> tuple[Array, Array]:
    """Return what :func:`together` does, over causes of some chances that botch some terms each, and those only.

    Only the first terms are left out and botched, as many as counted.

    Returns
    -------
    numpy.ndarray, numpy.ndarray
        The sums are the exponential of the first, shape (nodes,), times the second, shape (1 + 2 count, nodes).
    """
    botched = np.zeros((len(levels), len(rest)), dtype=bool)
    for level, (_, members) in enumerate(levels):
        botched[level, members] = True
    own = np.where(botched[:, :, None, None], 1.0, each)
    product, scale = weight, np.log([chance for chance, _ in levels])[:, None, None]
    for place in range(len(rest)):
        # Scaled each time, so that no number of terms is too many.
        product = product * own[:, place]
        top = product.max(axis=1, keepdims=True)
        product /= top
        scale = scale + np.log(top)
    others = (product[:, None] / own[:, :count]).sum(axis=2)
    slipping = np.where(botched, 1.0, rest)[:, :count, None]
    sums = np.concatenate([product.sum(axis=1, keepdims=True), others, slipping * others], axis=1)
    best = scale.max(axis=0)
    return best[0], (np.exp(scale - best) * sums).sum(axis=0)


def causes(outliers: Sequence[float]) -> list[tuple[float, list[int]]]:
    """Return which terms are botched by one cause, and the chance of that, from their chances of an outlier.

    A cause that botches the surer of two tests botches the other as well, so the sets
    are nested, and leaving a test out leaves the chances of the others as they were.

    Examples
    --------
    >>> [(round(chance, 3), terms) for chance, terms in causes([0.04, 0.01])]
    [(0.99, []), (0.007, [0]), (0.003, [0, 1])]
    """
    common = [COMMON * outlier for outlier in outliers]
    out: list[tuple[float, list[int]]] = [(1.0 - max(common), [])]
    steps = sorted(set(common), reverse=True)
    for chance, lower in zip(steps, [*steps[1:], 0.0], strict=True):
        out.append((chance - lower, [i for i, each in enumerate(common) if each >= chance]))
    return out
