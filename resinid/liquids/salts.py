"""Density of solutions of common salt, calcium chloride, potash and Epsom salt.

Each salt is water plus a polynomial fitted by us to printed tables. Laliberté's
one formula for all salts was tried first; against the CRC Handbook at 20 degC it
misses potassium carbonate by 0.006 g/cm3 and cold brine by 0.0009, so only its
thermal expansion is used, and only for two of the salts.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

from resinid.liquids.water import water_density

__all__ = [
    "calcium_chloride_density",
    "calcium_chloride_saturation",
    "calcium_chloride_uncertainty",
    "magnesium_sulfate_density",
    "magnesium_sulfate_saturation",
    "magnesium_sulfate_uncertainty",
    "potassium_carbonate_density",
    "potassium_carbonate_saturation",
    "potassium_carbonate_uncertainty",
    "sodium_chloride_density",
    "sodium_chloride_saturation",
    "sodium_chloride_uncertainty",
]

_TABLE: Final = 20.0  # degC, the temperature of the CRC table

# Pairs (power of w, coefficient in g/cm3): our least-squares fits of density minus water.
# CRC Handbook 102nd ed. at 20 degC and Rogers and Pitzer 1982 at 0 to 40 degC.
_NACL_20: Final = ((1.0, 0.714225), (1.5, -0.0327282), (2.0, 0.181393), (3.0, 0.302023))
_NACL_D1: Final = ((1.0, -0.0199525), (2.0, 0.0297088))  # for each 10 K
_NACL_D2: Final = ((1.0, 0.00358081), (2.0, -0.00755549))  # for each (10 K)^2
# CRC Handbook 102nd ed. at 20 degC.
_CACL2_20: Final = ((1.0, 0.862671), (1.5, -0.335767), (2.0, 1.00323), (3.0, -0.470995), (4.0, 0.270891))
_K2CO3_20: Final = ((1.0, 0.938644), (1.5, -0.347462), (2.0, 0.989344), (3.0, -0.679904), (4.0, 0.532824))
_MGSO4_20: Final = ((1.0, 1.02802), (1.5, -0.158206), (2.0, 0.72276), (3.0, 0.155072))
# Mean of the two potassium carbonate brines MKC and MKC2 of CoolProp 8.0, 5 to 35 degC.
_K2CO3_D: Final = ((1.0, -0.00166292), (2.0, 0.00203486))  # for each K

# Laliberté 2009, coefficients c0 to c4 of the apparent density, as shipped in chemicals 1.5.2.
_CACL2_EXPANSION: Final = (
    -9.72893747074295, 14.7005352975276, 4.19033341468332, 0.0397403624277021, 2708.12778894614,
)  # fmt: skip
_MGSO4_EXPANSION: Final = (
    98.1201663080777, 59.265764731786, -0.0303404982114453, 0.000503619228557116, 1763.7594229147,
)  # fmt: skip

# Saturated solutions, (degC, mass fraction), joined by straight lines.
_NACL_SATURATED: Final = (  # Salt Institute
    (0.1, 0.2631), (4.4, 0.2633), (10.0, 0.2636), (15.6, 0.26395),
    (21.1, 0.2645), (26.7, 0.2652), (37.8, 0.2668),
)  # fmt: skip
# Romek 59.5 and 74.5 g a 100 g of water; held above 20 degC though more dissolves.
_CACL2_SATURATED: Final = ((0.0, 0.373), (20.0, 0.427))
_K2CO3_SATURATED: Final = ((0.0, 0.517), (20.0, 0.526), (40.0, 0.539))  # NARK data base: 107, 111, 116.9
# 20 and 40 degC Romek; 0 and 10 degC from memory.
_MGSO4_SATURATED: Final = ((0.0, 0.182), (10.0, 0.217), (20.0, 0.262), (40.0, 0.313))


def sodium_chloride_density(w: float, t: float) -> float:
    """Return the density of a solution of common salt, NaCl [g/cm3].

    Notes
    -----
    Eight coefficients fitted to 35 values at 20 degC (CRC Handbook, 102nd ed.)
    and 54 values at 0 to 40 degC and up to 5 mol/kg (Rogers and Pitzer 1982);
    largest residual 0.00013. From 0.226 to saturation, away from 20 degC, it
    extrapolates in w.

    Examples
    --------
    >>> round(sodium_chloride_density(0.10, 20.0), 4)
    1.0707
    """
    d = (t - _TABLE) / 10.0
    excess = _powers(_NACL_20, w) + d * (_powers(_NACL_D1, w) + d * _powers(_NACL_D2, w))
    return water_density(t) + excess


def sodium_chloride_uncertainty(w: float, t: float) -> float:
    """Return the standard uncertainty of :func:`sodium_chloride_density` [g/cm3]: 0.0002 to 0.0006."""
    # Above 5 mol/kg three rival fits of the same tables part by 0.0003 a 10 K.
    beyond = max(0.0, w - 0.226) / 0.04
    return math.hypot(2e-4, 3e-4 * beyond * abs(t - _TABLE) / 10.0)


def sodium_chloride_saturation(t: float) -> float:
    """Return the mass fraction of NaCl in a saturated solution at ``t`` [degC]."""
    return _lines(_NACL_SATURATED, t)


def calcium_chloride_density(w: float, t: float) -> float:
    """Return the density of a solution of calcium chloride, CaCl2 [g/cm3].

    Notes
    -----
    At 20 degC fitted to 31 values of the CRC Handbook, 102nd ed. (largest
    residual 0.00012); elsewhere multiplied by ``rho(t) / rho(20)`` of Laliberté
    2009, which is stated for 15 to 127 degC.

    Examples
    --------
    >>> round(calcium_chloride_density(0.40, 20.0), 3)
    1.396
    """
    at_20 = water_density(_TABLE) + _powers(_CACL2_20, w)
    return at_20 * _laliberte(_CACL2_EXPANSION, w, t) / _laliberte(_CACL2_EXPANSION, w, _TABLE)


def calcium_chloride_uncertainty(w: float, t: float) -> float:
    """Return the standard uncertainty of :func:`calcium_chloride_density` [g/cm3]: 0.0007 to 0.0026."""
    # Laliberté and CRC part by 0.0007 at 20 degC up to 36 % and by 0.0025 at 40 %;
    # the slopes with temperature of five sources spread by 8e-5 a K.
    beyond = 2.5e-3 * max(0.0, w - 0.36) / 0.04
    return math.hypot(7e-4, beyond, 8e-5 * (t - _TABLE))


def calcium_chloride_saturation(t: float) -> float:
    """Return the mass fraction of CaCl2 in a saturated solution at ``t`` [degC], a cautious value."""
    return _lines(_CACL2_SATURATED, t)


def potassium_carbonate_density(w: float, t: float) -> float:
    """Return the density of a solution of potassium carbonate (potash), K2CO3 [g/cm3].

    Notes
    -----
    At 20 degC fitted to 24 values of the CRC Handbook, 102nd ed. (largest
    residual 0.00015). The change with temperature is the mean of two brine
    correlations in CoolProp 8.0, known up to 0.40 and extrapolated above.

    Examples
    --------
    >>> round(potassium_carbonate_density(0.40, 20.0), 3)
    1.414
    """
    slope = _powers(_K2CO3_D, w)
    return water_density(t) + _powers(_K2CO3_20, w) + slope * (t - _TABLE)


def potassium_carbonate_uncertainty(w: float, t: float) -> float:
    """Return the standard uncertainty of :func:`potassium_carbonate_density` [g/cm3]: 0.001 at 20 degC."""
    # CRC and CoolProp's MKC part by 0.0009 at 20 degC; slopes of three sources by 1.2e-4 a K,
    # of which 8e-5 is our judgement, and more above 0.40 where the slope is extrapolated.
    slope = 8e-5 * (1.0 + 5.0 * max(0.0, w - 0.40))
    return math.hypot(1e-3, slope * (t - _TABLE))


def potassium_carbonate_saturation(t: float) -> float:
    """Return the mass fraction of K2CO3 in a saturated solution at ``t`` [degC]."""
    return _lines(_K2CO3_SATURATED, t)


def magnesium_sulfate_density(w: float, t: float) -> float:
    """Return the density of a solution of magnesium sulfate, MgSO4 [g/cm3].

    Notes
    -----
    At 20 degC fitted to 19 values of the CRC Handbook, 102nd ed. (largest
    residual 0.00004); elsewhere multiplied by ``rho(t) / rho(20)`` of Laliberté
    2009.

    Examples
    --------
    >>> round(magnesium_sulfate_density(0.20, 20.0), 3)
    1.22
    """
    at_20 = water_density(_TABLE) + _powers(_MGSO4_20, w)
    return at_20 * _laliberte(_MGSO4_EXPANSION, w, t) / _laliberte(_MGSO4_EXPANSION, w, _TABLE)


def magnesium_sulfate_uncertainty(w: float, t: float) -> float:
    """Return the standard uncertainty of :func:`magnesium_sulfate_density` [g/cm3]: 0.0005 at 20 degC."""
    # Laliberté and CRC part by 0.0009 at 22 %. Its expansion falls with w, where
    # that of other salts rises: 1e-4 a K at 25 % is our estimate, no source.
    return math.hypot(5e-4, 1e-4 * (w / 0.25) * (t - _TABLE))


def magnesium_sulfate_saturation(t: float) -> float:
    """Return the mass fraction of MgSO4 in a saturated solution at ``t`` [degC]."""
    return _lines(_MGSO4_SATURATED, t)


def _powers(pairs: tuple[tuple[float, float], ...], w: float) -> float:
    """Return ``sum coefficient * w^power``."""
    return sum(coefficient * float(w**power) for power, coefficient in pairs)


def _laliberte(c: tuple[float, float, float, float, float], w: float, t: float) -> float:
    """Return the density of Laliberté 2009 [g/cm3], used for its change with temperature only."""
    apparent = (c[0] * w + c[1]) * math.exp(1e-6 * (t + c[4]) ** 2) / (w + c[2] + c[3] * t)
    return 1.0 / ((1.0 - w) / water_density(t) + 1000.0 * w / apparent)


def _lines(points: tuple[tuple[float, float], ...], t: float) -> float:
    """Return the value at ``t`` on straight lines through the points, held flat beyond the ends."""
    if t <= points[0][0]:
        return points[0][1]
    for (t0, w0), (t1, w1) in pairwise(points):
        if t <= t1:
            return w0 + (w1 - w0) * (t - t0) / (t1 - t0)
    return points[-1][1]
