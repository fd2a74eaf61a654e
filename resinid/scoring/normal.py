"""Density of the normal distribution."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from resinid.arrays import Array

__all__ = ["ROOT_2_PI", "normal_density"]

ROOT_2_PI: Final = math.sqrt(2.0 * math.pi)


def normal_density(residual: Array, sd: Array | float) -> Array:
    """Return the density of a normal error of standard deviation ``sd`` at ``residual``.

    Examples
    --------
    >>> normal_density(np.array([0.0, 1.0]), 1.0).round(4).tolist()
    [0.3989, 0.242]
    """
    z = residual / sd
    z *= z
    z *= -0.5
    out: Array = np.exp(z)
    out /= sd * ROOT_2_PI
    return out
