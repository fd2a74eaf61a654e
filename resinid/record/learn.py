"""A prior learned from pieces whose resin was found out: a Dirichlet distribution about the published prior.

With published shares p that weigh as W pieces, and n_r pieces confirmed as resin r out of N, the expected share of
r is (W p_r + n_r) / (W + N) (Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, section 3.4, from memory).
W itself is not known: weights are averaged by the chance of the counts under each, the Dirichlet-multinomial one
(Minka, Estimating a Dirichlet distribution, 2000, eq. 53 ff., from memory), and the one printed has the same effect.
A confirmation is wrong with a stated chance, and then any other candidate is as likely; so each counts as n_r only as
far as the piece's own readings and the shares bear it out, and the shares are worked out again until they stay.

What is learned moves names and the order of tests. The verdict on heating is worked out by the published prior as
if nothing had been learned, so nothing learned, true or false, can remove or add a hazard.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, TypedDict, Unpack

import numpy as np
from scipy.special import gammaln

from resinid.errors import RangeError
from resinid.identification.identify import identify
from resinid.identification.score import model_of
from resinid.reference.table import reference_or_default
from resinid.scoring.integrals import TINY
from resinid.scoring.prior import prior_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from resinid.arrays import Array
    from resinid.identification.result import Result
    from resinid.methods.contract import Method
    from resinid.record.entry import Entry
    from resinid.reference.table import ReferenceTable

__all__ = ["ENOUGH", "WEIGHTS", "WRONG", "LearnedPrior", "Options", "learned_prior"]

WEIGHTS: Final = (3.0, 10.0, 30.0, 100.0, 300.0, 1000.0)
"""How many pieces the published prior may weigh as, each as likely as another before a piece is confirmed. Which of
them it is the confirmed pieces tell: simulated shops that hold little of what is published are best served by 3, one
that holds just that by 1000 (tests/record/test_learning.py prints it)."""

WRONG: Final = 0.1
"""Chance that a confirmation is wrong (common practice, no source)."""

ENOUGH: Final = 10
"""So many confirmed pieces of one article or from one source have a prior of their own (common practice, no source)."""

ROUNDS: Final = 20
"""Times that shares are worked out again; simulated shops no longer change in the sixth digit."""

LEAST: Final = 1e-12
"""Least likelihood of a resin beside the best, so that a reading never outweighs every confirmation."""


class Options(TypedDict, total=False):
    """Options of :func:`resinid.identify`, without the prior."""

    piece: str
    reference: ReferenceTable | None
    methods: Iterable[Method]
    allow: Iterable[str]
    danger_limit: float
    trusted: Iterable[str]


@dataclass(frozen=True, slots=True)
class LearnedPrior:
    """Shares learned from a record.

    Parameters
    ----------
    shares : mapping
        By candidate, "none of these" among them; adds up to one. What ``prior`` of :func:`resinid.identify` takes.
    published : mapping
        The same before anything was learned.
    given : str or mapping
        The published prior as it was named: heating is judged by it.
    confirmed : int
        Pieces it was learned from.
    weight : float
        Pieces that what was known before weighs as: the prior given or, of an article or a source, what all pieces
        taught.
    of : str
        Whose pieces: an article or a source; empty for all.
    """

    shares: Mapping[str, float]
    published: Mapping[str, float]
    given: str | Mapping[str, float]
    confirmed: int
    weight: float
    of: str = ""

    def describe(self) -> str:
        """Say in a line what it was learned from and how much that counts."""
        counted = f"{self.confirmed} confirmed piece{'' if self.confirmed == 1 else 's'}"
        before = "what all pieces taught" if self.of else "the prior before"
        return (
            f"prior learned from {counted}{f' of {self.of}' if self.of else ''}; {before} weighs as "
            f"{self.weight:.3g}. The verdict on heating does not use what was learned"
        )

    def judged(self, named: Result, **options: Unpack[Options]) -> Result:
        """Return an answer that was worked out by these shares with the verdict on heating by the published prior.

        Examples
        --------
        >>> seen = [{"test": "float", "liquid": "water", "outcome": "floats"}]
        >>> learned = learned_prior([])
        >>> learned.judged(identify(seen, prior=learned.shares)).heat == identify(seen).heat
        True
        """
        heat = identify(named.observations, prior=self.given, **options).heat
        return replace(named, heat=replace(heat, settled_by=named.heat.settled_by))


def learned_prior(
    entries: Iterable[Entry],
    *,
    article: str = "",
    source: str = "",
    prior: str | Mapping[str, float] = "default",
    weight: float | None = None,
    wrong: float = WRONG,
    reference: ReferenceTable | None = None,
) -> LearnedPrior:
    """Return the prior that confirmed pieces teach.

    Parameters
    ----------
    entries : iterable of Entry
    article, source : str, optional
        Of the piece to come. Where at least :data:`ENOUGH` pieces of that article, else from that source, were
        confirmed, they are learned from once more, about what all pieces teach. Give no article that is also
        among the piece's observations: it would count twice.
    prior : str or mapping, optional
        The published prior, as :func:`resinid.identify` takes it.
    weight, wrong : float, optional
        Pieces that the prior weighs as, where that is not to be learned, too; and the chance that a confirmation
        is wrong.
    reference : ReferenceTable, optional

    Examples
    --------
    >>> from resinid.record.entry import Entry, Outcome
    >>> caps = [Entry(n, "piece", f"cap {n}", outcomes=(Outcome("2026-01-05", "PP", "DSC"),)) for n in range(30)]
    >>> found = learned_prior(caps)
    >>> bool(found.shares["PP"] > 0.7 > found.published["PP"])
    True
    """
    if not ((weight is None or weight > 0) and 0 <= wrong < 1):
        raise RangeError(f"a weight of {weight} and a chance of {wrong} are not above 0, and from 0 to below 1")
    chosen = reference_or_default(reference)
    names = model_of(chosen).candidates
    published = prior_of(chosen, prior)
    known = [each for each in entries if each.kind == "piece" and each.confirmed in names]
    shares, counted = _shares(known, names, published, weight, wrong)
    of, some = "", known
    for what, word in (("article", article), ("source", source)):
        alike = [each for each in known if word and getattr(each, what).casefold() == word.casefold()]
        if len(alike) >= ENOUGH:
            of, some = word, alike
            shares, counted = _shares(alike, names, shares, weight, wrong)
            break
    return LearnedPrior(_by_name(names, shares), _by_name(names, published), prior, len(some), counted, of)


def _by_name(names: Sequence[str], shares: Array) -> dict[str, float]:
    return dict(zip(names, shares.tolist(), strict=True))


def _shares(
    known: Sequence[Entry], names: Sequence[str], base: Array, weight: float | None, wrong: float
) -> tuple[Array, float]:
    """Return expected shares, shape (candidates,), and the weight of the base that gives them."""
    weights = np.array(WEIGHTS if weight is None else [weight])
    if not known:
        return base, float(weights.max())
    told = np.full((len(known), len(names)), wrong / (len(names) - 1))
    told[np.arange(len(known)), [names.index(each.confirmed) for each in known]] = 1.0 - wrong
    told *= np.array([likelihood(each, names) for each in known])
    shares, counted = base, float(weights[0])
    for _ in range(ROUNDS):
        # A confirmation counts as far as the readings of its piece, and what the others say, bear it out.
        each = told * shares
        counts = (each / each.sum(axis=1, keepdims=True)).sum(axis=0)
        before = weights[:, None] * base
        log = (gammaln(before + counts) - gammaln(before)).sum(axis=1) + gammaln(weights)
        log -= gammaln(weights + len(known))
        chance = np.exp(log - log.max())
        kept = float((chance / chance.sum()) @ (weights / (weights + len(known))))
        counted = len(known) * kept / (1.0 - kept)
        shares = kept * base + (1.0 - kept) * counts / len(known)
    return shares, counted


def likelihood(entry: Entry, names: Sequence[str]) -> Array:
    """Return what a piece's readings tell of each candidate, one for the best; the same for all where nothing does."""
    ranked = entry.ranking()
    if not set(names) <= set(ranked):
        return np.ones(len(names))
    # Without the prior of the day, so that what was learned is not learned again.
    log = np.log(np.maximum([ranked[name] for name in names], TINY)) @ (1.0, -1.0)
    out: Array = np.maximum(np.exp(log - log.max()), LEAST)
    return out
