"""Chances of what becomes of a melted mix of known shares: pure arithmetic on arrays.

For two resins of which the lesser has share ``s`` of the mix, let ``t`` be the chance that so
little is not noticed and ``h`` the chance that it does no harm, each with a tolerance of its own:
``1 - Phi(ln(s / tolerance) / TOLERANCE_SPREAD)`` with the normal distribution function ``Phi``.
With the chances ``r1, r2, r3`` that the pair at a large share is one melt, usable with limits or
delaminates, and the chance ``v`` that both have a melt temperature in common,

    one melt      t + (1 - t) r1 v,
    delaminates   (1 - h) (r3 + (1 - v) (1 - r3)),

and what is left is usable with limits. All of this is monotone in ``s``, but for the few pairs whose chances are
published by their shares (:mod:`resinid.batches.pair_conditions`). A mix is one melt if all its pairs are, and holds
together if all its pairs do; pairs count as independent.
"""

from __future__ import annotations

import functools
import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from scipy.special import ndtr

from resinid.batches.minority_share import between_bags
from resinid.batches.pair_conditions import at_shares

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.batches.minority_share import Expected
    from resinid.batches.mixing_rules import Rules

__all__ = ["TOLERANCE_SPREAD", "Chances", "danger", "mixed", "tolerated", "total"]

TOLERANCE_SPREAD: Final = 0.5
"""Standard deviation of the natural log of a tolerated share: limits are good to a factor of about 1.6
(common practice, no source)."""

TRACE: Final = 2e-3
"""Resins expected below this share of the mix are taken together as one, which gets on with each of
the others as they do on average; there are too many of them to go through one by one."""


LEAST: Final = 1e-9
"""Floor of every tolerated share."""

ROUNDS: Final = 8.3
"""Standard deviations beyond which the normal distribution function rounds to one."""


@dataclass(frozen=True, slots=True)
class Chances:
    """Chances for each draw of the shares of some mixes.

    Parameters
    ----------
    one, holds : numpy.ndarray
        Chance that all pairs are one melt, and that none delaminates, shape (mixes, draws).
    lost : numpy.ndarray
        Chance of one melt that each pair takes away by itself, on average over draws, in the place of
        the two resins in ascending order, that of those taken together last, shape
        (mixes, resins + 2, resins + 2); empty where it was not asked for.
    """

    one: Array
    holds: Array
    lost: Array


def tolerated(share: Array, tolerance: Array | float) -> Array:
    """Return the chance that a share does not matter.

    Examples
    --------
    >>> tolerated(np.array([0.0, 0.02]), 0.02).tolist()
    [1.0, 0.5]
    """
    with np.errstate(divide="ignore"):
        out: Array = ndtr(-np.log(share / np.maximum(tolerance, LEAST)) / TOLERANCE_SPREAD)
    return out


def mixed(shares: Array, rules: Rules, *, by_pair: bool = False) -> Chances:
    """Return the chances of what becomes of some mixes.

    A draw has few resins of which enough is there to matter, so only pairs of these are gone through.

    Parameters
    ----------
    shares : numpy.ndarray
        Of the mixes for each draw, shape (mixes, draws, resins + 1).
    rules : Rules
    by_pair : bool, optional
        Whether to tell what each pair takes away.
    """
    mixes, draws, _ = shares.shape
    mean = shares.mean(axis=1)
    traces = np.where(mean > TRACE, 0.0, 1.0)
    weight = mean * traces
    weight /= np.maximum(weight.sum(axis=1, keepdims=True), 1e-300)
    lumps = np.concatenate([shares * (1.0 - traces)[:, None], shares @ traces[:, :, None]], axis=2)
    size = lumps.shape[2]
    spoilt, apart, notice, harm = _tables(weight, rules)
    special = at_shares(rules)
    least = notice.reshape(-1, size).min(axis=0) - ROUNDS
    cells = lumps.reshape(-1, size)
    there = cells > np.exp(least * TOLERANCE_SPREAD)
    number = there.sum(axis=1)
    held = np.flatnonzero(there)
    resin, log = held % size, np.log(cells.ravel()[held]) / TOLERANCE_SPREAD
    start = np.cumsum(number) - number
    one, holds = np.ones(mixes * draws), np.ones(mixes * draws)
    lost = np.zeros(mixes * size * size if by_pair else 0)
    for count in range(2, int(number.max(initial=0)) + 1):
        rows = np.flatnonzero(number == count)
        at = start[rows] + np.arange(count)[:, None]
        which, logs = resin[at], log[at]
        i, j = _two_of(count)
        # The tolerance is that of the lesser in the greater; it matters only where one is much less.
        one_way, other_way = which * size, which + rows // draws * (size * size)
        place = np.where(logs[i] < logs[j], one_way[j] + other_way[i], one_way[i] + other_way[j])
        lesser = np.minimum(logs[i], logs[j])
        over = lesser - notice[place]
        some = np.flatnonzero(over > -ROUNDS)
        places = place.ravel()[some]
        noticed, harmed = np.zeros(over.shape), np.zeros(over.shape)
        lose, loosen = spoilt[places], apart[places]
        for each in special:
            one_share, other_share = cells[rows, each.first], cells[rows, each.second]
            met = (one_share > 0.0) & (other_share > 0.0) & each.met(one_share, other_share)
            if met.any():
                pair = (which[i] == each.first) & (which[j] == each.second) & met
                pair |= (which[i] == each.second) & (which[j] == each.first) & met
                lose[pair.ravel()[some]], loosen[pair.ravel()[some]] = each.spoilt, each.apart
        lose *= ndtr(over.ravel()[some])
        noticed.ravel()[some] = lose
        harmed.ravel()[some] = np.minimum(ndtr(lesser.ravel()[some] - harm[places]) * loosen, lose)
        one[rows] = (1.0 - noticed).prod(axis=0)
        holds[rows] = (1.0 - harmed).prod(axis=0)
        if by_pair:
            lost += np.bincount(places, lose, lost.size)
    lost = lost.reshape(-1, size, size) / draws
    lost = np.triu(lost + lost.swapaxes(1, 2))
    return Chances(one.reshape(mixes, draws), holds.reshape(mixes, draws), lost)


@functools.cache
def _two_of(count: int) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Return the places of the first and the second of every two of some."""
    return np.triu_indices(count, 1)


def _tables(weight: Array, rules: Rules) -> tuple[Array, Array, Array, Array]:
    """Return for each mix and two resins, the resins taken together last, and flat, what the sums over pairs need.

    That is how much of one melt, and of what holds together, a noticed share of the second takes from the first;
    and the natural logs of the shares from which it is noticed and does harm, over :data:`TOLERANCE_SPREAD`.
    """
    size = weight.shape[1]
    known = np.stack([rules.overlaps, rules.chances[:, :, 0], rules.chances[:, :, 2], rules.notice, rules.harm])

    def made(table: Array) -> Array:
        together, good, bad, notice, harm = table
        tolerances = (np.log(np.maximum(each, LEAST)) / TOLERANCE_SPREAD for each in (notice, harm))
        return np.stack([1.0 - good * together, bad + (1.0 - together) * (1.0 - bad), *tolerances])

    down, across = weight @ known, weight @ known.swapaxes(1, 2)
    out = np.empty((4, len(weight), size + 1, size + 1))
    out[:, :, :size, :size] = made(known)[:, None]
    out[:, :, size, :size] = made(down)
    out[:, :, :size, size] = made(across)
    out[:, :, size, size] = made((down * weight).sum(axis=2))
    spoilt, apart, notice, harm = out.reshape(4, -1)
    return spoilt, apart, notice, harm


def danger(stocks: Sequence[Expected], rules: Rules, barred: Sequence[Array]) -> tuple[Array, Array]:
    """Return how much of the worst batch is dangerous by itself, and of any two batches together.

    Shares of the mix do not come in: a bag that must not be heated does not become harmless by
    being thinned with another.

    Parameters
    ----------
    stocks : sequence of Expected
        What is expected of the shares of each batch, its pairs those of :attr:`Rules.clashing`.
    rules : Rules
    barred : sequence of numpy.ndarray
        How much of each batch is of a kind that must not be heated, by resin, shape (resins + 1,).

    Returns
    -------
    alone : numpy.ndarray
        Shape (resins + 1,): largest chance, over batches, that the next piece taken from one is
        of that resin, if the resin is barred.
    clashing : numpy.ndarray
        For each pair of :attr:`Rules.clashing`: largest expected share of the lesser of the two,
        over all pairs of batches and within each.
    """
    lesser = [stock.lesser for stock in stocks]
    lesser += [between_bags(one.above, other.above, rules.clashing) for one, other in itertools.combinations(stocks, 2)]
    return np.max(barred, axis=0), np.max(lesser, axis=0)


def total(alone: Array, clashing: Array, rules: Rules) -> Array:
    """Return the danger as one number for each mix, from what :func:`danger` returns of it.

    What must not be heated by itself is counted by itself, whatever it clashes with.
    """
    first, second = rules.clashing
    safe = (1.0 - rules.barred[first]) * (1.0 - rules.barred[second])
    out: Array = np.minimum(1.0, alone.sum(axis=-1) + clashing @ safe)
    return out
