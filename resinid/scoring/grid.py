"""Nodes and weights for integrals over a latent property.

A resin's distribution of a property is smooth at the scale of a few tenths of a
per cent, a reading's likelihood at the scale of its uncertainty. The trapezium
rule on an evenly spaced smooth map of the coordinate converges exponentially for
such integrands (Trefethen & Weideman 2014, SIAM Rev. 56:385-458, theorem 2.1):
with a Gaussian of standard deviation ``s`` and spacing ``h`` the relative error
is about ``2 exp(-2 pi^2 (s/h)^2)``. Readings finer than the standing grid are
integrated on Gauss-Legendre panels graded towards them.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from resinid.arrays import Array

__all__ = ["Axis", "Grid", "graded_grid", "panel_grid", "standing_grid", "zone", "zone_grid"]

FINEST: Final = 0.75
"""Narrowest feature the standing grid resolves, in units of its local spacing.

The relative error is then about 2 exp(-2 pi^2 0.75^2) = 3e-5, far below what any
reading can tell.
"""

PANEL_NODES: Final = 16
EVERY: Final = 10
"""An ungraded panel spans this many steps of the standing grid, so it resolves as much and more."""

NARROWEST: Final = 1e-7
"""Narrowest feature that graded panels go down to [coordinate]; anything finer is taken as that."""

ZONE: Final = 256
"""Neighbouring narrow features share a grid over so many of their widths to either side. With 64 and 256, ten thousand
densities to 0.0003 g/cm3 took 2.5 and 2.2 seconds, and one piece from cold 27 and 56 ms; with 256, nearly all solid
plastics lie in five zones, foams and all in 25."""

APART: Final = 16
"""Widths beyond that, on which a feature at the edge of a zone, up to twice as wide, still has narrow panels."""

WIDE: Final = 3.0
"""Widths of a zone's panels: with sixteen nodes a Lorentzian of that width is good to 2e-9, a normal to rounding."""


@dataclass(frozen=True, slots=True)
class Axis:
    """The coordinate of a latent property and where its standing grid is dense.

    Parameters
    ----------
    low, high : float
        Range of the coordinate.
    centre, below, above, step : float
        Nodes are spaced ``step (1 + ((y - centre)/scale)^2)`` about a coordinate ``y``,
        with the scale ``below`` or ``above`` on either side of the centre: dense near
        it, sparser beyond.
    logarithmic : bool
        Whether the coordinate is the natural logarithm of the property.
    """

    low: float
    high: float
    centre: float
    below: float
    above: float
    step: float
    logarithmic: bool

    def spacing(self, coordinate: Array | float) -> Array | float:
        """Return the spacing of the standing grid at a coordinate."""
        away = np.asarray(coordinate) - self.centre
        out: Array = self.step * (1.0 + (away / np.where(away < 0, self.below, self.above)) ** 2)
        return out

    def resolves(self, coordinate: float, width: float) -> bool:
        """Return whether the standing grid resolves a feature of that width there."""
        away = coordinate - self.centre
        scale = self.below if away < 0 else self.above
        return width >= FINEST * self.step * (1.0 + (away / scale) ** 2)

    def too_sharp(self, value: float, width: float) -> tuple[float, float] | None:
        """Return coordinate and width of a feature within the range that the standing grid does not resolve.

        Parameters
        ----------
        value, width : float
            Where the feature is and how wide, in the property's own unit.

        Returns
        -------
        tuple of float or None
            None where the standing grid will do.

        Examples
        --------
        >>> axis = Axis(-8.0, 8.0, 0.0, 2.0, 3.0, 0.1, logarithmic=True)
        >>> axis.too_sharp(1.0, 0.001)
        (0.0, 0.001)
        >>> axis.too_sharp(1.0, 0.5) is None
        True
        >>> axis.too_sharp(0.0, 0.001) is None  # zero has no logarithm
        True
        """
        if self.logarithmic:
            if value <= 0.0:
                return None  # below any range
            value, width = math.log(value), width / value
        sharp = self.low <= value <= self.high and not self.resolves(value, width)
        return (value, width) if sharp else None


@dataclass(frozen=True, slots=True)
class Grid:
    """Nodes of an integral: their coordinates, the property's values, the weights."""

    coordinates: Array
    values: Array
    weights: Array


def standing_grid(axis: Axis) -> Grid:
    """Return the standing grid of an axis.

    Examples
    --------
    >>> grid = standing_grid(Axis(-8.0, 8.0, 0.0, 2.0, 3.0, 0.1, logarithmic=False))
    >>> normal = np.exp(-0.5 * grid.coordinates**2) / np.sqrt(2 * np.pi)
    >>> bool(abs(grid.weights @ normal - 1) < 1e-9)
    True
    """
    # With y = centre + scale tan(k step/scale), dy/dk is the wanted spacing; the two sides
    # meet at the centre with the same first two derivatives.
    first = math.ceil(axis.below / axis.step * math.atan((axis.low - axis.centre) / axis.below))
    last = math.floor(axis.above / axis.step * math.atan((axis.high - axis.centre) / axis.above))
    k = np.arange(first, last + 1)
    scale = np.where(k < 0, axis.below, axis.above)
    slope = np.tan(k * axis.step / scale)
    coordinates = axis.centre + scale * slope
    weights = axis.step * (1.0 + slope**2)
    weights[[0, -1]] *= 0.5
    return _grid(axis, coordinates, weights)


def graded_grid(axis: Axis, features: Iterable[tuple[float, float]]) -> Grid:
    """Return a grid that resolves narrow features as well.

    Parameters
    ----------
    axis : Axis
    features : iterable of (float, float)
        Coordinate and width of each feature.
    """
    edges = [standing_grid(axis).coordinates[::EVERY], np.array([axis.low, axis.high])]
    for centre, width in features:
        narrow = max(width, NARROWEST)
        reach = 2.0 * narrow * 2.0 ** np.arange(0, math.ceil(math.log2(max((axis.high - axis.low) / narrow, 2.0))))
        inner = np.array([0.5, 1.0, 1.5, 3.0, 5.0, 6.0, 7.0]) * narrow
        edges += [np.array([centre]), centre - reach, centre + reach, centre - inner, centre + inner]
    return _panels(axis, edges)


def zone(centre: Array | float, width: Array | float) -> tuple[Array, Array]:
    """Return the place and width of the zone that a narrow feature shares with its neighbours.

    Examples
    --------
    >>> [float(each) for each in zone(0.1, 0.0003)]
    [0.125, 0.000244140625]
    """
    narrow = 2.0 ** np.floor(np.log2(np.maximum(width, NARROWEST)))
    pitch = 2 * ZONE * narrow
    return np.round(centre / pitch) * pitch, narrow


@functools.lru_cache(maxsize=16)
def panel_grid(axis: Axis) -> Grid:
    """Return a grid of even panels, each of which spans :data:`EVERY` steps of the standing grid."""
    return _panels(axis, [_even_edges(axis)])


def _even_edges(axis: Axis) -> Array:
    return np.unique(np.concatenate([standing_grid(axis).coordinates[::EVERY], [axis.low, axis.high]]))


def zone_grid(axis: Axis, centre: float, width: float) -> tuple[Grid, slice]:
    """Return a grid that resolves any one feature of a zone, as :func:`zone` says it.

    Returns
    -------
    Grid
    slice
        The nodes of :func:`panel_grid` that its finer ones stand for; all others are the same.
    """
    edges = _even_edges(axis)
    reach = (ZONE + APART) * width
    # A panel more to either side, so that no even one is nearer to a feature than it is wide.
    first = max(int(np.searchsorted(edges, centre - reach, side="right")) - 2, 0)
    last = min(int(np.searchsorted(edges, centre + reach)) + 1, edges.size - 1)
    even = np.linspace(-reach, reach, 2 * math.ceil(reach / (WIDE * width)) + 1)
    # Beyond, a panel is as wide as it is far from the zone's end.
    doublings = math.ceil(math.log2(max((axis.high - axis.low) / (APART * width), 2.0)))
    further = (ZONE + APART * 2.0 ** np.arange(1, doublings)) * width
    around: Array = centre + np.concatenate([-further, even, further])
    inside = around[(around > edges[first]) & (around < edges[last])]
    return _panels(axis, [edges, inside]), slice(first * PANEL_NODES, last * PANEL_NODES)


def _panels(axis: Axis, edges: Sequence[Array]) -> Grid:
    """Return Gauss-Legendre nodes between neighbouring edges."""
    cuts = np.unique(np.concatenate(edges))
    cuts = cuts[(cuts >= axis.low) & (cuts <= axis.high)]
    nodes, node_weights = np.polynomial.legendre.leggauss(PANEL_NODES)
    half = np.diff(cuts) / 2.0
    middle = cuts[:-1] + half
    return _grid(axis, (middle[:, None] + half[:, None] * nodes).ravel(), (half[:, None] * node_weights).ravel())


def _grid(axis: Axis, coordinates: Array, weights: Array) -> Grid:
    values = np.exp(coordinates) if axis.logarithmic else coordinates.copy()
    for array in (coordinates, values, weights):
        array.flags.writeable = False
    return Grid(coordinates, values, weights)
