"""Density of pure, air-free water."""

from __future__ import annotations

from typing import Final

from resinid.errors import RangeError
from resinid.liquids._checks import refuse_not_finite

__all__ = [
    "SOURCES",
    "no_solute_density",
    "no_solute_uncertainty",
    "water_beyond",
    "water_density",
    "water_uncertainty",
]

SOURCES: Final = ("tanaka_2001",)

# Tanaka et al. 2001, equation 1 and the a-values below it.
_A1: Final = -3.983035  # degC
_A2: Final = 301.797  # degC
_A3: Final = 522528.9  # degC2
_A4: Final = 69.34881  # degC
_A5: Final = 0.999974950  # g/cm3, V-SMOW at its maximum

_LOW: Final = 0.0  # degC, the range the equation is stated for
_HIGH: Final = 40.0  # degC

# The paper claims below 1e-6; dissolved air alone moves it by some 2e-6 to 5e-6.
_U: Final = 1e-5  # g/cm3


def water_density(t: float) -> float:
    """Return the density of pure water at 1 atm [g/cm3].

    Parameters
    ----------
    t : float
        Temperature [degC], 0 to 40.

    Returns
    -------
    float
        Density [g/cm3].

    Raises
    ------
    RangeError
        The temperature is outside 0 to 40 degC.
    InputError
        It is no number.

    Notes
    -----
    ``rho = a5 (1 - (t + a1)^2 (t + a2) / (a3 (t + a4)))``, Tanaka et al. 2001,
    Metrologia 38, 301, equation 1, stated for 0 to 40 degC. Follows IAPWS-95
    within 2e-6 g/cm3 there.

    Examples
    --------
    >>> round(water_density(20.0), 5)
    0.99821
    """
    refuse_not_finite(temperature=t)
    if not _LOW <= t <= _HIGH:
        msg = (
            f"water: temperature {t:g} °C is outside {_LOW:g} to {_HIGH:g} °C; give degrees Celsius, "
            "and let the water come to room temperature"
        )
        raise RangeError(msg)
    return water_beyond(t)


def water_beyond(t: float) -> float:
    """Return what :func:`water_density` does, a little out of its range too: for slopes at its ends [g/cm3]."""
    return _A5 * (1.0 - (t + _A1) ** 2 * (t + _A2) / (_A3 * (t + _A4)))


def water_uncertainty(t: float) -> float:  # noqa: ARG001 - every model has the same signature
    """Return the standard uncertainty of :func:`water_density` [g/cm3]."""
    return _U


def no_solute_density(w: float, t: float) -> float:  # noqa: ARG001 - every model has the same signature
    """Return :func:`water_density`; the mass fraction ``w`` can only be 0."""
    return water_density(t)


def no_solute_uncertainty(w: float, t: float) -> float:  # noqa: ARG001 - every model has the same signature
    """Return :func:`water_uncertainty`; the mass fraction ``w`` can only be 0."""
    return water_uncertainty(t)
