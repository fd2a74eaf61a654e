"""Sums over the strangers' share of a bag, and what strangers tell of one another: pure arithmetic on arrays."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from scipy.special import logsumexp, roots_jacobi

from resinid.batches.makes import TINY

if TYPE_CHECKING:
    from resinid.arrays import Array

__all__ = ["MAIN", "Filled", "learned", "nodes_of"]

MAIN: Final = 4.05
"""Weight of the main kind of a bag."""

MOST_NODES: Final = 48
"""Nodes of the integral over the strangers' share: exact up to twice as many items, and good to a few per mille at
five thousand."""

ROUNDS: Final = 4
"""Rounds in which strangers tell what other strangers are."""

CLEAR: Final = 3
"""Power of an item's chance to be a stranger by which it tells what other strangers are (this project's choice)."""


@dataclass(frozen=True, slots=True, eq=False)
class Filled:
    """For each way in which a bag may be filled, log of the likelihood, and each item's chance to be a stranger."""

    log: Array
    stranger: Array

    @classmethod
    def of(cls, log: Array, log_stranger: Array, counts: Array, nodes: tuple[Array, Array]) -> Filled:
        """Integrate the strangers' share; ``log`` has the shape (ways, groups)."""
        at, weight = nodes
        # (ways, groups, nodes); the ratio of belonging to not belonging.
        ratio = np.exp(np.minimum(log - log_stranger, 600.0))[:, :, None]
        whole = (1.0 - at) * ratio + at
        each = np.einsum("wgn,g->wn", np.log(whole), counts) + np.log(weight)
        log_sum = logsumexp(each, axis=1)
        after = np.exp(each - log_sum[:, None])
        stranger = np.einsum("wn,wgn->wg", after, at / whole)
        return cls(log_sum + float(counts @ log_stranger) if counts.size else log_sum, stranger)


def nodes_of(items: int, concentration: float) -> tuple[Array, Array]:
    """Return nodes and weights of Beta(concentration, MAIN), the distribution of the strangers' share."""
    x, weight = roots_jacobi(min(items // 2 + 1, MOST_NODES), MAIN - 1.0, concentration - 1.0)
    return 0.5 * (x + 1.0), weight / weight.sum()


def learned(stranger: Array, by_kind: Array, counts: Array, base: Array) -> tuple[Array, Array]:
    """Return each item's chance to be a stranger, and what it then is, once the clear strangers tell of the others.

    Given the main kind, what strangers are has the Dirichlet weights ``base``. To these every item but the one in
    question adds, for the kinds it may be, the cube of its chance to be a stranger, so that doubtful ones add little;
    else many items that fit both would persuade one another. One item alone is left as it is.

    Parameters
    ----------
    stranger : numpy.ndarray
        Chances where strangers are drawn from ``base``, shape (mains, groups).
    by_kind, counts : numpy.ndarray
        Likelihood of one item of each group for each kind, and how many they are.
    base : numpy.ndarray
        Weights by kind, shape (kinds,).

    Returns
    -------
    numpy.ndarray
        Shapes (mains, groups) and (mains, groups, kinds).
    """
    usual = by_kind * (base / base.sum())
    before = np.maximum(usual.sum(axis=1), TINY)
    after = stranger
    of = np.broadcast_to(usual / before[:, None], (*stranger.shape, base.size))
    for _ in range(ROUNDS):
        clear = (after**CLEAR)[:, :, None] * of
        others = base + np.einsum("g,kgq->kq", counts, clear)[:, None, :] - clear
        likely = by_kind * others / others.sum(axis=2, keepdims=True)
        now = np.maximum(likely.sum(axis=2), TINY)
        after = stranger * now / before
        after = after / (after + (1.0 - stranger))
        of = likely / now[:, :, None]
    return after, of
