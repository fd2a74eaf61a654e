"""What becomes of every two bags of a stock, half and half, and of each bag with itself.

What concerns one bag is worked out once, sums over draws for some pairs at a time.

The answers are those of :func:`resinid.batches.compatibility.judge`; texts are made only of what is shown.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.batches.compatibility import deciding_of, verdict_of
from resinid.batches.hazards import (
    clashing_items,
    forbidding_reasons,
    found_of,
    found_resins,
    hazard_notes,
    refusals_of,
)
from resinid.batches.minority_share import between_bags
from resinid.batches.mix import Mix
from resinid.batches.mix_outcome import mixed, total
from resinid.batches.mix_part import MixPart, danger_by_resin
from resinid.batches.outcome import DELAMINATES, HEATS_APART, against, at_one_heat, even_chance, judged, mean_chances

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.batches.mixing_rules import Rules

__all__ = ["Judged", "judge_pairs"]

AT_ONCE: Final = 16
"""Pairs of bags whose draws are gone through together: with 4 or 64 a pair takes 1.3 times as long."""


@dataclass(frozen=True, slots=True)
class Judged:
    """The verdict on two bags, the chances of the four outcomes that have one, and the weightiest reason."""

    verdict: str
    chances: tuple[float, ...]
    deciding: str


@dataclass(frozen=True, slots=True, eq=False)
class _Bag:
    """What stands against melting a bag, whatever it is melted with."""

    part: MixPart
    found: tuple[str, ...]
    refused: tuple[str, ...]
    resins: frozenset[int]
    forbidden: bool

    @classmethod
    def of(cls, part: MixPart, rules: Rules, limit: float) -> _Bag:
        found, refused = found_of(part, rules, limit), refusals_of(part, rules, limit)
        return cls(part, tuple(found), tuple(refused), found_resins(part, rules), bool(forbidding_reasons(part)))


def judge_pairs(parts: Sequence[MixPart], rules: Rules, limit: float) -> list[Judged]:
    """Return what becomes of every two bags of a stock, in the order of ``numpy.triu_indices``."""
    bags = [_Bag.of(part, rules, limit) for part in parts]
    alone = np.array([danger_by_resin(part.worst_view, part.batch.holds) for part in parts])
    places = np.stack(np.triu_indices(len(parts)), axis=1)
    blocks = [places[start : start + AT_ONCE] for start in range(0, len(places), AT_ONCE)]
    return [found for block in blocks for found in _judge(bags, alone, block, rules, limit)]


def _judge(
    bags: Sequence[_Bag], alone: Array, places: NDArray[np.intp], rules: Rules, limit: float
) -> Iterator[Judged]:
    together = [tuple(bags[k] for k in dict.fromkeys(pair)) for pair in places.tolist()]
    mixes = [Mix(tuple(bag.part for bag in pair), (1.0 / len(pair),) * len(pair), rules) for pair in together]
    by_itself = alone[places].max(axis=1)
    meeting = _meeting([bags[i].part for i in places[:, 0]], [bags[j].part for j in places[:, 1]], rules)
    danger = np.where([any(bag.forbidden for bag in pair) for pair in together], 1.0, total(by_itself, meeting, rules))
    found = [_found(pair, rules) for pair in together]
    refused = [tuple(why for bag in _by_name(pair) for why in bag.refused) for pair in together]
    allowed = np.array([not (f or r or d > limit) for f, r, d in zip(found, refused, danger, strict=True)])
    shares = np.array([0.5 * (bags[i].part.shares + bags[j].part.shares) for i, j in places.tolist()])
    even = np.array([even_chance(mix) for mix in mixes])
    mixture = mixed(shares, rules, by_pair=bool(allowed.any()))
    chances = np.column_stack([mean_chances(mixture, even) * (1.0 - danger[:, None]), danger])
    outcomes = [judged(each) for each in chances.tolist()]
    apart = [k for k in np.flatnonzero(allowed).tolist() if outcomes[k] == DELAMINATES]
    at_one = mean_chances(mixed(shares[apart], at_one_heat(rules)), even[apart]).tolist() if apart else []
    for k, each in zip(apart, at_one, strict=True):
        outcomes[k] = DELAMINATES if judged(each) == DELAMINATES else HEATS_APART
    for k, mix in enumerate(mixes):
        whole = float(danger[k])
        worst = max(by_itself[k].max(), meeting[k].max())
        hazards = (
            hazard_notes(mix, by_itself[k] * (by_itself[k] == worst), meeting[k] * (meeting[k] == worst))
            if whole > limit and not found[k]
            else ()
        )
        lost = mixture.lost[k] if allowed[k] else np.zeros((0, 0))
        why = against(mix, lost * (lost >= lost.max(initial=0.0) - 1e-9), even[k]) if allowed[k] else ()
        yield Judged(
            verdict_of(found[k], refused[k], whole, limit, outcomes[k]),
            tuple(chances[k].tolist()),
            deciding_of(found[k], refused[k], whole, limit, hazards, why),
        )


def _meeting(first: Sequence[MixPart], second: Sequence[MixPart], rules: Rules) -> Array:
    """Return the expected share of the lesser of each two resins that clash, at most of each two bags."""
    above, above_too = (np.array([part.worst.above for part in parts]) for parts in (first, second))
    lesser, lesser_too = (np.array([part.worst.lesser for part in parts]) for parts in (first, second))
    # A batch beside itself is one batch: its pieces do not meet those of another.
    two = np.array([one is not other for one, other in zip(first, second, strict=True)])
    across = between_bags(above, above_too, rules.clashing) * two[:, None]
    out: Array = np.maximum(np.maximum(lesser, lesser_too), across)
    return out


def _by_name(pair: Sequence[_Bag]) -> list[_Bag]:
    return sorted(pair, key=lambda bag: bag.part.batch.name)


def _found(pair: Sequence[_Bag], rules: Rules) -> tuple[str, ...]:
    """Return what was found in one of some bags, or in two of them that must not meet."""
    resins = frozenset[int]().union(*(bag.resins for bag in pair))
    return (*(why for bag in _by_name(pair) for why in bag.found), *clashing_items(resins, rules))
