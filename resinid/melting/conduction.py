"""Heat conduction into a flat layer: the series solution for a slab between surfaces that pass heat.

A slab of half-thickness ``L`` and diffusivity ``a``, at one temperature throughout, is suddenly
heated from both faces through a surface coefficient ``h``. With the Biot number ``Bi = h L / k``
and the Fourier number ``Fo = a t / L^2`` the part of the temperature difference that is left is

    theta(x, Fo) = sum_n C_n exp(-z_n^2 Fo) cos(z_n x / L),
    z_n tan z_n = Bi,   C_n = 4 sin z_n / (2 z_n + sin 2 z_n)

(Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed., section 3.11; Incropera & DeWitt,
Fundamentals of Heat and Mass Transfer, eq. 5.42; both from memory, and checked by tests
against printed values and a numerical solution). A layer heated from one side, the other
insulated, is half of one twice as thick. Heat of fusion is spread evenly over the rise; for
polyethylene that makes times about an eighth shorter than an enthalpy solution in which it
is taken up at the melting point (slow tests).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import RangeError

if TYPE_CHECKING:
    from resinid.arrays import Array

__all__ = ["eigenvalues", "fourier_to_reach", "left_over", "middle_temperature", "time_to_reach"]

TERMS: Final = 60
"""Terms of the series: enough for six digits down to a Fourier number of 0.002."""

SMALLEST: Final = 0.002
"""Fourier number below which the middle has not felt anything: left over by more than 1 - 1e-6."""


def eigenvalues(biot: float, terms: int = TERMS) -> Array:
    """Return the roots of ``z tan z = Bi``, one in each interval from ``n pi`` to ``(n + 1/2) pi``.

    Examples
    --------
    >>> round(float(eigenvalues(1.0)[0]), 4)
    0.8603
    """
    from scipy.optimize import brentq

    if not 1e-6 <= biot <= 1e9:
        raise RangeError(f"a Biot number of {biot:g} is outside 1e-6 to 1e9")

    def slope(z: float) -> float:
        return z * math.sin(z) - biot * math.cos(z)

    edge = 1e-12
    return np.array([brentq(slope, n * math.pi + edge, (n + 0.5) * math.pi, xtol=1e-14) for n in range(terms)])


def left_over(fourier: float, biot: float, place: float = 0.0) -> float:
    """Return the share of the temperature difference that is left at a place in the slab.

    Parameters
    ----------
    fourier : float
        Dimensionless time.
    biot : float
        Biot number of the half-thickness.
    place : float, optional
        ``x / L``: 0 in the middle (or at the insulated face), 1 at the heated face.

    Examples
    --------
    >>> round(left_over(1.0, 1.0), 3)  # one term: 1.1191 exp(-0.8603**2)
    0.534
    """
    if fourier < SMALLEST and place == 0.0:
        return 1.0
    z = eigenvalues(biot)
    c = 4.0 * np.sin(z) / (2.0 * z + np.sin(2.0 * z))
    return float((c * np.exp(-z * z * fourier) * np.cos(z * place)).sum())


def fourier_to_reach(share: float, biot: float) -> float:
    """Return the Fourier number at which the middle has only ``share`` of the difference left."""
    from scipy.optimize import brentq

    if not 0.0 < share < 1.0:
        raise RangeError(f"a share of {share:g} is not between 0 and 1")
    first = float(eigenvalues(biot, 1)[0])
    most = (math.log(1.3) - math.log(share)) / first**2 + 1.0
    return float(brentq(lambda fourier: left_over(fourier, biot) - share, SMALLEST, most, xtol=1e-10, rtol=1e-10))


def time_to_reach(
    target: float, start: float, source: float, *, thickness: float, sides: int, k: float, rho_c: float, h: float
) -> float:
    """Return the time [min] in which the coldest place of a layer reaches a temperature.

    Parameters
    ----------
    target, start, source : float
        Temperature to reach, of the layer at first, and of plate or air [degC].
    thickness : float
        Of the layer [mm].
    sides : int
        2 where both faces are heated; 1 where the other is insulated.
    k : float
        Thermal conductivity [W/(m K)].
    rho_c : float
        Heat capacity of a volume [J/(m3 K)], heat of fusion spread over the rise included.
    h : float
        Surface coefficient [W/(m2 K)].

    Returns
    -------
    float
        Infinite where the source is not hotter than the target; 0 where the layer is already.

    Examples
    --------
    >>> t = time_to_reach(150, 20, 200, thickness=20, sides=2, k=0.35, rho_c=3.5e6, h=400)
    >>> 10 < t < 20
    True
    """
    if start >= target:
        return 0.0
    if source <= target:
        return math.inf
    depth = thickness / 1000.0 / sides
    share = (source - target) / (source - start)
    fourier = fourier_to_reach(share, h * depth / k)
    return fourier * depth**2 * rho_c / k / 60.0


def middle_temperature(
    minutes: float, start: float, source: float, *, thickness: float, sides: int, k: float, rho_c: float, h: float
) -> float:
    """Return the temperature [degC] of the coldest place of a layer after a time [min]; else as :func:`time_to_reach`.

    Examples
    --------
    >>> middle_temperature(0.0, 20.0, 200.0, thickness=20, sides=2, k=0.35, rho_c=3.5e6, h=20.0)
    20.0
    """
    depth = thickness / 1000.0 / sides
    fourier = 60.0 * minutes * k / (rho_c * depth**2)
    return source + (start - source) * left_over(fourier, h * depth / k)
