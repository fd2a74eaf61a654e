"""Amounts as a person measures them: grams to the scale's step, millilitres to what a kitchen jug shows."""

from __future__ import annotations

from typing import Final

__all__ = ["JUG", "grams_shown", "mass_measured", "millilitres_shown", "volume_measured"]

JUG: Final = 5.0
"""[mL] Smallest amount a kitchen jug shows, or a teaspoon holds (common practice, no source)."""

KITCHEN_SCALE: Final = 1.0
"""[g] Step of a kitchen scale, taken where no scale is at hand (common practice, no source)."""

FINE: Final = 0.01
"""A step is fine enough where it is no more than this share of the amount (common practice, no source)."""


def _step(amount: float, finest: float, coarsest: float) -> float:
    """Return the largest power of ten times the finest step that is a fine part of the amount."""
    step = finest
    while 10.0 * step <= min(FINE * amount, coarsest) * (1.0 + 1e-9):
        step *= 10.0
    return step


def _rounded(amount: float, finest: float, coarsest: float) -> float:
    """Return an amount in whole steps; as it is where it is less than half of one."""
    step = _step(amount, finest, coarsest)
    return round(amount / step) * step or amount


def mass_measured(grams: float, scale: float | None) -> float:
    """Return a mass to the step of a scale [g]: to 1 g from 100 g on, where the scale shows less.

    Examples
    --------
    >>> [round(mass_measured(76.93, scale), 4) for scale in (0.01, 0.1, 1.0, 5.0)]
    [76.9, 76.9, 77.0, 75.0]
    """
    return _rounded(grams, scale or KITCHEN_SCALE, 1.0)


def volume_measured(millilitres: float, cylinder: float | None) -> float:
    """Return a volume to a cylinder's division, or to what a kitchen jug shows [mL].

    Examples
    --------
    >>> [round(volume_measured(95.27, cylinder), 4) for cylinder in (None, 1.0, 0.1)]
    [95.0, 95.0, 95.3]
    """
    return _rounded(millilitres, cylinder or JUG, 1.0)


def _number(value: float) -> str:
    return f"{float(f'{value:.3g}'):g}" if value < 1.0 else f"{value:.10g}" if value == round(value) else f"{value:.5g}"


def grams_shown(grams: float, scale: float | None) -> str:
    """Return a mass as it is weighed out.

    Examples
    --------
    >>> grams_shown(76.93, 1.0), grams_shown(963.97, 0.1), grams_shown(0.3, 1.0)
    ('77 g', '964 g', '0.3 g')
    """
    return f"{_number(mass_measured(grams, scale))} g"


def millilitres_shown(millilitres: float, cylinder: float | None) -> str:
    """Return a volume as it is measured out.

    Examples
    --------
    >>> millilitres_shown(95.27, None), millilitres_shown(95.27, 1.0)
    ('95 mL', '95 mL')
    """
    return f"{_number(volume_measured(millilitres, cylinder))} mL"
