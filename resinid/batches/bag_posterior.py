"""The posterior over the shares of a bag, in every way in which the bag may be seen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from scipy.special import betainc, softmax

from resinid.batches.bag import as_batches
from resinid.batches.counts import Counts, counts_of
from resinid.batches.item_evidence import ItemGroup, groups_of
from resinid.batches.mixing_rules import mixing_rules
from resinid.errors import RangeError, safe_repr
from resinid.heating.evidence import clearing
from resinid.io.arguments import as_float, check_prior
from resinid.scoring.prior import prior_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.arrays import Array
    from resinid.batches.bag import Batch
    from resinid.reference.table import ReferenceTable

__all__ = ["CONCENTRATION", "BagPosterior", "Views", "posterior_of", "views_of"]

CONCENTRATION: Final = 0.25
"""Sum of the Dirichlet prior's weights. Two pieces taken from one bag are then of one resin
four times in five before anything is seen, since people fill a bag with things of a kind
(common practice, no source)."""

LEAST: Final = 1e-9
"""Least prior share of a resin, so that nothing is ruled out."""


@dataclass(frozen=True, slots=True)
class BagPosterior:
    """A mixture of Dirichlet distributions over the shares of a bag, resins in table order."""

    alpha: Array
    counts: Counts
    groups: tuple[ItemGroup, ...]

    def mean(self) -> Array:
        """Return the expected shares: the chances of what the next piece from the bag is made of."""
        expected: Array = (self.alpha + self.counts.weights @ self.counts.counts) / self._total
        return expected

    @property
    def _total(self) -> float:
        return float(self.alpha.sum()) + self.counts.items

    def quantile(self, resin: int, level: float) -> float:
        """Return a quantile of one resin's share: its marginal is a mixture of Beta distributions."""
        from scipy.optimize import brentq

        number, where = np.unique(self.counts.counts[:, resin], return_inverse=True)
        weights = np.bincount(where.ravel(), weights=self.counts.weights)
        first = self.alpha[resin] + number
        second = np.maximum(self._total - first, 1e-12)

        def below(share: float) -> float:
            return float(weights @ betainc(first, second, share)) - level

        return float(brentq(below, 0.0, 1.0, xtol=1e-12)) if below(0.0) < 0 < below(1.0) else float(level > 0.5)

    def draws(self, number: int, stream: int) -> Array:
        """Return equally likely draws of the shares, shape (number, resins + 1)."""
        rng = np.random.default_rng(stream)
        edges = np.cumsum(self.counts.weights)
        picked = np.searchsorted(edges, (rng.random() + np.arange(number)) / number * edges[-1])
        states = self.counts.counts[np.minimum(picked, edges.size - 1)]
        # Gamma variates of tiny shape underflow; drawn by their logarithm they cannot all vanish.
        shape = self.alpha + states
        log = np.log(rng.standard_gamma(shape + 1.0)) + np.log(rng.random(shape.shape)) / shape
        out: Array = softmax(log, axis=1)
        return out[rng.permutation(number)]

    def main_probability(self) -> Array:
        """Return for each resin the chance that it makes up most of the bag."""
        leaders = (self.alpha + self.counts.counts).argmax(axis=1)
        return np.bincount(leaders, weights=self.counts.weights, minlength=self.alpha.size).astype(np.float64)


@dataclass(frozen=True, slots=True)
class Views:
    """One batch under one prior, in every way in which it may be seen.

    Parameters
    ----------
    prior : numpy.ndarray
        Chances of what an item is before anything is seen, shape (resins + 1,).
    made : BagPosterior
        Its items are of many makes.
    alike : tuple of BagPosterior
        Items that agree are of one make; empty where that is no other view.
    measured : tuple of BagPosterior
        Both, by what was measured alone; empty where all was measured.
    """

    prior: Array
    made: BagPosterior
    alike: tuple[BagPosterior, ...]
    measured: tuple[BagPosterior, ...]

    def both_ways(self) -> BagPosterior:
        """Return a posterior in which it is even odds whether the items are of many makes or of one."""
        if not self.alike:
            return self.made
        first, second = self.made.counts, self.alike[0].counts
        # Keep the evidence computed for many makes: the one computed for a single make leaves items out.
        counts = Counts(
            np.concatenate([first.counts, second.counts]),
            np.concatenate([first.weights, second.weights]) / 2.0,
            first.items,
            first.log_evidence,
            exact=first.exact and second.exact,
        )
        return BagPosterior(self.made.alpha, counts, self.made.groups)


def posterior_of(
    batch: Batch,
    reference: ReferenceTable,
    prior: str | Mapping[str, float] = "default",
    concentration: float = CONCENTRATION,
) -> BagPosterior:
    """Return the posterior over the shares of a batch whose items are of many makes."""
    concentration = _checked(batch, prior, concentration)
    rules = mixing_rules(reference)
    return _posterior(batch, groups_of(batch, rules.model, rules.barred), prior_of(reference, prior), concentration)


def views_of(
    batch: Batch, reference: ReferenceTable, prior: str | Mapping[str, float], concentration: float, *, measured: bool
) -> tuple[Views, Views]:
    """Return all views of a batch under the caller's prior and under the cautious one, in that order.

    By the second a caller's prior can raise a danger, but never lower it.

    Parameters
    ----------
    batch, table, prior, concentration
        As for :func:`posterior_of`.
    measured : bool
        Whether it is to be seen by what was measured alone, too.
    """
    concentration = _checked(batch, prior, concentration)
    rules = mixing_rules(reference)
    makes = (False, True) if _several(batch) else (False,)
    seen = (False, True) if measured and not _all_clearing(batch) else (False,)
    groups = {
        (only, one): groups_of(batch, rules.model, rules.barred, one_make=one, measured=only)
        for only in seen
        for one in makes
    }

    def under(chances: Array) -> Views:
        found = {key: _posterior(batch, each, chances, concentration) for key, each in groups.items()}
        alike = tuple(found[False, one] for one in makes if one)
        return Views(chances, found[False, False], alike, tuple(found[key] for key in groups if key[0]))

    return under(prior_of(reference, prior)), under(rules.cautious)


def _posterior(batch: Batch, groups: tuple[ItemGroup, ...], prior: Array, concentration: float) -> BagPosterior:
    alpha = concentration * np.maximum(prior, LEAST)
    return BagPosterior(alpha, counts_of(groups, alpha, batch.content), groups)


def _checked(batch: object, prior: object, given: object) -> float:
    """Return the concentration; refuse what is none, no batch or no prior."""
    as_batches([batch], "batch")
    check_prior(prior)
    concentration = as_float(given)
    if not 1e-3 <= concentration <= 1e3:
        raise RangeError(f"a concentration of {safe_repr(given)} is not a number from 0.001 to 1000")
    return concentration


def _all_clearing(batch: Batch) -> bool:
    return all(clearing(test) for piece in batch.pieces for test in piece)


def _several(batch: Batch) -> bool:
    """Return whether several items were measured, so that they may be of one make."""
    flakes = sum(counted.floated + counted.sank for counted in batch.flakes)
    return flakes + sum(1 for piece in batch.pieces if piece) > 1
