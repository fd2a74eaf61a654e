"""Chances of what becomes of a melted mix of known shares: pure arithmetic on arrays.

For two resins of which the lesser has share ``s`` of the mix, let ``t`` be the chance that so
little is not noticed and ``h`` the chance that it does no harm: one less the normal
distribution function of ``ln(s / tolerance)`` over :data:`TOLERANCE_SPREAD`. With the pair's
chances ``r1, r2, r3`` at a large share and the chance ``v`` that they have a melt temperature
in common,

    one melt      t + (1 - t) r1 v,
    delaminates   (1 - h) (r3 + (1 - v) (1 - r3)),

and what is left is usable with limits. All of this is monotone in ``s``, but for the few pairs whose chances are
published by their shares (:mod:`resinid.batches.pair_conditions`). A mix is one melt if all its pairs are, and holds
together if all its pairs do; pairs count as independent.
"""

from __future__ import annotations

import itertools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from scipy.special import ndtr

from resinid.batches.minority_share import between_bags
from resinid.batches.pair_conditions import at_shares

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.arrays import Array
    from resinid.batches.minority_share import Expected
    from resinid.batches.mixing_rules import Rules

__all__ = ["TOLERANCE_SPREAD", "TRACES", "Chances", "danger", "mixed", "tolerated"]

TOLERANCE_SPREAD: Final = 0.5
"""Standard deviation of the natural log of a tolerated share: limits are good to a factor of about 1.6
(common practice, no source)."""

TRACE: Final = 2e-3
"""Resins expected below this share of the mix are taken together as one, which gets on with each of
the others as they do on average; there are too many of them to go through one by one."""


LEAST: Final = 1e-9
"""No share is tolerated less than this one."""

TRACES: Final = -1
"""Stands for the place of the resins that are taken together."""


@dataclass(frozen=True, slots=True)
class Chances:
    """Chances for each draw of the shares, by pair.

    Parameters
    ----------
    pairs : tuple of (int, int)
        Places of the two resins of each pair; :data:`TRACES` for those taken together.
    one, holds : numpy.ndarray
        Chance that the pair is one melt, and that it does not delaminate, shape (draws, pairs).
    """

    pairs: tuple[tuple[int, int], ...]
    one: Array
    holds: Array


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


def mixed(shares: Array, rules: Rules) -> Chances:
    """Return the chances of every pair in a mix.

    Parameters
    ----------
    shares : numpy.ndarray
        Of the mix for each draw, shape (draws, resins + 1).
    rules : Rules
    """
    mean = shares.mean(axis=0)
    present = np.flatnonzero(mean > TRACE)
    traces = np.flatnonzero(mean <= TRACE)
    weight = mean[traces] / max(float(mean[traces].sum()), 1e-300)

    def lumped(reference: Array) -> Array:
        with_traces = np.concatenate([reference[present], np.tensordot(weight, reference[traces], 1)[None]])
        last = np.tensordot(weight, np.moveaxis(with_traces[:, traces], 1, 0), 1)[:, None]
        out: Array = np.concatenate([with_traces[:, present], last], axis=1)
        return out

    chances, overlaps, notices, harms = map(lumped, (rules.chances, rules.overlaps, rules.notice, rules.harm))
    lumps = np.column_stack([shares[:, present], shares[:, traces].sum(axis=1)])
    i, j = np.triu_indices(present.size + 1, 1)
    first, second = lumps[:, i], lumps[:, j]
    lesser = np.minimum(first, second)
    # The tolerance is that of the lesser in the greater; it matters only where one is much less.
    greater_first = first >= second
    notice = np.where(greater_first, notices[i, j], notices[j, i])
    harm = np.where(greater_first, harms[i, j], harms[j, i])
    unnoticed, harmless = tolerated(lesser, notice), tolerated(lesser, harm)
    places = np.append(present, TRACES)
    pairs = tuple(zip(places[i].tolist(), places[j].tolist(), strict=True))
    large, together = at_shares(rules, pairs, (first, second), chances[i, j], overlaps[i, j])
    one = unnoticed + (1.0 - unnoticed) * large[..., 0] * together
    apart = large[..., 2]
    holds = 1.0 - (1.0 - harmless) * (apart + (1.0 - together) * (1.0 - apart))
    return Chances(pairs, one, np.maximum(holds, one))


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
        Shape (resins + 1, resins + 1), upper triangle: largest expected share of the lesser of
        two resins that are dangerous together, over all pairs of batches and within each.
    """
    alone = np.max(barred, axis=0)
    lesser = [stock.lesser for stock in stocks]
    lesser += [between_bags(one, other, rules.clashing) for one, other in itertools.combinations(stocks, 2)]
    clashing = np.zeros_like(rules.clashes)
    clashing[rules.clashing] = np.max(lesser, axis=0)
    return alone, clashing
