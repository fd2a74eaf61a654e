"""Expected share of the lesser of two resins: how much of two can meet that must not.

Within one bag whose shares ``s`` follow a Dirichlet distribution, ``s_i + s_j`` is independent
of ``b = s_i / (s_i + s_j)``, which follows Beta(a_i, a_j) (Johnson, Kotz, Balakrishnan 2000,
Continuous Multivariate Distributions 1, chapter 49, from memory), so that with ``A`` the sum of
all weights

    E min(s_i, s_j) = (a_i + a_j)/A E min(b, 1 - b).

Of two bags, whose shares are independent, ``E min(x, y)`` is the integral of
``P(x > t) P(y > t)`` over ``t`` from 0 to 1.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from scipy.special import betainc

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.arrays import Array

__all__ = ["Expected", "between_bags", "expected", "just", "lesser_of"]

AT: Final = np.concatenate([np.geomspace(1e-6, 0.05, 18), np.linspace(0.05, 1.0, 39)[1:]])
"""Shares at which ``P(x > t)`` is known; between them it is taken as straight."""

UNDER: Final = 0.5 * (np.diff(AT, prepend=0.0) + np.diff(AT, append=1.0)) + 0.5 * AT[0] * (AT[0] == AT)
"""Weights of heights at :data:`AT` in an area by the trapezoid rule; below the first next to nothing can be had."""

NEGLIGIBLE: Final = 1e-4
"""Weight of a distribution that is left out; the others are made to add up to one."""


@dataclass(frozen=True, slots=True)
class Expected:
    """What is expected of a bag's shares.

    Parameters
    ----------
    mean : numpy.ndarray
        Expected share of each resin, shape (resins + 1,).
    above : numpy.ndarray
        Chance that a resin's share is above each of :data:`AT`, shape (resins + 1, shares).
    lesser : numpy.ndarray
        Expected share of the lesser of each two resins asked for, shape (pairs,).
    """

    mean: Array
    above: Array
    lesser: Array


def expected(alpha: Array, weights: Array, pairs: tuple[NDArray[np.intp], NDArray[np.intp]]) -> Expected:
    """Return what is expected under a mixture of Dirichlet distributions.

    Parameters
    ----------
    alpha : numpy.ndarray
        Weights of each distribution, shape (parts, resins + 1).
    weights : numpy.ndarray
        Of the distributions, shape (parts,).
    pairs : tuple of numpy.ndarray
        First and second resin of each pair asked for.

    Examples
    --------
    >>> one = (np.array([0]), np.array([1]))
    >>> found = expected(np.ones((1, 2)), np.ones(1), one)  # min(s, 1 - s), s uniform
    >>> found.mean.tolist(), found.lesser.round(12).tolist()
    ([0.5, 0.5], [0.25])
    """
    mean = weights @ (alpha / alpha.sum(axis=1, keepdims=True))
    kept = weights > NEGLIGIBLE
    alpha, weights = alpha[kept], weights[kept] / weights[kept].sum()
    total = alpha.sum(axis=1)
    above = np.zeros((alpha.shape[1], AT.size))
    for part, whole, weight in zip(alpha, total, weights, strict=True):
        above += weight * _above(part[:, None], np.maximum(whole - part, 1e-12)[:, None])
    return Expected(mean, above, lesser_of(alpha, weights, pairs))


def lesser_of(alpha: Array, weights: Array, pairs: tuple[NDArray[np.intp], NDArray[np.intp]]) -> Array:
    """Return the expected share of the lesser of each pair, as :func:`expected` does, shape (pairs,)."""
    i, j = pairs
    out: Array = weights @ (_least(alpha[:, i], alpha[:, j]) / alpha.sum(axis=1, keepdims=True))
    return out


def _above(a: Array, b: Array) -> Array:
    """Return the chance that Beta(a, b) is above each share, by its mirror image (scipy 1.11 has no complement)."""
    out: Array = betainc(b, a, 1.0 - AT)
    return out


def _least(a: Array, b: Array) -> Array:
    """Return E min(b, 1 - b) of Beta(a, b), by halves, times a + b."""
    out: Array = a * betainc(a + 1.0, b, 0.5) + b * betainc(b + 1.0, a, 0.5)
    return out


def just(mean: Array, pairs: tuple[NDArray[np.intp], NDArray[np.intp]]) -> Expected:
    """Return the same for shares that are known."""
    return Expected(mean, (mean[:, None] > AT).astype(np.float64), np.minimum(mean[pairs[0]], mean[pairs[1]]))


def between_bags(one: Array, other: Array, pairs: tuple[NDArray[np.intp], NDArray[np.intp]]) -> Array:
    """Return the expected share of the lesser where a pair's resins come from two bags, the larger of both ways.

    Parameters
    ----------
    one, other : numpy.ndarray
        :attr:`Expected.above` of two bags, or of some times two, shape (..., resins + 1, shares).
    pairs : tuple of numpy.ndarray
        First and second resin of each pair asked for.

    Examples
    --------
    >>> pair = (np.array([0]), np.array([1]))
    >>> first, second = just(np.array([0.7, 0.3]), pair), just(np.array([0.8, 0.2]), pair)
    >>> between_bags(first.above, second.above, pair).round(1).tolist()  # 0.8 in the second, 0.3 in the first
    [0.3]
    """
    i, j = pairs
    both = one * UNDER @ other.swapaxes(-1, -2)
    out: Array = np.maximum(both[..., i, j], both[..., j, i])
    return out
