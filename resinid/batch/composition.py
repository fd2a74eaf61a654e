"""What a bag consists of: the posterior over the shares of all resins."""

from __future__ import annotations

import json
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from scipy.special import betainc

from resinid.batch.bag import batches_of
from resinid.batch.counts import Counts, counts_of
from resinid.batch.evidence import Group, groups_of
from resinid.batch.rules import rules_of
from resinid.batch.strangers import LEVEL, further_clean, number_of_strangers, telling, upper_limit
from resinid.door.arguments import check_prior, float_of
from resinid.door.fields import close_to
from resinid.errors import RangeError, UnknownNameError, shown
from resinid.notebook import ShowsItself
from resinid.safety import clearing
from resinid.scoring.prior import prior_of
from resinid.table.table import Table, table_or_own

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from resinid.batch.bag import Batch

    Array = NDArray[np.float64]

__all__ = ["ANY_DANGEROUS", "CONCENTRATION", "Composition", "Posterior", "Share", "Stranger", "batch_composition"]

CONCENTRATION: Final = 0.25
"""Sum of the Dirichlet prior's weights. Two pieces taken from one bag are then of one resin
four times in five before anything is seen, since people fill a bag with things of a kind
(common practice, no source)."""

WANTED: Final = 0.01
"""Share below which a dangerous stranger's upper limit is wanted (this project's cautious choice)."""

ANY_DANGEROUS: Final = "any dangerous resin"


@dataclass(frozen=True, slots=True)
class Posterior:
    """A mixture of Dirichlet distributions over the shares of a bag, resins in table order."""

    alpha: Array
    counts: Counts
    groups: tuple[Group, ...]

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
        weights = np.exp(log - log.max(axis=1, keepdims=True))
        out: Array = weights / weights.sum(axis=1, keepdims=True)
        return out[rng.permutation(number)]

    def main_probability(self) -> Array:
        """Return for each resin the chance that it makes up most of the bag."""
        leaders = (self.alpha + self.counts.counts).argmax(axis=1)
        return np.bincount(leaders, weights=self.counts.weights, minlength=self.alpha.size).astype(np.float64)


@dataclass(frozen=True, slots=True)
class Share:
    """A resin's share of a bag: expected, its 95 % credible interval, and expected before looking."""

    resin: str
    mean: float
    low: float
    high: float
    before: float


@dataclass(frozen=True, slots=True)
class Stranger:
    """A resin that must not be heated: its expected share, the upper limit of it, what would lower that.

    ``further`` is how many further samples, all clean, bring the limit to ``wanted``; None
    where no number would.
    """

    resin: str
    mean: float
    limit: float
    wanted: float
    further: int | None


@dataclass(frozen=True, slots=True)
class Composition(ShowsItself):
    """What a bag consists of.

    Parameters
    ----------
    batch : str
        Name of the bag.
    items : int
        Pieces and flakes looked at.
    shares : tuple of Share
        Largest expected share first; one of them is ``"none of these"``.
    main_probability : float
        Chance that the first of them makes up most of the bag.
    strangers : tuple of Stranger
        All dangerous resins together, then each, highest limit first.
    level : float
        Level of the strangers' upper limits.
    exact : bool
        Whether the sum over all assignments was enumerated rather than sampled.
    concentration : float
        Of the prior.
    sources : tuple of str
        Keys of the sources behind the leading resins' scores.
    """

    batch: str
    items: int
    shares: tuple[Share, ...]
    main_probability: float
    strangers: tuple[Stranger, ...]
    level: float
    exact: bool
    concentration: float
    sources: tuple[str, ...]

    @property
    def main(self) -> Share:
        """The share of the main resin."""
        return self.shares[0]

    def __getitem__(self, resin: str) -> Share:
        """Return the share of a resin by its symbol.

        Raises
        ------
        UnknownNameError
            There is no candidate of that symbol.
        """
        for share in self.shares:
            if share.resin == resin:
                return share
        names = sorted(share.resin for share in self.shares)
        raise UnknownNameError(f"{shown(resin)} is no candidate; known: {', '.join(names)}{close_to(resin, names)}")

    def to_dict(self) -> dict[str, Any]:
        """Return the composition as JSON types."""
        return asdict(self)

    def to_json(self) -> str:
        """Return the composition as JSON text."""
        return json.dumps(self.to_dict(), ensure_ascii=False, allow_nan=False)


def posterior_of(
    batch: Batch,
    table: Table,
    prior: str | Mapping[str, float] = "default",
    concentration: float = CONCENTRATION,
    *,
    one_make: bool = False,
    measured: bool = False,
) -> Posterior:
    """Return the posterior over the shares of a batch, as :func:`resinid.batch.evidence.groups_of` takes its items."""
    batches_of([batch], "batch")
    check_prior(prior)
    concentration, given = float_of(concentration), concentration
    if not 1e-3 <= concentration <= 1e3:
        raise RangeError(f"a concentration of {shown(given)} is not a number from 0.001 to 1000")
    rules = rules_of(table)
    alpha = concentration * np.maximum(prior_of(table, prior), 1e-9)
    groups = groups_of(batch, rules.model, rules.barred, one_make=one_make, measured=measured)
    return Posterior(alpha, counts_of(groups, alpha, batch.content), groups)


def alike_views(
    batch: Batch, table: Table, prior: str | Mapping[str, float], concentration: float
) -> tuple[Posterior, ...]:
    """Return a batch seen as of one make; nothing where that is no other view."""
    return (posterior_of(batch, table, prior, concentration, one_make=True),) if _several(batch) else ()


def measured_views(
    batch: Batch, table: Table, prior: str | Mapping[str, float], concentration: float
) -> tuple[Posterior, ...]:
    """Return a batch seen by what was measured alone, of many makes and of one; nothing where all was measured."""
    if all(clearing(test) for piece in batch.pieces for test in piece):
        return ()
    makes = (False, True) if _several(batch) else (False,)
    return tuple(posterior_of(batch, table, prior, concentration, one_make=one, measured=True) for one in makes)


def both_ways(made: Posterior, alike: tuple[Posterior, ...]) -> Posterior:
    """Return a posterior in which it is even odds whether a bag's items are of many makes or of one."""
    if not alike:
        return made
    first, second = made.counts, alike[0].counts
    # The evidence stays that of many makes: of one make not all items were looked at.
    counts = Counts(
        np.concatenate([first.counts, second.counts]),
        np.concatenate([first.weights, second.weights]) / 2.0,
        first.items,
        first.log_evidence,
        exact=first.exact and second.exact,
    )
    return Posterior(made.alpha, counts, made.groups)


def _several(batch: Batch) -> bool:
    """Return whether several items were measured, so that they may be of one make."""
    flakes = sum(counted.floated + counted.sank for counted in batch.flakes)
    return flakes + sum(1 for piece in batch.pieces if piece) > 1


def batch_composition(
    batch: Batch,
    *,
    prior: str | Mapping[str, float] = "default",
    table: Table | None = None,
    concentration: float = CONCENTRATION,
    wanted: float = WANTED,
    level: float = LEVEL,
) -> Composition:
    """Say what a bag consists of, from all that was sampled from it.

    Parameters
    ----------
    batch : Batch
    prior : str or mapping, optional
        Expected shares before looking, as :func:`resinid.identify` takes it.
    table : Table, optional
    concentration : float, optional
        Sum of the Dirichlet prior's weights: small where bags hold things of a kind; see
        :data:`CONCENTRATION` for the default.
    wanted : float, optional
        Share below which each dangerous stranger's limit is wanted; 0.01 where not given.
    level : float, optional
        Level of these limits; 0.95 where not given.

    Returns
    -------
    Composition

    Raises
    ------
    InputError
        What is no batch, prior or table; weights of a prior that cannot be; a piece that is marked
        with an unknown resin.
    UnknownNameError
        No prior is called that.
    RangeError
        A number out of range.

    Notes
    -----
    Shares have a Dirichlet prior of weights ``concentration`` times the prior; the pieces
    are latent-class data (:mod:`resinid.batch.counts`). Whether pieces and flakes that were
    measured are of many makes or of one is taken as even odds (:mod:`resinid.batch.evidence`).
    Limits of strangers do not lean on that prior, and are the higher of the two:
    :mod:`resinid.batch.strangers`.

    Examples
    --------
    >>> from resinid.batch.bag import Batch
    >>> found = batch_composition(Batch.of("caps", marked={"PE-HD": 20}))
    >>> found.main.resin, found.main.mean > 0.95, found.strangers[0].limit < 0.2
    ('PE-HD', True, True)
    """
    wanted, level = float_of(wanted), float_of(level)
    if not 0 < wanted < 1 or not 0.5 <= level < 1:
        raise RangeError("wanted must be a number between 0 and 1, and level one from 0.5 to below 1")
    chosen = table_or_own(table)
    made = posterior_of(batch, chosen, prior, concentration)
    alike = alike_views(batch, chosen, prior, concentration)
    found = both_ways(made, alike)
    rules = rules_of(chosen)
    mean = found.mean()
    before = found.alpha / found.alpha.sum()
    order = np.argsort(-mean, kind="stable").tolist()
    names = rules.model.candidates
    barred = np.flatnonzero(rules.barred)
    views = tuple(view.groups for view in (made, *alike))
    strangers = [
        _stranger(names[k], found, views, np.arange(mean.size) == k, wanted=wanted, level=level)
        for k in barred.tolist()
    ]
    every = _stranger(ANY_DANGEROUS, found, views, rules.barred > 0, wanted=wanted, level=level)
    observed = {o.observes for piece in batch.pieces for o in piece} | ({"density"} if batch.flakes else set())
    sources: set[str] = set()
    for name in observed:
        sources.update(*(rules.model.sources(name, k) for k in order if mean[k] >= WANTED))
    return Composition(
        batch=batch.name,
        items=found.counts.items,
        shares=tuple(
            Share(names[k], float(mean[k]), found.quantile(k, 0.025), found.quantile(k, 0.975), float(before[k]))
            for k in order
        ),
        main_probability=float(found.main_probability()[order[0]]),
        strangers=(every, *sorted(strangers, key=lambda s: (-s.limit, s.resin))),
        level=level,
        exact=found.counts.exact,
        concentration=float(concentration),
        sources=tuple(sorted(sources)),
    )


def _stranger(
    name: str,
    found: Posterior,
    views: tuple[tuple[Group, ...], ...],
    which: NDArray[np.bool_],
    *,
    wanted: float,
    level: float,
) -> Stranger:
    mean, before = found.mean(), found.alpha
    stranger, rest = np.where(which, before, 0.0), np.where(which, 0.0, mean)
    stranger, rest = stranger / stranger.sum(), rest / rest.sum()
    # The highest limit of all ways to see the items counts: of many makes or of one, and without
    # those that hardly tell the stranger from the rest, for these must not seem to be clean.
    seen = [groups for view in views for groups in (view, telling(view, stranger, rest))]
    number = max((number_of_strangers(each, stranger, rest) for each in seen), key=lambda n: upper_limit(n, level))
    return Stranger(
        resin=name,
        mean=float(mean[which].sum()),
        limit=upper_limit(number, level),
        wanted=wanted,
        further=further_clean(number, wanted, level),
    )
