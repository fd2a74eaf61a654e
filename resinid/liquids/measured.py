"""A test liquid measured at the bench: with a hydrometer, or weighed by volume."""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from resinid.errors import Fault, InputError
from resinid.liquids._checks import refuse_negative, refuse_not_finite, refuse_not_positive
from resinid.liquids.liquid import Liquid, implausible
from resinid.liquids.water import water_density

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["SCALES", "from_hydrometer", "from_weighing"]

_GLASS: Final = 25e-6  # 1/K, cubic expansion of hydrometer glass, ISO 1768:1975, clause 3
_AIR: Final = 0.0012  # g/cm3, air in a room, the conventional value; from memory (OIML D 28)
_WEIGHTS: Final = 8.0  # g/cm3, weights a balance is set with, the conventional value; from memory (OIML D 28)
_SIXTY_FAHRENHEIT: Final = (60.0 - 32.0) / 1.8  # degC

_OTHER_SCALE: Final = "a stem that reads near 1000 is in kg/m3: set scale to 'kg/m3', which the stem says"

# For each scale: what to multiply a reading by to get g/cm3, and its temperature [degC].
SCALES: Final[Mapping[str, tuple[float, float]]] = MappingProxyType(
    {
        "g/cm3": (1.0, 20.0),
        "kg/m3": (0.001, 20.0),
        "SG 20/20": (water_density(20.0), 20.0),
        "SG 60/60F": (water_density(_SIXTY_FAHRENHEIT), _SIXTY_FAHRENHEIT),
    }
)
"""Hydrometer scales; specific gravity is relative to water at the scale's temperature."""


def from_hydrometer(
    reading: float,
    u: float,
    *,
    temperature: float = 20.0,
    scale: str = "g/cm3",
    calibration_temperature: float | None = None,
    label: str = "",
) -> Liquid:
    """Return the liquid a hydrometer floats in.

    Parameters
    ----------
    reading : float
        Reading, on ``scale``.
    u : float
        Standard uncertainty of the reading, on ``scale``; half a division is common practice, no source.
    temperature : float, optional
        Temperature of the liquid [degC]; the density returned is that at this temperature.
    scale : str, optional
        One of :data:`SCALES`.
    calibration_temperature : float, optional
        Temperature printed on the stem [degC]; that of the scale if not given.
    label : str, optional
        What to call it.

    Returns
    -------
    Liquid
        Density and its standard uncertainty.

    Raises
    ------
    InputError
        If a number or the scale cannot be used, or the density is impossible for a liquid.

    Notes
    -----
    Only the glass is corrected: warmer glass displaces more, so the reading is
    low by 25e-6 of itself a kelvin (ISO 1768:1975) and
    ``rho = R (1 - 25e-6 (t - t_cal))``. The liquid's own expansion needs no
    correction, for the float test happens at the same temperature.

    Examples
    --------
    >>> round(from_hydrometer(1.100, 0.001, temperature=25.0).density, 5)
    1.09986
    >>> round(from_hydrometer(1.100, 0.001, scale="SG 20/20").density, 4)
    1.098
    """
    if scale not in tuple(SCALES):  # a list has no hash to look it up by
        raise InputError([Fault("scale", f"{scale!r} is unknown; use one of {', '.join(SCALES)}")])
    refuse_not_finite(reading=reading, temperature=temperature)
    refuse_negative(u=u)
    factor, printed = SCALES[scale]
    set_at = printed if calibration_temperature is None else calibration_temperature
    refuse_not_finite(calibration_temperature=set_at)
    factor *= 1.0 - _GLASS * (temperature - set_at)
    if wrong := implausible(reading * factor, _OTHER_SCALE):
        raise InputError(Fault("reading", f"{reading:g} on {scale}: {fault.message}") for fault in wrong)
    how = f"hydrometer: {reading:g} ± {u:g} on {scale}, set at {set_at:.3g} °C, "
    return Liquid(
        reading * factor,
        u * factor,
        temperature,
        label or f"hydrometer {reading:g} {scale}",
        how + f"in the bath at {temperature:g} °C",
        "Read at the level of the liquid, below the rim it draws up the stem; no bubbles on the glass.",
        ("iso_1768_1975", *(("tanaka_2001",) if scale.startswith("SG") else ())),
    )


def from_weighing(
    mass: float, volume: float, u_mass: float, u_volume: float, *, temperature: float = 20.0, label: str = ""
) -> Liquid:
    """Return the liquid of which a known volume was weighed.

    Parameters
    ----------
    mass : float
        Net reading of the balance [g].
    volume : float
        Volume of the liquid [mL].
    u_mass : float
        Standard uncertainty of the net reading [g].
    u_volume : float
        Standard uncertainty of the volume [mL].
    temperature : float, optional
        Temperature of the liquid [degC].
    label : str, optional
        What to call it.

    Returns
    -------
    Liquid
        Density and its standard uncertainty.

    Raises
    ------
    InputError
        If a mass or volume is not positive or an uncertainty negative, or the density is
        impossible for a liquid.

    Notes
    -----
    Air carries part of liquid and weights, so with air of 0.0012 and weights of
    8.0 g/cm3, ``rho = (m / V) (1 - 0.0012 / 8.0) + 0.0012``. First-order
    combination of ``u_mass`` and ``u_volume``, JCGM 100:2008, 5.1.2.

    Examples
    --------
    >>> bath = from_weighing(107.0, 100.0, 0.1, 0.5)
    >>> round(bath.density, 4), round(bath.u, 4)
    (1.071, 0.0054)
    """
    refuse_not_finite(temperature=temperature)
    refuse_negative(u_mass=u_mass, u_volume=u_volume)
    refuse_not_positive(mass=mass, volume=volume)
    apparent = mass / volume * (1.0 - _AIR / _WEIGHTS)
    if wrong := implausible(apparent + _AIR, "check both units, and whether the vessel was taken off"):
        raise InputError(Fault("mass", f"{mass:g} g in {volume:g} mL: {fault.message}") for fault in wrong)
    return Liquid(
        apparent + _AIR,
        apparent * math.hypot(u_mass / mass, u_volume / volume),
        temperature,
        label or f"{mass:g} g in {volume:g} mL",
        f"weighed: {mass:g} ± {u_mass:g} g in {volume:g} ± {u_volume:g} mL at {temperature:g} °C",
        "Weigh the dry vessel first; the volume is worth no more than the mark on the glass.",
        ("oiml_d28", "jcgm_100_2008"),
    )
