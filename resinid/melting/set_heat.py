"""How hot a mix is set: little above where it begins to flow, and no hotter than is borne for five minutes."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from resinid.batches.ranges import Ends
from resinid.errors import Faults
from resinid.melting.flow import flows_from
from resinid.melting.hot_time import Bearing, bearing_of
from resinid.melting.own_tables import walls

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.batches.melt_temperature import MeltHeat
    from resinid.batches.mix import Mix
    from resinid.melting.given import Given

__all__ = ["SetHeat", "check_temperatures", "set_heat"]

FAR: Final = 40.0
"""[K] Stock that is warmer than so far below flowing has begun to melt, and the plan is for stock that has not."""

ABOVE_CRYSTALS, ABOVE_GLASS = 20.0, 15.0
"""[K] So far above the temperature from which it flows a mix is set, so that its middle gets there in time: of a glass
less, which already flows by its viscosity (common practice, no source)."""

BELOW: Final = 25.0
"""[K] Not more than so far below the coolest printed melt temperature, which is one of injection moulding: a sheet
press at 160 degC makes slabs of PE-HD, 22 K below it (a published log: fabacademy.org 2022, Waag)."""

NEAR: Final = 5.0
"""[K] What a charge must reach lies at least so far below what it is set to, or it never gets there."""


@dataclass(frozen=True, slots=True)
class SetHeat:
    """How hot a mix is set, and what it bears.

    Parameters
    ----------
    window : Ends
        ``typical`` is what it is set to [degC], ``high`` what it may not pass.
    through : float
        Temperature [degC] that its coldest place must reach.
    bearing : Bearing
    """

    window: Ends
    through: float
    bearing: Bearing


def set_heat(mix: Mix, shares: Mapping[str, float], heat: MeltHeat, window: Ends) -> SetHeat | str:
    """Return how hot a mix is set, or why no heat suits it."""
    flows = flows_from(mix.rules, shares)
    main = max(shares, key=lambda resin: (shares[resin], resin))
    kinds = {each.symbol: each.kind for each in mix.rules.model.reference.resins}
    above = ABOVE_CRYSTALS if kinds[main] == "semicrystalline" else ABOVE_GLASS
    begin = min(max(flows + above, window.low - BELOW), window.typical)
    bearing = bearing_of(heat.molten, begin)
    hottest, weakest = bearing.hottest()
    if hottest < begin:
        return f"{weakest} bears {begin:.0f} °C for less than five minutes: leave it"
    found = Ends(min(window.low, begin), begin, max(min(window.high, hottest), begin), window.sources)
    return SetHeat(found, min(flows, begin - NEAR), bearing)


def check_temperatures(plate: float, given: Given, melted: float, window: Ends, bearing: Bearing) -> None:
    """Refuse plates too hot for melt or mould, or too cool, and stock that has begun to melt."""
    faults = Faults()
    start = given.start
    if plate > window.high:
        bears = bearing.minutes(plate)
        faults.add(
            "plate",
            f"{plate:g} °C would overheat the melt; at most {window.high:.0f} °C ({bears[1]} bears {plate:g} °C for "
            f"{bears[0]:.0f} min)",
        )
    if plate < melted + 0.5 * NEAR:
        least = math.ceil(melted + 0.5 * NEAR)
        faults.add("plate", f"{plate:g} °C would never make it flow right through; at least {least:.0f} °C")
    if start > melted - FAR:
        what = f"{start:g} °C is nearly molten, and the plan is for stock that is not; at most {melted - FAR:.0f} °C"
        faults.add("start", what)
    if given.material and plate > walls()[given.material].hottest:
        most = walls()[given.material].hottest
        faults.add("plate", f"{plate:g} °C is too hot for a mould of {given.material}; at most {most:.0f} °C")
    faults.check()
