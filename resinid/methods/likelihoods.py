"""Small likelihood functions that several methods are made of."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final, cast

import numpy as np
from scipy.special import ndtr

from resinid.scoring.normal import normal_density

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.arrays import Array

__all__ = ["below", "between", "normal_about", "normal_density"]

FAR: Final = 8.5
"""Standard deviations beyond which the normal distribution function is 0 or 1 in double precision."""


def normal_about(values: Array, centre: Array | float, sd: float) -> Array:
    """Return the density of a reading ``centre`` with a normal error of ``sd``, at each value.

    Parameters
    ----------
    values : numpy.ndarray
        Ascending, shape (nodes,).
    centre : float or numpy.ndarray
        One reading, or shape (errors, 1).
    sd : float
        Standard deviation of the error.
    """
    # Far from the reading the density is nothing; only what is near is computed.
    first, last = _ends(values, centre, sd)
    out = _nothing(values, centre)
    out[..., first:last] = normal_density(centre - values[first:last], sd)
    return out


def _ends(values: Array, centre: Array | float, width: float) -> Sequence[int]:
    """Return which values lie within :data:`FAR` widths of one or several centres, as the ends of a slice."""
    low, high = (centre.min(), centre.max()) if isinstance(centre, np.ndarray) else (centre, centre)
    return cast("Sequence[int]", values.searchsorted((low - FAR * width, high + FAR * width)).tolist())


def _nothing(values: Array, centre: Array | float) -> Array:
    return np.zeros((centre.size, values.size) if isinstance(centre, np.ndarray) else values.shape)


def below(values: Array, limit: Array | float, width: float) -> Array:
    """Return the chance that ``values`` plus a normal error of ``width`` lie below ``limit``.

    Parameters
    ----------
    values : numpy.ndarray
        Ascending, shape (nodes,).
    limit : float or numpy.ndarray
        One limit, or shape (errors, 1).
    width : float
        Standard deviation of the error.
    """
    # Away from the limit the chance is one or zero to the last digit; only the step is computed.
    first, last = _ends(values, limit, width)
    out = _nothing(values, limit)
    out[..., :first] = 1.0
    out[..., first:last] = ndtr((limit - values[first:last]) / width)
    return out


def between(values: Array, low: float, high: float, shift: Array | float, width: float) -> Array:
    """Return the chance that ``values`` plus a normal error of ``width`` lie between two limits.

    Parameters
    ----------
    values : numpy.ndarray
        Ascending, finite, shape (nodes,).
    low, high : float
        The limits; an infinite one is none.
    shift : float or numpy.ndarray
        By how much both are off; one number, or shape (errors, 1).
    width : float
        Standard deviation of the error.

    Examples
    --------
    >>> between(np.array([0.0, 5.0]), -1.96, 1.96, 0.0, 1.0).round(3).tolist()
    [0.95, 0.001]
    """
    upper = np.ones(1) if math.isinf(high) else below(values, high + shift, width)
    lower = np.zeros(1) if math.isinf(low) else below(values, low + shift, width)
    out: Array = np.maximum(upper - lower, 0.0)
    return out
