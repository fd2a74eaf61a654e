"""Posterior over how many items of a bag are of each resin.

The shares of a bag have a Dirichlet prior. With the shares integrated out, the items'
resins follow the Polya urn: item ``i`` is resin ``k`` with weight
``L_i(k) (alpha_k + n_k) / (A + i)``, ``n_k`` being the items before it of that resin and
``A`` the sum of ``alpha``. Items that are all of one make are of one resin: a make is drawn
from the urn once, however many its items. Only the counts ``n`` matter, so the sum over all assignments
runs over count vectors, merged as they grow (exact but for what is dropped below
:data:`NEGLIGIBLE`). Where there are too many of them, the same urn is drawn from:
sequential importance sampling with resampling (Liu & Chen 1998, J. Am. Stat. Assoc.
93:1032-1044, from memory), with a fixed stream of random numbers.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.batches.item_evidence import ItemGroup

__all__ = ["Counts", "counts_of", "enumerated", "sampled"]

NEGLIGIBLE: Final = 1e-10
"""Count vectors of less weight than this share of the heaviest are dropped; even the most that
are kept could then lack no more than a few millionths of the whole."""

MOST_STATES: Final = 4000
"""More count vectors than this are not enumerated but sampled."""

LONGEST: Final = 200
"""More steps than this, an item or the items of one make each, are not enumerated but sampled."""

PARTICLES: Final = 4000
FEWEST: Final = 500
WORK: Final = 400_000
"""Draws of the sampler: PARTICLES, fewer for many items so that draws times items stay below
WORK, never fewer than FEWEST."""


@dataclass(frozen=True, slots=True)
class Counts:
    """A weighted set of count vectors.

    Parameters
    ----------
    counts : numpy.ndarray
        Shape (states, resins + 1).
    weights : numpy.ndarray
        Of the states, shape (states,); they add up to one.
    items : int
        How many items there are.
    log_evidence : float
        Natural log of the probability of the data under the prior, the shares integrated out.
    exact : bool
        Whether the states were enumerated rather than drawn.
    """

    counts: Array
    weights: Array
    items: int
    log_evidence: float
    exact: bool


def counts_of(groups: Sequence[ItemGroup], alpha: Array, stream: int) -> Counts:
    """Return the posterior over counts, enumerated where that is feasible, else sampled.

    Parameters
    ----------
    groups : sequence of ItemGroup
    alpha : numpy.ndarray
        Weights of the Dirichlet prior, shape (resins + 1,).
    stream : int
        Of the sampler.
    """
    steps = sum(1 if group.one_make else group.count for group in groups)
    found = enumerated(groups, alpha) if steps <= LONGEST else None
    return sampled(groups, alpha, stream) if found is None else found


def _steps(groups: Sequence[ItemGroup]) -> tuple[list[tuple[Array, int]], float]:
    """Return the likelihood and number of items of each step, and the log of all that they were divided by."""
    # Items that tell most come first, so that few states and draws are wasted.
    ordered = sorted(groups, key=lambda group: (float(group.likelihood.sum()), group.likelihood.tolist(), group.count))
    steps: list[tuple[Array, int]] = []
    for group in ordered:
        if group.one_make:
            steps.append((group.likelihood**group.count, group.count))
        else:
            steps += [(group.likelihood, 1)] * group.count
    return steps, math.fsum(group.scale * group.count for group in groups)


def enumerated(groups: Sequence[ItemGroup], alpha: Array, most: int = MOST_STATES) -> Counts | None:
    """Return the posterior over counts by enumeration; None where there are more states than ``most``.

    Examples
    --------
    >>> from resinid.batches.item_evidence import ItemGroup
    >>> sure = ItemGroup(np.array([1.0, 0.0]), 0.0, 3)
    >>> found = enumerated([sure], np.array([1.0, 1.0]))
    >>> found.counts.tolist(), round(math.exp(found.log_evidence), 12)
    ([[3.0, 0.0]], 0.25)
    """
    steps, scale = _steps(groups)
    size = alpha.size
    # A random number for each resin: their sum tells count vectors apart far faster than comparing rows.
    labels = np.random.default_rng(0).integers(1, 2**62, size, dtype=np.uint64)
    counts = np.zeros((1, size))
    log_weights = np.zeros(1)
    keys = np.zeros(1, dtype=np.uint64)
    total = float(alpha.sum())
    for likelihood, number in steps:
        with np.errstate(divide="ignore"):
            grown = log_weights[:, None] + np.log(likelihood * (alpha + counts) / total)
        total += number
        kept = grown > grown.max() + math.log(NEGLIGIBLE)
        rows, columns = np.nonzero(kept)
        new_keys, first, where = np.unique(
            keys[rows] + labels[columns] * np.uint64(number), return_index=True, return_inverse=True
        )
        if new_keys.size > most:
            return None
        peak = float(grown.max())
        log_weights = np.log(np.bincount(where.ravel(), weights=np.exp(grown[kept] - peak))) + peak
        counts = counts[rows[first]]
        counts[np.arange(new_keys.size), columns[first]] += number
        keys = new_keys
    peak = float(log_weights.max())
    weights = np.exp(log_weights - peak)
    evidence = math.log(float(weights.sum())) + peak + scale
    return Counts(counts, weights / weights.sum(), sum(number for _, number in steps), evidence, exact=True)


def sampled(groups: Sequence[ItemGroup], alpha: Array, stream: int, particles: int | None = None) -> Counts:
    """Return the posterior over counts by sequential importance sampling with a fixed stream of random numbers."""
    steps, scale = _steps(groups)
    number = particles or max(FEWEST, min(PARTICLES, WORK // max(len(steps), 1)))
    rng = np.random.default_rng(stream)
    # The prior's weights and the counts so far, resins in columns that lie together in memory.
    urn = np.asfortranarray(np.tile(alpha, (number, 1)))
    log_weights = np.zeros(number)
    total = float(alpha.sum())
    log_evidence = 0.0
    for likelihood, together in steps:
        whole = urn @ likelihood
        log_weights += np.log(np.maximum(whole / total, 1e-300))
        chosen = _drawn(urn, likelihood, rng.random(number) * whole)
        total += together
        urn[np.arange(number), chosen] += together
        peak = float(log_weights.max())
        weights = np.exp(log_weights - peak)
        if weights.sum() ** 2 < 0.5 * number * (weights @ weights):
            log_evidence += math.log(weights.sum() / number) + peak
            edges = np.cumsum(weights) / weights.sum()
            picked = np.searchsorted(edges, (rng.random() + np.arange(number)) / number)
            urn = np.asfortranarray(urn[np.minimum(picked, number - 1)])
            log_weights = np.zeros(number)
    peak = float(log_weights.max())
    weights = np.exp(log_weights - peak)
    log_evidence += math.log(weights.sum() / number) + peak + scale
    states, where = np.unique(np.rint(urn - alpha), axis=0, return_inverse=True)
    merged = np.bincount(where.ravel(), weights=weights)
    return Counts(states, merged / merged.sum(), sum(each for _, each in steps), log_evidence, exact=False)


def _drawn(urn: Array, likelihood: Array, rest: Array) -> NDArray[np.intp]:
    """Return for each draw the resin at which its cumulated weight passes ``rest``, which is used up.

    The resins that are drawn most often are looked at first, so that few are looked at.
    """
    order = np.argsort(-likelihood * urn.sum(axis=0)).tolist()
    chosen = np.full(rest.size, order[0])
    left = np.arange(rest.size)
    for resin in order:
        rest[left] -= urn[left, resin] * likelihood[resin]
        there = rest[left] < 0.0
        chosen[left[there]] = resin
        left = left[~there]
        if not left.size:
            break
    return chosen
