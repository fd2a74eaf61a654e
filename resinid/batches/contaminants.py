"""Upper limits for contaminants in a bag, and how many clean samples would lower them.

Were every item's resin certain, ``x`` contaminants in ``n`` items would give the exact
binomial limit (Clopper & Pearson 1934, Biometrika 26:404-413, from memory): the quantile
of Beta(x + 1, n - x). Where items are uncertain, ``x`` is too: its distribution with a flat
prior on the contaminant's share is

    P(x) proportional to e_x / C(n, x),   sum_x e_x z^x = prod_i (c_i + d_i z),

``d_i`` and ``c_i`` being what item ``i`` says of the contaminant and of the rest of the bag.
The limit is the quantile of the exact binomial limits mixed over ``P(x)``; it is the
Clopper-Pearson limit itself where items are certain, and 1 where nothing was looked at.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from scipy.special import betainc, gammaln, softmax, xlog1py, xlogy

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.batches.item_evidence import ItemGroup

__all__ = ["LEVEL", "further_clean", "number_of_contaminants", "telling", "upper_limit"]

LEVEL: Final = 0.95
"""Level of an upper limit (common practice)."""

MOST_SAMPLES: Final = 10_000_000


TELLING: Final = 2.0
"""Ratio of likelihoods below which, either way, an item does not count as clean (this project's cautious choice)."""


def telling(groups: Sequence[ItemGroup], contaminant: Array, rest: Array) -> tuple[ItemGroup, ...]:
    """Return the groups whose items tell the contaminant from the rest by :data:`TELLING` at least, either way."""
    ratios = [float(contaminant @ group.resins) / max(float(rest @ group.resins), 1e-300) for group in groups]
    return tuple(group for group, ratio in zip(groups, ratios, strict=True) if not 1.0 / TELLING < ratio < TELLING)


def number_of_contaminants(groups: Sequence[ItemGroup], contaminant: Array, rest: Array) -> Array:
    """Return the distribution of how many items are contaminants, with a flat prior on their share.

    Parameters
    ----------
    groups : sequence of ItemGroup
    contaminant, rest : numpy.ndarray
        Weights of the resins that count as the contaminant and of the others, shape (resins + 1,);
        each adds up to one.

    Returns
    -------
    numpy.ndarray
        Probability of 0, 1, ... contaminants, shape (items + 1,).
    """
    counted = np.ones(1)
    for group in groups:
        of_contaminant, of_rest = float(contaminant @ group.resins), float(rest @ group.resins)
        whole = of_contaminant + of_rest
        chance = of_contaminant / whole if whole > 0 else 0.5
        x = np.arange(group.count + 1)
        log = _log_choose(group.count, x) + xlogy(x, chance) + xlog1py(group.count - x, -chance)
        counted = np.convolve(counted, np.exp(log))
    items = counted.size - 1
    with np.errstate(divide="ignore"):
        log = np.log(counted) - _log_choose(items, np.arange(items + 1))
    out: Array = softmax(log)
    return out


def _log_choose(n: int, x: NDArray[np.int_]) -> Array:
    out: Array = gammaln(n + 1) - gammaln(x + 1) - gammaln(n - x + 1)
    return out


def upper_limit(number: Array, level: float = LEVEL, further: int = 0) -> float:
    """Return the upper limit of a contaminant's share.

    Parameters
    ----------
    number : numpy.ndarray
        Distribution of how many items are contaminants, shape (items + 1,).
    level : float, optional
        0.95 where not given (common practice).
    further : int, optional
        Clean samples thought to have been added.

    Examples
    --------
    >>> round(upper_limit(np.array([1.0, 0.0, 0.0, 0.0])), 4)  # none in three: 1 - 0.05**(1/3)
    0.6316
    """
    from scipy.optimize import brentq

    items = number.size - 1 + further
    x = np.flatnonzero(number > 1e-15)
    weights = number[x] / number[x].sum()
    if items == 0 or float(weights[x == items].sum()) >= 1.0 - level:
        return 1.0
    inside = x < items

    def below(share: float) -> float:
        return float(weights[inside] @ betainc(x[inside] + 1.0, items - x[inside], share)) - level

    return float(brentq(below, 0.0, 1.0, xtol=1e-12))


def further_clean(number: Array, wanted: float, level: float = LEVEL) -> int | None:
    """Return how many further samples, all certainly clean, bring the upper limit to ``wanted`` or below.

    None where ten million would not.

    Examples
    --------
    >>> further_clean(np.array([1.0]), 0.01)  # from nothing: 0.99**n <= 0.05
    299
    """
    if _within(number, wanted, level, 0):
        return 0
    low, high = 0, 1
    while not _within(number, wanted, level, high):
        low, high = high, 2 * high
        if high > MOST_SAMPLES:
            return None
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if _within(number, wanted, level, middle) else (middle, high)
    return high


def _within(number: Array, wanted: float, level: float, further: int) -> bool:
    """Return whether the upper limit is at most a share."""
    items = number.size - 1 + further
    x = np.flatnonzero(number > 1e-15)
    weights = number[x] / number[x].sum()
    inside = x < items
    return float(weights[inside] @ betainc(x[inside] + 1.0, items - x[inside], wanted)) >= level
