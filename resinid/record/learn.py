"""A prior learned from pieces whose resin was found out: a Dirichlet distribution about the published prior.

With published shares p that weigh as W pieces, and n_r pieces confirmed as resin r out of N, the expected share of
r is (W p_r + n_r) / (W + N) (Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, section 3.4, from memory).
A confirmation is wrong with a stated chance, and then names any resin alike; so each counts as n_r only as far as
the piece's own readings and the shares bear it out, and the shares are worked out again until they stay.

What is learned moves names and the order of tests. The verdict on heating is worked out by the published prior as
if nothing had been learned, so no history, true or false, can lift or raise a hazard.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, TypedDict, Unpack

import numpy as np

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
    from resinid.methods.contract import Method, Observation
    from resinid.record.entries import Entry
    from resinid.reference.table import ReferenceTable

__all__ = ["ENOUGH", "WEIGHT", "WRONG", "LearnedPrior", "Options", "identify_learned", "learned_prior"]

WEIGHT: Final = 10.0
"""How many pieces the published prior weighs as. In simulated shops of three kinds log loss is least about here;
tests/record/test_learning.py prints it for others."""

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
        Pieces that the published prior weighs as.
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
        whose = f" of {self.of}" if self.of else ""
        return (
            f"prior learned from {self.confirmed} confirmed pieces{whose}; the published one weighs as "
            f"{self.weight:g} pieces. The verdict on heating does not use what was learned"
        )

    def judged(self, named: Result, **options: Unpack[Options]) -> Result:
        """Return an answer that was worked out by these shares with the verdict on heating by the published prior."""
        heat = identify(named.observations, prior=self.given, **options).heat
        return replace(named, heat=replace(heat, settled_by=named.heat.settled_by))


def learned_prior(
    entries: Iterable[Entry],
    *,
    article: str = "",
    source: str = "",
    prior: str | Mapping[str, float] = "default",
    weight: float = WEIGHT,
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
        Pieces that the prior weighs as, and the chance that a confirmation is wrong.
    reference : ReferenceTable, optional

    Examples
    --------
    >>> from resinid.record.entries import Entry, Outcome
    >>> caps = [Entry(n, "piece", f"cap {n}", outcomes=(Outcome("2026-01-05", "PP", "DSC"),)) for n in range(30)]
    >>> found = learned_prior(caps)
    >>> bool(found.shares["PP"] > 0.7 > found.published["PP"])
    True
    """
    if not (weight > 0 and 0 <= wrong < 1):
        raise RangeError(f"a weight of {weight} and a chance of {wrong} are not above 0, and from 0 to below 1")
    chosen = reference_or_default(reference)
    names = model_of(chosen).candidates
    published = prior_of(chosen, prior)
    known = [each for each in entries if each.kind == "piece" and each.confirmed in names]
    shares = _shares(known, names, published, weight, wrong)
    of, some = "", known
    for what, word in (("article", article), ("source", source)):
        alike = [each for each in known if word and getattr(each, what).casefold() == word.casefold()]
        if len(alike) >= ENOUGH:
            of, some = word, alike
            shares = _shares(alike, names, shares, weight, wrong)
            break
    return LearnedPrior(_by_name(names, shares), _by_name(names, published), prior, len(some), weight, of)


def _by_name(names: Sequence[str], shares: Array) -> dict[str, float]:
    return dict(zip(names, shares.tolist(), strict=True))


def _shares(known: Sequence[Entry], names: Sequence[str], base: Array, weight: float, wrong: float) -> Array:
    """Return expected shares, shape (candidates,), each confirmation weighed by the readings of its piece."""
    if not known:
        return base
    told = np.full((len(known), len(names)), wrong / (len(names) - 1))
    told[np.arange(len(known)), [names.index(each.confirmed) for each in known]] = 1.0 - wrong
    told *= np.array([likelihood(each, names) for each in known])
    shares = base
    for _ in range(ROUNDS):
        each = told * shares
        counts = (each / each.sum(axis=1, keepdims=True)).sum(axis=0)
        shares = (weight * base + counts) / (weight + len(known))
    return shares


def likelihood(entry: Entry, names: Sequence[str]) -> Array:
    """Return what a piece's readings tell of each candidate, one for the best; the same for all where nothing does."""
    ranked = entry.ranking()
    if not set(names) <= set(ranked):
        return np.ones(len(names))
    # Without the prior of the day, so that what was learned is not learned again.
    log = np.array([np.log(max(ranked[name][0], TINY)) - np.log(max(ranked[name][1], TINY)) for name in names])
    out: Array = np.maximum(np.exp(log - log.max()), LEAST)
    return out


def identify_learned(
    observations: Iterable[Observation | Mapping[str, object]], learned: LearnedPrior, **options: Unpack[Options]
) -> Result:
    """Rank the resins by a learned prior, and judge heating by the published one.

    Parameters
    ----------
    observations : iterable
        As :func:`resinid.identify` takes them.
    learned : LearnedPrior
    **options
        Of :func:`resinid.identify`, without ``prior``.

    Examples
    --------
    >>> seen = [{"test": "float", "liquid": "water", "outcome": "floats"}]
    >>> from resinid import identify
    >>> identify_learned(seen, learned_prior([])).heat == identify(seen).heat
    True
    """
    return learned.judged(identify(observations, prior=learned.shares, **options), **options)
