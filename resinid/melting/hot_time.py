"""How long a resin bears heat: counted at the hottest place, faster where it is hotter.

Oxidation breaks out once the stabiliser is used up. The time to it is published for some resins at one
temperature in oxygen (induction by ISO 11357-6), and scales as

    t(T) = t(T0) exp(E / R (1/T - 1/T0)).

So a minute at ``T`` uses up ``1 / t(T)`` of what a resin bears, and the shares add up over the time it is
heated. In air it lasts ``air`` times as long as in oxygen (about the square root of the ratio of
pressures; from memory). Only the face meets air, so this errs to the cautious side in a closed mould.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.melting.own_tables import Bears, bears

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.arrays import Array

__all__ = ["LONGEST_ANY", "UNKNOWN", "Bearing", "bearing_of", "minutes_at"]

GAS: Final = 8.314e-3
"""[kJ/(mol K)]"""

KELVIN: Final = 273.15

SHORTEST: Final = 5.0
"""[min] No mix is made so hot that one of its resins bears it for less (cautious choice, no source): less time than
it takes to open an oven, press and cool."""

LONGEST_ANY: Final = 240.0
"""[min] However long a resin bears heat, someone has to stay with it (cautious choice, no source)."""

UNKNOWN: Final = Bears(30.0, 0.0, 1.0, 120.0, "common practice, no source")
"""Of a resin that the table does not list, at the temperature it is set to."""


@dataclass(frozen=True, slots=True)
class Bearing:
    """What all resins of a mix bear.

    Parameters
    ----------
    resins : tuple of (str, Bears)
    """

    resins: tuple[tuple[str, Bears], ...]

    def minutes(self, temperature: float) -> tuple[float, str]:
        """Return how long the mix bears a temperature [degC], and the resin that bears least."""
        return min(((minutes_at(each, temperature), name) for name, each in self.resins), key=lambda found: found[0])

    def rate(self, temperature: Array) -> Array:
        """Return which share of what the mix bears a minute at these temperatures [degC] uses up."""
        return np.asarray(np.max([1.0 / _minutes(each, temperature) for _, each in self.resins], axis=0))

    def hottest(self) -> tuple[float, str]:
        """Return the temperature [degC] that the mix bears for :data:`SHORTEST`, and the resin that sets it.

        What is nobody's measurement sets no limit here; the window of the melt does.
        """
        stated = [(_hottest(each), name) for name, each in self.resins if each.source != UNKNOWN.source]
        return min(stated, default=(math.inf, ""))


def bearing_of(resins: Iterable[str], begin: float) -> Bearing:
    """Return what resins bear; ``begin`` [degC] is what the mix is set to."""
    table = bears()
    other = Bears(UNKNOWN.minutes, begin, UNKNOWN.air, UNKNOWN.energy, UNKNOWN.source)
    return Bearing(tuple((resin, table.get(resin, other)) for resin in sorted(resins)))


def minutes_at(resin: Bears, temperature: float) -> float:
    """Return how long a resin bears a temperature [degC] in air [min].

    Examples
    --------
    >>> from resinid.melting.own_tables import bears
    >>> [round(minutes_at(bears()["PE-HD"], at)) for at in (160, 182, 200, 220)]
    [893, 119, 26, 6]
    """
    return float(_minutes(resin, np.array(temperature)))


def _minutes(resin: Bears, temperature: Array) -> Array:
    inverse = 1.0 / (np.maximum(temperature, 0.0) + KELVIN) - 1.0 / (resin.at + KELVIN)
    return np.asarray(resin.minutes * resin.air * np.exp(resin.energy / GAS * inverse))


def _hottest(resin: Bears) -> float:
    more = math.log(resin.minutes * resin.air / SHORTEST) * GAS / resin.energy
    return 1.0 / (1.0 / (resin.at + KELVIN) - more) - KELVIN
