"""How long a mix bears heat: counted at the hottest place, faster where it is hotter.

A minute at ``T`` uses up ``1 / t(T)`` of what a resin bears (:mod:`resinid.heating.bearing`), and the shares add up
over the time it is heated.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.heating.bearing import UNKNOWN, Bears, bears, borne_to, minutes_at, minutes_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.arrays import Array

__all__ = ["LONGEST_ANY", "Bearing", "bearing_of"]

LONGEST_ANY: Final = 240.0
"""[min] However long a resin bears heat, someone has to stay with it (cautious choice, no source)."""


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
        return np.asarray(np.max([1.0 / minutes_of(each, temperature) for _, each in self.resins], axis=0))

    def hottest(self) -> tuple[float, str]:
        """Return the temperature [degC] that the mix bears for five minutes, and the resin that sets it.

        A resin whose time nobody measured sets no limit here; the window of the melt does.
        """
        return min((borne_to(name), name) for name, _ in self.resins)


def bearing_of(resins: Iterable[str], begin: float) -> Bearing:
    """Return what resins bear; ``begin`` [degC] is what the mix is set to."""
    table = bears()
    other = Bears(UNKNOWN.minutes, begin, UNKNOWN.air, UNKNOWN.energy, UNKNOWN.source)
    return Bearing(tuple((resin, table.get(resin, other)) for resin in sorted(resins)))
