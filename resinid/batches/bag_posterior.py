"""What a bag consists of, given all that was sampled from it.

A bag holds one main kind of plastic and some strangers. The main kind ``k`` is drawn from the prior ``pi``; the
bag's shares then have a Dirichlet distribution with the weights ``concentration * pi``, and ``MAIN`` more for ``k``.
The main kind is of many makes, each item with a make of its own; or, as likely, of one make
(:mod:`resinid.batches.makes`). With ``e`` the strangers' share, which then follows Beta(concentration, MAIN),
``L_ik`` the likelihood of item ``i`` if it is of the main kind and ``M_i = sum_r pi_r L_ir`` that of a stranger
(an item drawn from the prior, by chance perhaps of the main kind too),

    P(y) = sum_k pi_k  mean over e of  prod_i [(1 - e) L_ik + e M_i].

That is exact but for one thing: in it strangers are drawn from ``pi`` each, though one that was found makes
others like it likelier. That comes in afterwards: given the main kind, each item is weighed again, in four rounds,
by what the clear strangers among the others are, and the shares are Dirichlet with the expected number of items of
each kind added to its weights. So nothing depends on the order of the items, and no random numbers are used.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from scipy.special import logsumexp

from resinid.batches.bag import as_batches
from resinid.batches.bag_shares import BagPosterior
from resinid.batches.bag_sums import MAIN, Filled, learned, nodes_of
from resinid.batches.item_evidence import ItemGroup, group_of, groups_of
from resinid.batches.makes import TINY, Makes, makes_of
from resinid.batches.mixing_rules import Rules, mixing_rules
from resinid.errors import RangeError, safe_repr
from resinid.heating.evidence import clearing
from resinid.identification.score import prior_for
from resinid.io.arguments import as_float, check_prior
from resinid.io.build import build
from resinid.methods.registry import find_test

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.batches.bag import Batch
    from resinid.methods.contract import Observation
    from resinid.reference.table import ReferenceTable

__all__ = ["CONCENTRATION", "MAIN", "evidence_of", "posterior_of", "views_of"]

CONCENTRATION: Final = 0.45
"""Weight of the strangers in a bag. With :data:`MAIN` a tenth of a bag does not belong, on average, and two pieces
taken from one are of one resin four times in five before anything is seen, since people fill a bag with things of
a kind (common practice, no source)."""

ONE_MAKE: Final = 0.5
"""Chance that a bag's main kind is all of one make (nothing is known: even odds)."""

LEAST: Final = 1e-9
"""Least prior share of a resin, so that nothing is ruled out."""

NEGLIGIBLE: Final = 1e-9
"""Main kinds of less probability than this are left out of shares."""


def posterior_of(
    batch: Batch,
    reference: ReferenceTable,
    prior: str | Mapping[str, float] = "default",
    concentration: float = CONCENTRATION,
) -> BagPosterior:
    """Return the posterior over the shares of a batch by all that was seen of it."""
    concentration = _checked(batch, prior, concentration)
    rules = mixing_rules(reference)
    groups = groups_of(batch, rules.model, rules.barred)
    return _posteriors(groups, rules, [prior_for(reference, prior)], concentration, _stated(batch, rules))[0]


def _stated(batch: Batch, rules: Rules) -> ItemGroup | None:
    """Return what the stated article, such as screw caps, tells of a bag's main kind."""
    if not batch.article:
        return None
    article: Observation = build(find_test("article", ()), {"outcome": batch.article})
    return group_of(rules.model, "", (article,), 1)


def views_of(
    batch: Batch, reference: ReferenceTable, prior: str | Mapping[str, float], concentration: float, *, measured: bool
) -> tuple[BagPosterior, ...]:
    """Return a batch as the caller's prior sees it and, in that order, the cautious one.

    By the second a caller's prior can raise a danger, but never lower it.

    Parameters
    ----------
    batch, reference, prior, concentration
        As for :func:`posterior_of`.
    measured : bool
        Whether both are to be returned by what was measured alone, too, where a piece has a test that clears nothing
        or the bag's article is stated.
    """
    concentration = _checked(batch, prior, concentration)
    rules = mixing_rules(reference)
    priors = [prior_for(reference, prior), rules.cautious]
    said = _stated(batch, rules)
    out = _posteriors(groups_of(batch, rules.model, rules.barred), rules, priors, concentration, said)
    if measured and not (said is None and all(clearing(test) for piece in batch.pieces for test in piece)):
        groups = groups_of(batch, rules.model, rules.barred, measured=True)
        out = (*out, *_posteriors(groups, rules, priors, concentration))
    return out


def evidence_of(
    groups: Sequence[ItemGroup], rules: Rules, priors: Sequence[Array], concentration: float = CONCENTRATION
) -> tuple[BagPosterior, ...]:
    """Return the posterior of some items under each prior, such as those of two bags that are taken for one."""
    return _posteriors(tuple(groups), rules, priors, concentration)


def _posteriors(
    groups: tuple[ItemGroup, ...],
    rules: Rules,
    priors: Sequence[Array],
    concentration: float,
    said: ItemGroup | None = None,
) -> tuple[BagPosterior, ...]:
    """Return the posterior under each of some priors; what does not depend on them is worked out once.

    ``said`` is what is stated of the bag as a whole, and tells of its main kind only.
    """
    model = rules.model
    priors = [np.maximum(prior, LEAST) for prior in priors]
    priors = [prior / prior.sum() for prior in priors]
    of_row = model.gathering.sum(axis=1)
    row_owner = model.gathering.argmax(axis=1)
    of_kind = model.kind_gathering.sum(axis=0)
    kind_of_row = model.kind_gathering.argmax(axis=1)
    counts, by_kind = _counts(groups), _by_kind(groups, rules)
    nodes = nodes_of(int(counts.sum()), concentration)
    strangers = [np.log(np.maximum(by_kind @ (prior[model.kind_owner] * of_kind), TINY)) for prior in priors]
    log_kinds = np.log(np.maximum(by_kind.T, TINY))
    many = [Filled.of(log_kinds, stranger, counts, nodes) for stranger in strangers]
    said_kind, said_row = (0.0, 0.0) if said is None else (np.log(said.kinds), np.log(np.maximum(said.rows, TINY)))
    log_many = [np.log((1.0 - ONE_MAKE) * prior[model.kind_owner] * of_kind) + said_kind for prior in priors]
    log_rows = [np.log(ONE_MAKE * prior[row_owner] * of_row) + said_row for prior in priors]
    makes = Makes(np.zeros(0, dtype=np.intp), np.zeros(0), np.zeros((0, len(groups))))
    if any(group.terms for group in groups):
        floor = min(float(logsumexp(log + found.log)) for log, found in zip(log_many, many, strict=True))
        makes = makes_of(
            groups,
            model,
            counts,
            log_prior=np.max(log_rows, axis=0),
            log_stranger=np.max(strangers, axis=0),
            log_floor=floor,
        )
    out = []
    for prior, stranger, log_of, log_row, found in zip(priors, strangers, log_many, log_rows, many, strict=True):
        one = Filled.of(makes.log, stranger, counts, nodes)
        share = ONE_MAKE if makes.row.size else 0.0
        log = np.concatenate(
            [
                log_of - np.log(1.0 - ONE_MAKE) + np.log(1.0 - share) + found.log,
                log_row[makes.row] + makes.log_weight + one.log,
            ]
        )
        kind = np.concatenate([np.arange(of_kind.size), kind_of_row[makes.row]])
        odd = np.concatenate([found.stranger, one.stranger])
        out.append(_mixed(groups, rules, prior, concentration, _Ways(log, kind, odd)))
    return tuple(out)


def _counts(groups: Sequence[ItemGroup]) -> Array:
    return np.array([group.count for group in groups], dtype=np.float64)


def _by_kind(groups: Sequence[ItemGroup], rules: Rules) -> Array:
    return np.array([group.kinds for group in groups]).reshape(len(groups), rules.barred_kinds.size)


@dataclass(frozen=True, slots=True, eq=False)
class _Ways:
    """Log weight of each way in which a bag may be filled, its main kind, and each item's chance to be a stranger."""

    log: Array
    kind: NDArray[np.intp]
    stranger: Array


def _mixed(
    groups: tuple[ItemGroup, ...], rules: Rules, prior: Array, concentration: float, ways: _Ways
) -> BagPosterior:
    """Return the mixture over main kinds from every way to fill the bag."""
    log, kind, odd = ways.log, ways.kind, ways.stranger
    counts, by_kind = _counts(groups), _by_kind(groups, rules)
    model = rules.model
    whole = float(logsumexp(log))
    weight = np.exp(log - whole)
    size = model.kind_owner.size
    by_main = np.bincount(kind, weights=weight, minlength=size)
    kept = np.flatnonzero(by_main > NEGLIGIBLE)
    gathered = np.zeros((size, len(groups)))
    np.add.at(gathered, kind, weight[:, None] * odd)
    stranger = gathered[kept] / by_main[kept, None]
    base = prior[model.kind_owner] * model.kind_gathering.sum(axis=0)
    stranger, of_stranger = learned(stranger, by_kind, counts, concentration * base)
    # Expected number of strangers of each kind, given each main kind.
    alpha = concentration * base + np.einsum("kg,kgq->kq", stranger * counts, of_stranger)
    alpha[np.arange(kept.size), kept] += MAIN + (1.0 - stranger) @ counts
    weights = by_main[kept] / by_main[kept].sum()
    items = np.einsum("k,kg,kgq->gq", weights, stranger, of_stranger)
    items[:, kept] += (weights[:, None] * (1.0 - stranger)).T
    scale = sum(group.scale * group.count for group in groups)
    return BagPosterior(
        prior=prior,
        main=model.kind_owner[kept],
        weights=weights,
        alpha=alpha,
        barred=rules.barred_kinds,
        owner=model.kind_owner,
        groups=groups,
        items=items,
        log_evidence=whole + scale,
    )


def _checked(batch: object, prior: object, given: object) -> float:
    """Return the concentration; refuse what is none, no batch or no prior."""
    as_batches([batch], "batch")
    check_prior(prior)
    concentration = as_float(given)
    if not 1e-3 <= concentration <= 1e3:
        raise RangeError(f"a concentration of {safe_repr(given)} is not a number from 0.001 to 1000")
    return concentration
