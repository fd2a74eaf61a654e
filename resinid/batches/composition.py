"""What a bag consists of: the posterior over the shares of all resins."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.batches.bag_posterior import CONCENTRATION, views_of
from resinid.batches.contaminants import LEVEL, further_clean, number_of_contaminants, telling, upper_limit
from resinid.batches.mixing_rules import mixing_rules
from resinid.errors import RangeError, UnknownNameError, safe_repr
from resinid.io.arguments import as_float
from resinid.io.close_words import did_you_mean
from resinid.notebook import Answer
from resinid.reference.table import ReferenceTable, reference_or_default

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.batches.bag import Batch
    from resinid.batches.bag_shares import BagPosterior

__all__ = ["ANY_DANGEROUS", "Composition", "Contaminant", "Share", "batch_composition"]

WANTED: Final = 0.01
"""Share below which a dangerous contaminant's upper limit is wanted (this project's cautious choice)."""

ANY_DANGEROUS: Final = "any dangerous resin"


@dataclass(frozen=True, slots=True)
class Share:
    """A resin's share of a bag: expected, its 95 % credible interval, and expected before looking."""

    resin: str
    mean: float
    low: float
    high: float
    before: float


@dataclass(frozen=True, slots=True)
class Contaminant:
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
class Composition(Answer):
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
    contaminants : tuple of Contaminant
        All dangerous resins together, then each, highest limit first.
    level : float
        Level of the contaminants' upper limits.
    exact : bool
        Always true: nothing is sampled.
    concentration : float
        Weight of strangers in the prior.
    sources : tuple of str
        Keys of the sources behind the leading resins' scores.
    """

    batch: str
    items: int
    shares: tuple[Share, ...]
    main_probability: float
    contaminants: tuple[Contaminant, ...]
    level: float
    exact: bool
    concentration: float
    sources: tuple[str, ...]

    def __repr__(self) -> str:
        danger = f"; {self.contaminants[0].resin} {self.contaminants[0].mean:.1%}" if self.contaminants else ""
        return f"<Composition of {self.batch!r}: {self.main.resin} {self.main.mean:.1%} of {self.items} items{danger}>"

    @property
    def main(self) -> Share:
        """The share of the main resin."""
        return self.shares[0]

    def __iter__(self) -> Iterator[str]:
        """Go over the resins, the largest share first, so that a composition is a mapping of resins to shares."""
        return iter(self.keys())

    def __len__(self) -> int:
        return len(self.shares)

    def __contains__(self, resin: object) -> bool:
        """Return whether there is a candidate of that symbol."""
        return resin in self.keys()

    def keys(self) -> tuple[str, ...]:
        """Return the resins, the largest share first."""
        return tuple(share.resin for share in self.shares)

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
        raise UnknownNameError(
            f"{safe_repr(resin)} is no candidate; known: {', '.join(names)}{did_you_mean(resin, names)}"
        )


def batch_composition(
    batch: Batch,
    *,
    prior: str | Mapping[str, float] = "default",
    reference: ReferenceTable | None = None,
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
    reference : ReferenceTable, optional
    concentration : float, optional
        Weight of strangers in a bag before anything is seen: small where bags hold things of a kind; see
        :data:`CONCENTRATION` for the default.
    wanted : float, optional
        Share below which each dangerous contaminant's limit is wanted; 0.01 where not given.
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
    A bag holds one main kind, of many makes or of one, and some strangers:
    :mod:`resinid.batches.bag_posterior`. Limits of contaminants do not lean on that prior, and are the
    highest of those that the caller's prior and the cautious one give: :mod:`resinid.batches.contaminants`.

    Examples
    --------
    >>> from resinid.batches.bag import Batch
    >>> found = batch_composition(Batch.of("caps", marked={"PE-HD": 20}))
    >>> found.main.resin, found.main.mean > 0.95, found.contaminants[0].limit < 0.2
    ('PE-HD', True, True)
    """
    wanted, level = as_float(wanted), as_float(level)
    if not 0 < wanted < 1 or not 0.5 <= level < 1:
        raise RangeError("wanted must be a number between 0 and 1, and level one from 0.5 to below 1")
    chosen = reference_or_default(reference)
    views = views_of(batch, chosen, prior, concentration, measured=False)
    found = views[0]
    rules = mixing_rules(chosen)
    mean = found.mean()
    before = found.prior
    order = np.argsort(-mean, kind="stable").tolist()
    names = rules.model.candidates
    low, high = found.quantiles(0.025), found.quantiles(0.975)
    barred = np.flatnonzero(rules.barred)
    contaminants = [
        _contaminant(names[k], views, np.arange(mean.size) == k, wanted=wanted, level=level) for k in barred.tolist()
    ]
    every = _at_least(_contaminant(ANY_DANGEROUS, views, rules.barred > 0, wanted=wanted, level=level), contaminants)
    observed = {o.observes for piece in batch.pieces for o in piece} | ({"density"} if batch.flakes else set())
    sources: set[str] = set()
    for name in observed:
        sources.update(*(rules.model.sources(name, k) for k in order if mean[k] >= WANTED))
    return Composition(
        batch=batch.name,
        items=found.count,
        shares=tuple(Share(names[k], float(mean[k]), float(low[k]), float(high[k]), float(before[k])) for k in order),
        main_probability=float(found.main_probability()[order[0]]),
        contaminants=(every, *sorted(contaminants, key=lambda s: (-s.limit, s.resin))),
        level=level,
        exact=True,
        concentration=float(concentration),
        sources=tuple(sorted(sources)),
    )


def _contaminant(
    name: str, views: tuple[BagPosterior, ...], which: NDArray[np.bool_], *, wanted: float, level: float
) -> Contaminant:
    # The highest limit of all ways to see the items counts.
    number = max(
        (number for view in views for number in _numbers(view, which)), key=lambda number: upper_limit(number, level)
    )
    return Contaminant(
        resin=name,
        mean=float(views[0].mean()[which].sum()),
        limit=upper_limit(number, level),
        wanted=wanted,
        further=further_clean(number, wanted, level),
    )


def _at_least(every: Contaminant, parts: Sequence[Contaminant]) -> Contaminant:
    """Return the limit of all together, no lower than that of any: items that tell all may not tell that one."""
    further = [each.further for each in (every, *parts)]
    return replace(
        every,
        limit=max(each.limit for each in (every, *parts)),
        further=None if None in further else max(each for each in further if each is not None),
    )


def _numbers(view: BagPosterior, which: NDArray[np.bool_]) -> list[Array]:
    """Return the distribution of how many items are contaminants under one prior, in every way to see them."""
    contaminant, rest = np.where(which, view.prior, 0.0), np.where(which, 0.0, view.mean())
    contaminant, rest = contaminant / contaminant.sum(), rest / rest.sum()
    # Also without those that hardly tell the contaminant from the rest, for these must not seem to be clean.
    seen = (view.groups, telling(view.groups, contaminant, rest))
    main = float(view.weights[which[view.main]].sum())
    out = []
    for groups in seen:
        number = (1.0 - main) * number_of_contaminants(groups, contaminant, rest)
        # Items that are all of one make may all be contaminants, however many they are.
        number[-1] += main
        out.append(number)
    return out
