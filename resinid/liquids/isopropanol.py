"""Density of isopropanol and water in any proportion."""

from __future__ import annotations

import math
from typing import Final

from resinid.liquids.ethanol import ethanol_density
from resinid.liquids.water import water_density

__all__ = ["SOURCES", "isopropanol_density", "isopropanol_uncertainty"]

SOURCES: Final = ("lebo_1921", "crc_102_aqueous", "oiml_r22_1975")

# Our least-squares fit at 20 degC of (density - water) on w, w^2 ... w^6 to both
# printed tables at once: 13 points of Lebo 1921 and 19 of the CRC Handbook,
# with pure isopropanol held near 0.7855 (from memory). The tables differ by up to 0.0014.
_EXCESS: Final = (-0.244868, 1.28384, -5.48965, 9.60536, -7.71693, 2.34934)  # g/cm3

_U_20: Final = 7.5e-4  # g/cm3, the largest residual of that fit
# Pure isopropanol by the DIPPR and VDI correlations in chemicals 1.5.2 loses 0.00092 to 0.00098
# g/cm3 a kelvin, by the ethanol ratio 0.00085: the gap is the uncertainty.
_U_PER_KELVIN: Final = 1.2e-4  # g/cm3/K


def isopropanol_density(w: float, t: float) -> float:
    """Return the density of a mixture of isopropanol (2-propanol) and water [g/cm3].

    Notes
    -----
    At 20 degC a polynomial through two printed tables. No table at other
    temperatures could be read, so the mixture is taken to expand as ethanol and
    water of the same mass fraction do: ``rho(w, t) = rho(w, 20) *
    ethanol(w, t) / ethanol(w, 20)``. That is an analogy, and
    :func:`isopropanol_uncertainty` grows with the distance from 20 degC for it.

    Examples
    --------
    >>> round(isopropanol_density(0.70, 20.0), 3)
    0.859
    """
    excess = 0.0
    for coefficient in reversed(_EXCESS):
        excess = (excess + coefficient) * w
    expansion = ethanol_density(w, t) / ethanol_density(w, 20.0)
    return (water_density(20.0) + excess) * expansion


def isopropanol_uncertainty(w: float, t: float) -> float:  # noqa: ARG001 - every model has the same signature
    """Return the standard uncertainty of :func:`isopropanol_density` [g/cm3]."""
    return math.hypot(_U_20, _U_PER_KELVIN * (t - 20.0))
