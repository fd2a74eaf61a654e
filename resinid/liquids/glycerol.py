"""Density of glycerol and water in any proportion."""

from __future__ import annotations

import math
from typing import Final

from resinid.liquids.water import water_density

__all__ = ["SOURCES", "glycerol_density", "glycerol_uncertainty"]

SOURCES: Final = ("volk_kahler_2018", "bosart_snoddy_1927")

_T_LOW: Final = 15.0  # degC, the range the paper states
_T_HIGH: Final = 30.0
_U: Final = 7e-4  # g/cm3, the largest deviation from the table of Bosart and Snoddy
_U_PER_KELVIN: Final = 1e-4  # g/cm3/K outside the stated range; common practice, no source


def glycerol_density(w: float, t: float) -> float:
    """Return the density of a mixture of glycerol and water [g/cm3].

    Notes
    -----
    Volk and Kahler 2018, Exp. Fluids 59, 75: volumes of the two liquids added
    and shrunk by ``1 + A(t) sin(pi w^1.31)^0.81``. Departure: the water of
    Tanaka 2001 replaces their shorter formula, which is 1.6e-4 g/cm3 low at 20
    degC; agreement with the printed table of Bosart and Snoddy 1927 improves.

    Examples
    --------
    >>> round(glycerol_density(0.5, 20.0), 3)
    1.126
    """
    water = water_density(t)
    glycerol = 1.273 - 0.000612 * t
    volumes_added = water + w * (glycerol - water) / (w + (glycerol / water) * (1.0 - w))
    amplitude = 1.78e-6 * t * t - 1.82e-4 * t + 1.41e-2
    # Rounding may push sin(pi) just below zero, which has no real power.
    shape = math.pow(max(0.0, math.sin(math.pi * math.pow(w, 1.31))), 0.81)
    return volumes_added * (1.0 + amplitude * shape)


def glycerol_uncertainty(w: float, t: float) -> float:  # noqa: ARG001 - every model has the same signature
    """Return the standard uncertainty of :func:`glycerol_density` [g/cm3]."""
    beyond = max(0.0, _T_LOW - t, t - _T_HIGH)
    return math.hypot(_U, _U_PER_KELVIN * beyond)
