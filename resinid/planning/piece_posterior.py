"""What is known of a piece, and the chance of each outcome of a test given that.

Given the observations so far, the properties of a piece are independent within a
variant, and what they say of one property is a weight on the nodes of its grid:
mass of the variant times the product of the likelihoods. The chance of an outcome
is then an average over those weights,

    p(o | v) = sum_x W_v(x) K_o(x) / sum_x W_v(x),

so that tests of one property are never counted twice. A test that shares an error
with an observation, such as a second float in the same jug, is integrated together
with it by the engine itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np
from scipy.special import softmax

from resinid.methods._guard import term_of
from resinid.methods.offered import kernel
from resinid.scoring.dependence import powers
from resinid.scoring.integrals import TINY, integrate, log_product

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.arrays import Array
    from resinid.methods.contract import Observation
    from resinid.methods.test_plan import TestPlan
    from resinid.scoring.engine import Model
    from resinid.scoring.latents import Latent
    from resinid.scoring.properties import Observable
    from resinid.scoring.term import Term


__all__ = ["PiecePosterior"]

OWN_ERROR: Final = 3.0
"""A reading whose own error is this many times the error it shares is foreseen as if it
had that error for itself alone: a tenth of its variance at most is then taken as
independent though it is not."""


class PiecePosterior:
    """What the observations say, ready to foresee the outcomes of tests.

    Parameters
    ----------
    model : Model
    prior : numpy.ndarray
        Probability of each candidate before, shape (candidates,).
    observations : iterable of Observation
        What was observed.

    Attributes
    ----------
    model : Model
        The same.
    variants : numpy.ndarray
        Probability of each variant or grade of one (the model's rows), "none of
        these" last, shape (rows + 1,).
    resins : numpy.ndarray
        Probability of each candidate, shape (candidates,).
    """

    def __init__(self, model: Model, prior: Array, observations: Iterable[Observation]) -> None:
        self.model = model
        self._terms: dict[Observable, list[Term]] = {}
        for observation in observations:
            term = term_of(observation)
            self._terms.setdefault(term.observes, []).append(term)
        self._weights: dict[Observable, Array] = {}
        self._latents: dict[Observable, Latent] = {}
        self._kind = (model.kind_gathering > 0).astype(np.float64)
        log = np.log(np.maximum(model.kind_gathering @ prior[model.kind_owner], TINY))
        self._whole: dict[Observable, tuple[Array, float]] = {}
        power = powers(self._terms)
        for name, terms in self._terms.items():
            found = integrate(terms, self.latent(name))
            self._whole[name] = found.whole, found.offset
            log += power[name] * np.log(found.whole)
        self.variants: Array = softmax(log)
        self.resins: Array = self.by_resin(self.variants)

    def by_resin(self, by_variant: Array) -> Array:
        """Return sums over the variants of each candidate; variants in the last axis."""
        return self.model.by_candidate(self.by_kind(by_variant))

    def by_kind(self, by_variant: Array) -> Array:
        """Return sums over the variants of each kind; variants in the last axis."""
        out: Array = by_variant @ self._kind
        return out

    def latent(self, name: Observable) -> Latent:
        """Return the latent of a property on the grid that the engine takes for what is known of it."""
        found = self._latents.get(name)
        if found is None:
            terms = self._terms.get(name, [])
            # The planner must integrate on the very grid the engine would.
            found = self.model.resolving(name, terms) if terms else self.model.latent(name)
            self._latents[name] = found
        return found

    def standing(self, name: Observable) -> bool:
        """Return whether the grid of a property is the standing one, the same for every piece."""
        return self.latent(name) is self.model.latent(name)

    def weights(self, name: Observable) -> Array:
        """Return the weight of each node for each variant, adding up to one, shape (variants + 1, nodes)."""
        found = self._weights.get(name)
        if found is None:
            latent = self.latent(name)
            found = latent.mass
            if name in self._terms:
                log = log_product(self._terms[name], latent.values)
                found = found * np.exp(log - log.max())
                total = found.sum(axis=1, keepdims=True)
                found = np.where(total > TINY, found / np.maximum(total, TINY), latent.mass)
            self._weights[name] = found
        return found

    def shares_error(self, plan: TestPlan) -> bool:
        """Return whether a plan's outcomes share an error with what was observed."""
        keys = {term.shared.key for term in self._terms.get(plan.observes, ()) if term.shared is not None}
        shared = term_of(plan.outcomes[0]).shared
        return shared is not None and shared.key in keys and shared.sharpness < OWN_ERROR

    def chances(self, plan: TestPlan, at_nodes: Array | None = None) -> Array:
        """Return the chance of each outcome for each variant, shape (outcomes, variants + 1).

        Parameters
        ----------
        plan : TestPlan
        at_nodes : numpy.ndarray, optional
            The plan's :func:`kernel` at the nodes of the property, where it is known already.
        """
        if self.shares_error(plan):
            return self._together(plan)
        values = self.latent(plan.observes).values
        at_nodes = kernel(plan, values) if at_nodes is None else at_nodes
        out: Array = at_nodes @ self.weights(plan.observes).T
        power = powers((*self._terms, plan.observes))[plan.observes]
        if power != 1.0:
            # What depends on something known tells less than its chances say.
            out = out**power
            out /= out.sum(axis=0)
        return out

    def _together(self, plan: TestPlan) -> Array:
        """Return the chances by the engine's own integrals over observations and outcome together."""
        name = plan.observes
        latent, known = self.latent(name), self._terms[name]
        whole, offset = self._whole[name]
        out = np.empty((len(plan.outcomes), whole.size))
        for row, outcome, width in zip(out, plan.outcomes, plan.widths, strict=True):
            found = integrate([*known, term_of(outcome)], latent)
            row[:] = width * np.exp(np.log(found.whole) + (found.offset - offset) - np.log(whole))
        out /= out.sum(axis=0)
        return out

    def joint(self, chances: Array) -> Array:
        """Return the probability of outcome and candidate together, from :meth:`chances`."""
        return self.by_resin(chances * self.variants)
