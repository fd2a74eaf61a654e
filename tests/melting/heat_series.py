"""Independent solutions of heating a slab: the series, Neumann's of a melting half-space, and lines in space.

None of them shares a line with :mod:`resinid.melting.slab`.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq
from scipy.special import erf, erfc

if TYPE_CHECKING:
    from collections.abc import Sequence

TERMS = 60


def eigenvalues(biot: float, terms: int = TERMS) -> np.ndarray:
    """Roots of ``z tan z = Bi`` (Carslaw & Jaeger, section 3.11; Incropera & DeWitt, eq. 5.42; from memory)."""

    def slope(z: float) -> float:
        return z * math.sin(z) - biot * math.cos(z)

    return np.array(
        [brentq(slope, n * math.pi + 1e-12, (n + 0.5) * math.pi, xtol=1e-14) for n in range(terms)], dtype=float
    )


def left_over(fourier: float, biot: float, place: float = 0.0) -> float:
    """Share of the temperature difference that is left at ``x / L``."""
    z = eigenvalues(biot)
    c = 4.0 * np.sin(z) / (2.0 * z + np.sin(2.0 * z))
    return float((c * np.exp(-z * z * fourier) * np.cos(z * place)).sum())


def minutes_by_series(
    target: float, start: float, source: float, *, depth: float, k: float, rho_c: float, h: float
) -> float:
    """Time [min] in which the middle, ``depth`` [m] from the face, reaches a temperature, without fusion."""
    share, biot = (source - target) / (source - start), h * depth / k
    fourier = brentq(lambda f: left_over(f, biot) - share, 0.005, 1e4, xtol=1e-10)
    return float(fourier * depth**2 * rho_c / k / 60.0)


def heat_by_neumann(
    seconds: float, *, face: float, start: float, melts: float, k: float, rho: float, c: float, fusion: float
) -> float:
    """Heat [J/m2] that a melting half-space has taken up through a face at a fixed temperature.

    Carslaw & Jaeger, section 11.2, eq. (11), both phases alike (from memory): the front is at
    ``2 lambda sqrt(a t)``, and the face passes ``k (T_face - T_melt) / (erf lambda sqrt(pi a t))``.
    """

    def balance(lam: float) -> float:
        hot = (face - melts) * math.exp(-(lam**2)) / erf(lam)
        cold = (melts - start) * math.exp(-(lam**2)) / erfc(lam)
        return float(hot - cold - lam * math.sqrt(math.pi) * fusion / c)

    lam = brentq(balance, 1e-6, 5.0)
    return float(2.0 * k * (face - melts) * math.sqrt(seconds / (math.pi * k / (rho * c))) / erf(lam))


def minutes_by_lines(
    layers: Sequence[tuple[float, float, float, float, tuple[float, float], float]],
    starts: Sequence[float],
    source: float,
    target: float,
    nodes: int = 30,
) -> float:
    """Time [min] by nodes on the faces of elements, heat capacity as it is at each node's temperature, and scipy's BDF.

    Each layer is thickness [m], k, rho c, fusion [J/m3], its range, and the contact towards the outside; from the
    outside in. Nodes carry half of each element beside them; contacts join two nodes of no distance.
    """
    places, capacity, latent, ranges, start, joins = [], [], [], [], [], []
    for (thick, k, rho_c, fusion, melting, contact), first in zip(layers, starts, strict=True):
        dx = thick / nodes
        joins += [contact, *[k / dx] * nodes]
        weights = np.array([0.5, *[1.0] * (nodes - 1), 0.5]) * dx
        capacity += list(weights * rho_c)
        latent += list(weights * fusion)
        ranges += [melting] * (nodes + 1)
        start += [first] * (nodes + 1)
        places.append(nodes + 1)
    held, taken = np.array(capacity), np.array(latent)
    low, high = np.array(ranges).T
    across = np.array(joins)

    def heat_capacity(t: np.ndarray) -> np.ndarray:
        # A tent of the same area in the range: smooth enough for an adaptive step.
        middle, half = 0.5 * (low + high), 0.5 * (high - low)
        tent: np.ndarray = held + taken * np.clip(1.0 - np.abs(t - middle) / half, 0.0, None) / half
        return tent

    def rate(_: float, t: np.ndarray) -> np.ndarray:
        flux = np.zeros(t.size + 1)
        flux[:-1] = across * (np.concatenate([[source], t[:-1]]) - t)
        out: np.ndarray = (flux[:-1] - flux[1:]) / heat_capacity(t)
        return out

    rising = 1.0 if source > start[-1] else -1.0

    def reached(_: float, t: np.ndarray) -> float:
        return rising * (float(t[-1]) - target)

    reached.terminal = True  # type: ignore[attr-defined]  # because scipy reads it off the function
    found = solve_ivp(
        rate, (0.0, 4e5), np.array(start), method="LSODA", events=reached, rtol=1e-5, atol=1e-2, lband=1, uband=1
    )
    return float(found.t_events[0][0]) / 60.0
