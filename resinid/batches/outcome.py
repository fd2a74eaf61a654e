"""What becomes of a mix that is not dangerous, and what stands against one melt."""

from __future__ import annotations

import itertools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.batches.mix_flow import at_odds, even_flow
from resinid.batches.mix_outcome import TRACES, mixed

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.arrays import Array
    from resinid.batches.mix import Mix

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
    pairs = mixed(shares, mix.rules)
    one = pairs.one.prod(axis=1) * even_flow(mix, weights) * (0.0 if _food_differs(mix) else 1.0)
    holds = pairs.holds.prod(axis=1)
    mean_one, mean_holds = float(one.mean()), float(holds.mean())
    return np.array([mean_one, mean_holds - mean_one, 1.0 - mean_holds])


def heats_apart(mix: Mix, shares: Array) -> bool:
    """Return whether a mix comes apart only because its parts have no melt temperature in common."""
    at_one_heat = replace(mix.rules, overlaps=np.ones_like(mix.rules.overlaps))
    return judged(chances_of(replace(mix, rules=at_one_heat), shares).tolist()) != DELAMINATES


def reasons(mix: Mix, shares: Array) -> tuple[tuple[Reason, ...], Array, tuple[str, ...]]:
    """Return what stands against one melt, weightiest first; the chances; and the limits of use."""
    pairs = mixed(shares, mix.rules)
    found = [
        _pair_reason(mix, i, j, 1.0 - float(pairs.one[:, place].mean())) for place, (i, j) in enumerate(pairs.pairs)
    ]
    even = float(even_flow(mix).mean())
    if even < 1.0:
        found.append(
            Reason("flow", _flow_text(mix), 1.0 - even, "rotoun-mfr nielsen-1977", "trade table"),
        )
    limits: list[str] = []
    if _food_differs(mix):
        found.append(Reason("remark", "only some of it was made for food", 1.0, "", "common practice"))
        limits.append("not for food: only some of it was made for it")
    elif any("food contact" in part.batch.remarks for part in mix.parts):
        limits.append("recycled in a workshop it is no longer fit for food, whatever it was made for")
    colours = {frozenset(part.batch.remarks) & COLOURS for part in mix.parts}
    if len(colours) > 1:
        limits.append("colours differ: the mix turns streaky or dull")
    if any(reason.kind == "chemistry" and reason.weight > WEIGHTY for reason in found):
        limits.append("not for parts whose breaking could hurt; try a small slab and bend it first")
    kept = sorted((r for r in found if r.weight >= WEIGHTY), key=lambda r: (-round(r.weight, 9), r.text))
    return tuple(kept), chances_of(mix, shares), tuple(limits)


def _food_differs(mix: Mix) -> bool:
    return len({"food contact" in part.batch.remarks for part in mix.parts}) > 1


def _pair_reason(mix: Mix, i: int, j: int, weight: float) -> Reason:
    rules = mix.rules
    names = rules.model.candidates
    if TRACES in {i, j}:
        known = names[max(i, j)]
        return Reason("contaminants", f"{known} with traces of other resins that cannot be ruled out", weight, "", "")
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
