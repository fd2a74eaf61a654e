"""Readings that stand for all that a density measurement may show."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeVar

import numpy as np

from resinid.quantities import QUANTITIES

if TYPE_CHECKING:
    from collections.abc import Callable

    from resinid.methods.contract import Observation

T = TypeVar("T", bound="Observation")

__all__ = ["planned_densities", "planned_readings"]

FINEST_PLANNED: Final = 0.0025
"""Planned readings are taken no finer than this share of the density, for no resin's
density is stated more narrowly than 0.3 %; below :data:`FOAM` that share grows."""

APART: Final = 1.5
"""Standard uncertainties from one planned reading to the next."""

FOAM: Final = 0.85
FOAM_GROWTH: Final = 40.0
"""[g/cm3, 1/(g/cm3)^2] Lighter pieces are foams, whose densities scatter by tens of per
cent: the share grows with the square of how far below."""

_LOW: Final = QUANTITIES["density"].low
_HIGH: Final = QUANTITIES["density"].high


def planned_densities(u_of: Callable[[float], float]) -> list[tuple[float, float, float]]:
    """Return densities that stand for all readings, the standard uncertainty and the interval of each [g/cm3].

    They lie :data:`APART` standard uncertainties apart and so add up to a smooth whole
    within 2 exp(-2 pi^2 / 1.5^2) = 3e-4; see :mod:`resinid.scoring.grid`.
    """
    densities, uncertainties = [_LOW], []
    while densities[-1] < _HIGH:
        density = densities[-1]
        finest = FINEST_PLANNED * (1.0 + FOAM_GROWTH * max(FOAM - density, 0.0) ** 2) * density
        uncertainties.append(max(u_of(density), finest))
        densities.append(density + APART * uncertainties[-1])
    intervals = np.gradient(densities)[:-1].tolist()
    return list(zip(densities[:-1], uncertainties, intervals, strict=True))


def planned_readings(
    read: Callable[[float, float], T], u: float, slope: Callable[[float], float]
) -> tuple[tuple[T, ...], tuple[float, ...]]:
    """Return the outcomes that stand for all of a density test, and the interval of the reading of each.

    Parameters
    ----------
    read : callable
        The outcome at a density [g/cm3] where the reading has a standard uncertainty.
    u : float
        The least standard uncertainty of that reading.
    slope : callable
        How much the reading moves with the density, at a density.
    """

    def u_of(density: float) -> float:
        feature = read(density, u).term().feature
        return feature[1] if feature else 0.0

    planned = planned_densities(u_of)
    outcomes = tuple(read(density, max(u, own * slope(density))) for density, own, _ in planned)
    return outcomes, tuple(step * slope(density) for density, _, step in planned)
