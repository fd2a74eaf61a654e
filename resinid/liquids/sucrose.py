"""Density of sugar (sucrose) solutions."""

from __future__ import annotations

from typing import Final

from resinid.liquids.water import water_density

__all__ = ["SOURCES", "sucrose_density", "sucrose_saturation", "sucrose_uncertainty"]

SOURCES: Final = ("icumsa_sps4", "crc_102_aqueous", "charles_1960")

# ICUMSA, kg/m3; row i multiplies ((t - 20) / 100)^i, column k multiplies w^(k+1).
_ROWS: Final = (
    (385.1761, 135.3705, 40.9299, -3.9643, 13.4853, -17.2890),
    (-46.2720, -7.1720, 1.1597, 5.1126, 17.5254),
    (59.7712, 7.2491, 12.3630, -35.4791),
    (-47.2207, -21.6977, 27.6301),
    (18.3184, 12.3081),
)

_U: Final = 2e-4  # g/cm3, judged from the agreement with the CRC table up to 70 %

# Charles 1960, % of sucrose in a saturated solution; from memory.
_SATURATION: Final = (64.397, 0.07251, 0.0020569, -9.035e-6)


def sucrose_density(w: float, t: float) -> float:
    """Return the density of a solution of sucrose in water [g/cm3].

    Notes
    -----
    The ICUMSA polynomial (Specification and Standard SPS-4), read in public
    copies: water plus ``sum_i ((t - 20) / 100)^i sum_k a_ik w^k``. The water is
    that of Tanaka 2001, whatever the standard itself takes.

    Examples
    --------
    >>> round(sucrose_density(0.5, 20.0), 4)
    1.2297
    """
    d = (t - 20.0) / 100.0
    total = 0.0
    for row in reversed(_ROWS):
        inner = 0.0
        for coefficient in reversed(row):
            inner = (inner + coefficient) * w
        total = total * d + inner
    return water_density(t) + total / 1000.0


def sucrose_uncertainty(w: float, t: float) -> float:  # noqa: ARG001 - every model has the same signature
    """Return the standard uncertainty of :func:`sucrose_density` [g/cm3]."""
    return _U


def sucrose_saturation(t: float) -> float:
    """Return the mass fraction of sucrose in a saturated solution.

    Notes
    -----
    Cubic of Charles 1960, Int. Sugar J. 62, 126; coefficients from memory.

    Examples
    --------
    >>> round(sucrose_saturation(20.0), 3)
    0.666
    """
    total = 0.0
    for coefficient in reversed(_SATURATION):
        total = total * t + coefficient
    return total / 100.0
