"""What a workshop may do about parts that flow unlike or come apart, and what a higher heat would gain."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from resinid.batches.melt_flow import LARGEST_RATIO
from resinid.batches.melt_temperature import melt_heat, shaping
from resinid.batches.outcome import DELAMINATES, ONE_MELT
from resinid.batches.pair_conditions import conditions

if TYPE_CHECKING:
    from resinid.batches.mix import Mix
    from resinid.batches.mix_flow import MeltFlow

__all__ = ["flow_gain", "remedies_of"]

ACTIVATION: Final = {"PE-HD": (25.9, 29.1)}
"""[kJ/mol] Activation energy of flow, lowest and highest printed: linear high-density polyethylene, J. Rheol. 40
(1996) 1079."""

GAS_CONSTANT: Final = 8.314462618e-3
"""[kJ/(mol K)], exact in the SI of 2019."""

KNEAD: Final = (
    "press a sheet, fold it or cut it up, and press again, two or three times: kneaded like that grades that flow "
    "unlike mix better (common practice, no source)"
)
PICK: Final = "sort the bag: what is of its main kind makes a sound slab by itself (common practice, no source)"
SORT: Final = "keep them apart: each by itself makes a sound slab (common practice, no source)"


def flow_gain(resin: str, low: float, high: float) -> tuple[float, float] | None:
    """Return by what factor a resin flows more easily at the higher of two temperatures [degC], least and most.

    None where no activation energy of its flow is known. The law is Arrhenius's.

    Examples
    --------
    >>> [round(factor, 1) for factor in flow_gain("PE-HD", 182.0, 275.0)]
    [3.2, 3.7]
    """
    energies = ACTIVATION.get(resin)
    if energies is None:
        return None
    span = 1.0 / (low + 273.15) - 1.0 / (high + 273.15)
    least, most = (math.exp(energy * span / GAS_CONSTANT) for energy in energies)
    return least, most


def remedies_of(mix: Mix, flow: MeltFlow | None, outcome: str) -> tuple[str, ...]:
    """Return what may be done about a mix that may be heated, none where the parts are alike."""
    out = _uncounted(mix)
    if flow is not None and flow.ratio > LARGEST_RATIO:
        out += [*_hotter(mix, flow), KNEAD]
    if outcome == DELAMINATES:
        out += _agents(mix)
    if outcome != ONE_MELT and not (flow is not None and flow.ratio > LARGEST_RATIO):
        out.append(SORT if len({part.stream for part in mix.parts}) > 1 else PICK)
    return tuple(out)


def _uncounted(mix: Mix) -> list[str]:
    """Say that a compatibiliser that was stated is not counted, where its effect on these kinds is not published."""
    stated, mains = mix.compatibiliser, {mix.rules.model.candidates[part.main] for part in mix.parts}
    if stated is None:
        return []
    rows = [row for row in conditions() if row.agent == stated.agent]
    if any({row.first, row.second} <= mains and row.least <= stated.percent <= row.most for row in rows):
        return []
    known = ", ".join(f"{row.first} with {row.second}, from {row.least:g} %" for row in rows)
    what = f"{stated.percent:g} % of {stated.agent} in {' and '.join(sorted(mains))}"
    return [f"not counted is the compatibiliser: nobody published what {what} does; published is {known}"]


def _agents(mix: Mix) -> list[str]:
    """Name what is published to join the batches' main kinds."""
    mains = {mix.rules.model.candidates[part.main] for part in mix.parts}
    return [
        f"{row.least:g} % of {row.agent} is published to join {row.first} with {row.second}: state it as compatibiliser"
        for row in conditions()
        if row.agent and {row.first, row.second} <= mains
    ]


def _hotter(mix: Mix, flow: MeltFlow) -> list[str]:
    """Say that heat makes both flow more easily and neither more like the other."""
    window = melt_heat(mix.rules, shaping(mix)).window
    main = mix.rules.model.candidates[mix.parts[0].main]
    gain = flow_gain(main, window.low, window.high) if window is not None else None
    if window is None or gain is None:
        return [f"one flows {flow.ratio:.0f} times as easily as the other: heat makes both runnier, neither more alike"]
    factor = math.sqrt(gain[0] * gain[1])
    said = (
        f"one flows {flow.ratio:.0f} times as easily as the other, and no heat makes them alike: from "
        f"{window.low:.0f} to {window.high:.0f} °C each gains about {factor:.1f} times (J. Rheol. 40, 1079)"
    )
    return [said]
