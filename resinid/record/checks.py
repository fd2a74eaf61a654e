"""How good this package's answers were, by what turned out: probabilities, names taken for others, tests, leave.

Only pieces whose resin was found out count. They were seldom chosen at random (who looks again is in doubt), and some
are confirmed wrongly: figures are of the record, not of all pieces. Intervals of shares are Jeffreys' at 95 % (Brown,
Cai and DasGupta 2001, Statist. Sci. 16:101-133, from memory).
"""

from __future__ import annotations

from collections import Counter
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from scipy.special import betaincinv

from resinid.errors import ResinidError
from resinid.heating.temperatures import barred_resins
from resinid.identification.identify import identify
from resinid.planning.next_test import next_tests
from resinid.record.entry import lot_of
from resinid.scoring.prior import NONE_OF_THESE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.arrays import Array
    from resinid.record.entry import Entry
    from resinid.reference.table import ReferenceTable

__all__ = ["Confusion", "Share", "TrackRecord", "track_record"]

BINS: Final = 10
DRAWS: Final = 1000
"""Bins of stated probability, and resamplings behind the interval of the calibration error."""

MOST: Final = 5
"""Of so many pairs of resins taken for each other it is asked which test would have told."""


@dataclass(frozen=True, slots=True)
class Share:
    """A share of some cases: what of, how many, how many of them, with its 95 % interval."""

    what: str
    of: int
    count: float
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Confusion:
    """A resin taken for another, how often, and the test that best tells the two apart; empty where none was asked."""

    said: str
    was: str
    count: int
    test: str = ""


@dataclass(frozen=True, slots=True)
class TrackRecord:
    """How good the answers were.

    Parameters
    ----------
    pieces : int
        Confirmed ones with an answer.
    right : Share
        Of them with the right resin first.
    bins : tuple of (float, Share)
        For each tenth of stated probability that occurs its mean, and the share that was right.
    error, low, high, by_chance : float
        Expected calibration error over these bins with its 95 % interval, by resampling of pieces, and what it
        would be on average if every probability were right.
    confusions : tuple of Confusion
        Most frequent first.
    botched : tuple of Share
        Of each test, how many are likelier to have gone wrong, if what was confirmed is right.
    leave : tuple of Share
        What became of what had leave to be heated, and of what had none.
    """

    pieces: int
    right: Share
    bins: tuple[tuple[float, Share], ...]
    error: float
    low: float
    high: float
    by_chance: float
    confusions: tuple[Confusion, ...]
    botched: tuple[Share, ...]
    leave: tuple[Share, ...]

    def to_dict(self) -> dict[str, Any]:
        """Return it as JSON types."""
        return asdict(self)


def track_record(entries: Sequence[Entry], reference: ReferenceTable) -> TrackRecord:
    """Return how good the answers of a record were.

    Parameters
    ----------
    entries : sequence of Entry
    reference : ReferenceTable

    Examples
    --------
    >>> from resinid import default_reference
    >>> track_record([], default_reference()).pieces
    0
    """
    known = [each for each in entries if each.kind == "piece" and each.confirmed and each.ranking()]
    pairs, said = [], []
    for entry in known:
        ranked = entry.ranking()
        leader = max(ranked, key=lambda name: ranked[name][0])
        pairs.append((leader, entry.confirmed))
        said.append(ranked[leader][0])
    stated, right = np.array(said), np.array([float(leader == was) for leader, was in pairs])
    place = np.minimum((stated * BINS).astype(int), BINS - 1)
    bins = tuple(
        (float(stated[place == each].mean()), _share(f"{each / BINS:g} to {(each + 1) / BINS:g}", right[place == each]))
        for each in sorted(set(place.tolist()))
    )
    rng = np.random.default_rng(0)
    again = [0.0]
    chance = [0.0]
    if known:
        drawn = rng.integers(len(known), size=(DRAWS, len(known)))
        again = [_error(stated[rows], right[rows]) for rows in drawn]
        chance = [_error(stated, np.where(row < stated, 1.0, 0.0)) for row in rng.random((DRAWS, len(known)))]
    low, high = np.quantile(again, [0.025, 0.975])
    return TrackRecord(
        pieces=len(known),
        right=_share("right", right),
        bins=bins,
        error=_error(stated, right),
        low=float(low),
        high=float(high),
        by_chance=float(np.mean(chance)),
        confusions=_confusions(pairs, reference),
        botched=_botched(known, reference),
        leave=_leave(entries, reference),
    )


def _share(what: str, right: Array) -> Share:
    hits, of = float(np.sum(right)), len(right)
    low, high = (float(betaincinv(hits + 0.5, of - hits + 0.5, level)) for level in (0.025, 0.975))
    return Share(what, of, hits, 0.0 if hits <= 0 else low, 1.0 if hits >= of else high)


def _error(stated: Array, right: Array) -> float:
    """Return the mean gap between stated and found, over the bins by their share."""
    if not stated.size:
        return 0.0
    gap = np.bincount(np.minimum((stated * BINS).astype(int), BINS - 1), stated - right, BINS)
    return float(np.abs(gap).sum() / stated.size)


def _confusions(pairs: Sequence[tuple[str, str]], reference: ReferenceTable) -> tuple[Confusion, ...]:
    wrong = Counter(pair for pair in pairs if pair[0] != pair[1]).most_common()
    return tuple(
        Confusion(*pair, count, _telling(*pair, reference) if index < MOST else "")
        for index, (pair, count) in enumerate(wrong)
    )


def _telling(said: str, was: str, reference: ReferenceTable) -> str:
    """Return the test that tells most a minute of which of two resins a piece is; empty where none can."""
    if NONE_OF_THESE in {said, was} or not {said, was} <= set(reference.symbols):
        return ""
    advice = next_tests(
        question={said: [said], was: [was]},
        prior={said: 1.0, was: 1.0, NONE_OF_THESE: 1e-6},
        without=("mark", "article", "process"),  # what there was to read and to see was seen
        reference=reference,
    )
    return advice.best.plan.label if advice.best else ""


def _botched(known: Sequence[Entry], reference: ReferenceTable) -> tuple[Share, ...]:
    """Return of each test how often it is likelier than not to have gone wrong, were what is confirmed right."""
    chances: dict[str, list[float]] = {}
    for entry in known:
        try:
            answer = identify(entry.evidence.get("observation", ()), prior={entry.confirmed: 1.0}, reference=reference)
        except ResinidError:  # a plug-in that is not installed, or a danger that was allowed then
            continue
        if answer.leader == entry.confirmed:
            for seen, chance in zip(answer.observations, answer.outlier, strict=True):
                chances.setdefault(seen.test, []).append(float(chance > 0.5))
    return tuple(_share(test, np.array(each)) for test, each in sorted(chances.items()))


def _leave(entries: Sequence[Entry], reference: ReferenceTable) -> tuple[Share, ...]:
    """Return what became of pieces and plans with leave and without it."""
    bars = barred_resins(reference).tolist()
    barred = {name for name, bar in zip(reference.symbols, bars, strict=True) if bar} | {NONE_OF_THESE}
    by_number = {each.number: each for each in entries}
    became: dict[bool, list[set[str]]] = {True: [], False: []}
    for entry in entries:
        if entry.answer is None or entry.answer.leave is None:
            continue
        # What was made from it speaks of it too.
        later = [by_number[each] for each in lot_of(by_number, entry.number) if each >= entry.number]
        fates = {fate for each in later for fate in each.fates}
        if entry.confirmed:
            fates.add("must not be heated" if entry.confirmed in barred else "may be heated, as it turned out")
        if fates:
            became[entry.answer.leave].append(fates)
    out = []
    for leave, found in became.items():
        for fate in sorted(set().union(*found)):
            what = f"{'leave' if leave else 'no leave'}: {fate}"
            out.append(_share(what, np.array([float(fate in fates) for fates in found])))
    return tuple(out)
