"""How well the melt flow rates of a mix's batches match, and the rate of the mix."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.batches.melt_flow import LARGEST_RATIO, RULE_ERROR, same_condition
from resinid.batches.mix_outcome import tolerated
from resinid.reference.rules import Z90

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.arrays import Array
    from resinid.batches.mix import Mix
    from resinid.batches.mix_part import MixPart
    from resinid.batches.mixing_rules import Rules

__all__ = ["FLOW_NOTICE", "MeltFlow", "at_odds", "comparable", "even_flow", "mix_melt_flow"]

UNKNOWN: Final = 0.5
"""Chance that two grades flow alike where their rates were measured under different conditions (this project's
choice: nothing is known, and it is not to count as alike)."""

FLOW_NOTICE: Final = 0.05
"""Share of another grade of one resin below which it is not noticed (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class MeltFlow:
    """Melt flow rate of a mix by the log rule [g/10 min]: median and 90 % interval.

    ``valid`` says whether the rates differ by no more than the rule is stated to bear.
    """

    median: float
    low: float
    high: float
    condition: str
    basis: tuple[str, ...]
    ratio: float
    valid: bool


def even_flow(mix: Mix, weights: Sequence[float] | None = None) -> Array:
    """Return for each draw the chance that no two batches of one kind differ too much in flow."""
    chosen = mix.weights if weights is None else weights
    out = np.ones(mix.parts[0].log_rate.size)
    for (one, w_one), (other, w_other) in itertools.combinations(zip(mix.parts, chosen, strict=True), 2):
        if comparable(one, other, mix.rules):
            near: Array | float = (np.abs(one.log_rate - other.log_rate) <= math.log(LARGEST_RATIO)).astype(float)
        elif at_odds(one, other, mix.rules):
            near = UNKNOWN
        else:
            continue
        unnoticed = float(tolerated(np.array(min(w_one, w_other)), FLOW_NOTICE))
        out *= unnoticed + (1.0 - unnoticed) * near
    return out


def comparable(one: MixPart, other: MixPart, rules: Rules) -> bool:
    """Return whether two batches' rates can be compared: one kind of resin, one condition."""
    if one.flow is None or other.flow is None:
        return False
    return bool(rules.family(one.main)[other.main]) and same_condition(one.flow.condition, other.flow.condition)


def at_odds(one: MixPart, other: MixPart, rules: Rules) -> bool:
    """Return whether a rate was measured that cannot be compared with that of its own kind of resin."""
    if one.flow is None or other.flow is None or comparable(one, other, rules):
        return False
    measured = "measured" in {one.flow.basis, other.flow.basis}
    return measured and bool(rules.family(one.main)[other.main])


def mix_melt_flow(mix: Mix) -> MeltFlow | None:
    """Return the mix's melt flow rate; None where the batches' rates cannot be compared."""
    if any(part.flow is None for part in mix.parts):
        return None
    if not all(comparable(mix.parts[0], part, mix.rules) for part in mix.parts[1:]):
        return None
    flows = [part.flow for part in mix.parts if part.flow is not None]
    mean = math.fsum(weight * flow.mean for weight, flow in zip(mix.weights, flows, strict=True))
    ratio = math.exp(max(flow.mean for flow in flows) - min(flow.mean for flow in flows))
    # Equal batches have one rate, not two independent ones: their spreads add.
    spread: dict[int, float] = {}
    for part, weight, flow in zip(mix.parts, mix.weights, flows, strict=True):
        spread[part.stream] = spread.get(part.stream, 0.0) + weight * flow.sd
    sd = math.hypot(*spread.values(), RULE_ERROR if ratio > 1.0 else 0.0)
    reach = Z90 * sd
    return MeltFlow(
        median=math.exp(mean),
        low=math.exp(mean - reach),
        high=math.exp(mean + reach),
        condition=flows[0].condition,
        basis=tuple(flow.basis for flow in flows),
        ratio=ratio,
        valid=ratio <= LARGEST_RATIO,
    )
