"""A liquid as it compares with what is published of plastics, which is at room temperature.

A bath's density is that at its own temperature, and so is that of the chip in it, while the
table's densities are of 20 to 25 degC (ISO 1183 conditions at 23 ± 2 degC; from memory). A chip
of density ``rho`` at 23 degC has ``rho / (1 + a e)`` when it is warmer by ``e``. Whether it floats,
and what it weighs in the liquid, go by the ratio of both densities, so the correction is put on
the liquid: it does to a chip at 23 degC what a liquid denser by ``1 + a e`` would.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from resinid.liquids.liquid import Liquid

__all__ = ["EXPANSION", "U_EXPANSION", "at_room", "beyond_room"]

EXPANSION: Final = 3.5e-4
"""[1/K] Cubic expansion of a plastic, three times the linear one: that is (0.8 to 1.1)e-4 of PP and ABS,
(1 to 2)e-4 of polyethylene, (0.35 to 0.7)e-4 of PC and PMMA, (0.15 to 0.65)e-4 of PET
(matmake.com/properties/thermal-expansion-of-polymers-and-plastics.html; its table was read)."""

U_EXPANSION: Final = 1.5e-4
"""[1/K] Its standard uncertainty, for which plastic it is is not known (judged from the same table)."""

_LOW: Final = 20.0
_HIGH: Final = 26.0
"""[degC] Between these nothing is corrected, for the published values themselves were taken there."""


def beyond_room(temperature: float) -> float:
    """Return by how much a temperature [degC] is beyond room temperature, 23 ± 3 degC [K]; negative where colder.

    Examples
    --------
    >>> beyond_room(21.0), beyond_room(38.0), beyond_room(5.0)
    (0.0, 12.0, -15.0)
    """
    return temperature - min(max(temperature, _LOW), _HIGH)


def at_room(liquid: Liquid) -> tuple[float, float]:
    """Return the density that a liquid would have to do the same to a chip at 23 degC, and its uncertainty [g/cm3].

    Examples
    --------
    >>> from resinid.liquids import pure_water
    >>> water = pure_water(38.0)
    >>> round(water.density, 4), [round(value, 4) for value in at_room(water)]
    (0.993, [0.9971, 0.0018])
    """
    excess = beyond_room(liquid.temperature)
    stretched = 1.0 + EXPANSION * excess
    return liquid.density * stretched, math.hypot(liquid.u * stretched, liquid.density * U_EXPANSION * excess)
