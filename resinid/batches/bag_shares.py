"""What is known of the shares of a bag: means, quantiles and draws of them, and how dangerous the next piece is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from scipy.special import betainc, softmax

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.batches.item_evidence import ItemGroup

__all__ = ["BagPosterior"]

UNSEEN: Final = 1e-4
"""Parts of a mixture of less weight than this move no quantile that is asked for."""

HALVINGS: Final = 36
"""Of an interval in which a quantile lies: to 1e-11."""


@dataclass(frozen=True, slots=True, eq=False)
class BagPosterior:
    """A mixture of Dirichlet distributions over the shares of a bag, one for each main kind that it may have.

    Parameters
    ----------
    prior : numpy.ndarray
        Chances of what a stranger is, by resin, shape (resins + 1,).
    main : numpy.ndarray
        Resin of the main kind of each part of the mixture, shape (parts,).
    weights : numpy.ndarray
        Of the parts, shape (parts,); they add up to one.
    alpha : numpy.ndarray
        Weights of the Dirichlet distributions by kind, shape (parts, kinds).
    barred : numpy.ndarray
        One for each kind that must not be heated, shape (kinds,).
    owner : numpy.ndarray
        Resin of each kind, ascending, shape (kinds,).
    groups : tuple of ItemGroup
    items : numpy.ndarray
        Chances of what one item of each group is, given the whole bag, shape (groups, kinds).
    log_evidence : float
        Natural log of the probability of all that was read.
    """

    prior: Array
    main: NDArray[np.int64]
    weights: Array
    alpha: Array
    barred: Array
    owner: NDArray[np.int64]
    groups: tuple[ItemGroup, ...]
    items: Array
    log_evidence: float

    @property
    def count(self) -> int:
        """How many items were looked at."""
        return sum(group.count for group in self.groups)

    @property
    def by_resin(self) -> Array:
        """Weights of the Dirichlet distributions by resin, shape (parts, resins + 1)."""
        starts = np.searchsorted(self.owner, np.arange(self.prior.size))
        out: Array = np.add.reduceat(self.alpha, starts, axis=1)
        return out

    def kinds(self) -> Array:
        """Return the expected share of each kind: the chances of what the next piece from the bag is made of."""
        out: Array = self.weights @ (self.alpha / self.alpha.sum(axis=1, keepdims=True))
        return out

    def mean(self) -> Array:
        """Return the expected shares by resin."""
        return np.bincount(self.owner, weights=self.kinds()).astype(np.float64)

    def quantiles(self, level: float) -> Array:
        """Return a quantile of each resin's share: its marginal is a mixture of Beta distributions."""
        kept = self.weights > UNSEEN
        first = self.by_resin[kept]
        second = np.maximum(first.sum(axis=1, keepdims=True) - first, 1e-12)
        weights = self.weights[kept] / self.weights[kept].sum()
        low, high = np.zeros(self.prior.size), np.ones(self.prior.size)
        for _ in range(HALVINGS):
            middle = 0.5 * (low + high)
            below = weights @ betainc(first, second, middle) < level
            low, high = np.where(below, middle, low), np.where(below, high, middle)
        return 0.5 * (low + high)

    def draws(self, number: int, stream: int) -> Array:
        """Return equally likely draws of the shares by resin, shape (number, resins + 1)."""
        rng = np.random.default_rng(stream)
        edges = np.cumsum(self.weights)
        picked = np.searchsorted(edges, (rng.random() + np.arange(number)) / number * edges[-1])
        shape = self.by_resin[np.minimum(picked, edges.size - 1)]
        # Gamma variates of tiny shape underflow; drawn by their logarithm they cannot all vanish.
        log = np.log(rng.standard_gamma(shape + 1.0)) + np.log(rng.random(shape.shape)) / shape
        out: Array = softmax(log, axis=1)
        return out[rng.permutation(number)]

    def main_probability(self) -> Array:
        """Return for each resin the chance that it makes up most of the bag."""
        leaders = self.by_resin.argmax(axis=1)
        return np.bincount(leaders, weights=self.weights, minlength=self.prior.size).astype(np.float64)

    def danger(self) -> float:
        """Return the chance that the next piece from the bag must not be heated."""
        return float(self.kinds() @ self.barred)

    def danger_of_any(self, pieces: int) -> float:
        """Return the chance that of so many further pieces of the bag at least one must not be heated."""
        from scipy.special import betaln

        first = self.alpha @ self.barred
        second = np.maximum(self.alpha.sum(axis=1) - first, 1e-12)
        none = np.exp(betaln(first, second + pieces) - betaln(first, second))
        return 1.0 - float(self.weights @ none)
