"""Readings that stand for all that a density measurement may show."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.quantities import QUANTITIES

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["planned_densities"]

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
