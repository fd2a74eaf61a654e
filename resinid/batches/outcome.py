"""What becomes of a mix that is not dangerous, and what stands against one melt."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.batches.mix_flow import at_odds, even_flow
from resinid.batches.mix_outcome import mixed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.arrays import Array
    from resinid.batches.mix import Mix
    from resinid.batches.mix_outcome import Chances
    from resinid.batches.mixing_rules import Rules

__all__ = [
    "DELAMINATES",
    "HEATS_APART",
    "LIMITS",
    "ONE_MELT",
    "OUTCOMES",
    "Reason",
    "chances_of",
    "heats_apart",
    "judged",
    "reasons",
]

ONE_MELT: Final = "one melt"
LIMITS: Final = "usable with limits"
DELAMINATES: Final = "will delaminate"
HEATS_APART: Final = "too different to melt at one heat"
"""Said instead where the parts would hold together if they had a melt temperature in common."""

OUTCOMES: Final = (ONE_MELT, LIMITS, DELAMINATES, "dangerous")

WEIGHTY: Final = 0.02
"""Chance lost to one melt below which a reason is not worth saying."""

COLOURS: Final = frozenset({"black", "coloured", "natural colour", "white"})


@dataclass(frozen=True, slots=True)
class Reason:
    """One thing that stands against one melt.

    Parameters
    ----------
    kind : str
        ``"chemistry"``, ``"temperature"``, ``"flow"``, ``"contaminants"`` or ``"remark"``.
    text : str
    weight : float
        Chance of one melt that it takes away by itself.
    source : str
        Keys of sources; empty where recalled.
    obtained : str
        Grade of the statement, or ``"estimate"``.
    """

    kind: str
    text: str
    weight: float
    source: str
    obtained: str

    @property
    def estimate(self) -> bool:
        """Whether it rests on an estimate."""
        return self.obtained == "estimate"


def judged(chances: Sequence[float]) -> str:
    """Return the outcome at which the chances, from best to worst, reach one half; danger left out.

    Examples
    --------
    >>> judged((0.3, 0.3, 0.4, 0.0))
    'usable with limits'
    """
    safe = sum(chances[:3])
    if chances[0] >= 0.5 * safe:
        return ONE_MELT
    return LIMITS if chances[0] + chances[1] >= 0.5 * safe else DELAMINATES


def chances_of(mix: Mix, shares: Array, weights: Sequence[float] | None = None) -> Array:
    """Return the chances of one melt, limits and delamination of a mix that is not dangerous."""
    out: Array = mean_chances(mixed(shares[None], mix.rules), even_chance(mix, weights))[0]
    return out


def mean_chances(found: Chances, even: Array) -> Array:
    """Return the chances of one melt, limits and delamination of each of some mixes, shape (mixes, 3)."""
    one, holds = (found.one * even).mean(axis=1), found.holds.mean(axis=1)
    return np.stack([one, holds - one, 1.0 - holds], axis=1)


def even_chance(mix: Mix, weights: Sequence[float] | None = None) -> Array:
    """Return for each draw the chance that nothing but its resins stands against one melt of a mix."""
    return even_flow(mix, weights) * (0.0 if _food_differs(mix) else 1.0)


def at_one_heat(rules: Rules) -> Rules:
    """Return the rules as they would be if all resins had a melt temperature in common."""
    return replace(rules, overlaps=np.ones_like(rules.overlaps))


def heats_apart(mix: Mix, shares: Array) -> bool:
    """Return whether a mix comes apart only because its parts have no melt temperature in common."""
    return judged(chances_of(replace(mix, rules=at_one_heat(mix.rules)), shares).tolist()) != DELAMINATES


def reasons(mix: Mix, shares: Array) -> tuple[tuple[Reason, ...], Array, tuple[str, ...]]:
    """Return what stands against one melt, weightiest first; the chances; and the limits of use."""
    mixture = mixed(shares[None], mix.rules, by_pair=True)
    even = even_chance(mix)
    kept = against(mix, mixture.lost[0], even)
    limits: list[str] = []
    if _food_differs(mix):
        limits.append("not for food: only some of it was made for it")
    elif any("food contact" in part.batch.remarks for part in mix.parts):
        limits.append("recycled in a workshop it is no longer fit for food, whatever it was made for")
    colours = {frozenset(part.batch.remarks) & COLOURS for part in mix.parts}
    if len(colours) > 1:
        limits.append("colours differ: the mix turns streaky or dull")
    if any(reason.kind == "chemistry" and reason.weight > WEIGHTY for reason in kept):
        limits.append("not for parts whose breaking could hurt; try a small slab and bend it first")
    return kept, mean_chances(mixture, even)[0], tuple(limits)


def against(mix: Mix, lost: Array, even: Array) -> tuple[Reason, ...]:
    """Return what stands against one melt, weightiest first, by the chance of it that each pair of resins takes."""
    found = [_pair_reason(mix.rules, i, j, float(lost[i, j])) for i, j in np.argwhere(lost >= WEIGHTY).tolist()]
    if _food_differs(mix):
        found.append(Reason("remark", "only some of it was made for food", 1.0, "", "common practice"))
        even = even_flow(mix)
    flow = 1.0 - float(even.mean())
    if flow >= WEIGHTY:
        found.append(Reason("flow", _flow_text(mix), flow, "rotoun-mfr nielsen-1977", "trade table"))
    return tuple(sorted(found, key=lambda reason: (-round(reason.weight, 9), reason.text)))


def _food_differs(mix: Mix) -> bool:
    return len({"food contact" in part.batch.remarks for part in mix.parts}) > 1


def _pair_reason(rules: Rules, i: int, j: int, weight: float) -> Reason:
    names = rules.model.candidates
    if j == len(names):
        text = f"{names[i]} with traces of other resins that cannot be ruled out"
        return Reason("contaminants", text, weight, "", "")
    pair = rules.pair(i, j)
    together = float(rules.overlaps[i, j])
    one, other = rules.windows[i], rules.windows[j]
    if together < rules.chances[i, j, 0] and one is not None and other is not None:
        text = (
            f"{names[i]} and {names[j]} have hardly a melt temperature in common: "
            f"{one.low:.0f} to {one.high:.0f} °C and {other.low:.0f} to {other.high:.0f} °C"
        )
        return Reason("temperature", text, weight, " ".join(sorted({*one.sources, *other.sources})), "")
    return Reason(
        "chemistry", f"{names[i]} with {names[j]}: {pair.rating}; {pair.note}", weight, pair.source, pair.obtained
    )


def _flow_text(mix: Mix) -> str:
    for one, other in itertools.combinations(sorted(mix.parts, key=lambda part: part.batch.name), 2):
        if at_odds(one, other, mix.rules) and one.flow is not None and other.flow is not None:
            return (
                f"the melt flow rates of {one.batch.name} ({one.flow.condition}) and {other.batch.name} "
                f"({other.flow.condition}) cannot be compared; measure both under one temperature and load"
            )
    said = [
        f"{part.batch.name} {np.exp(part.flow.mean):.2g} g/10 min ({part.flow.basis})"
        for part in sorted(mix.parts, key=lambda part: part.batch.name)
        if part.flow is not None
    ]
    return "grades that flow too differently mix unevenly: " + ", ".join(said)
