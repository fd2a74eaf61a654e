"""Quadrature grids against known integrals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats
from scipy.special import ndtr

from resinid.scoring.grid import FINEST, Axis, graded_grid, standing_grid
from resinid.scoring.latents import AXES


@pytest.mark.parametrize("name", list(AXES))
def test_standing_grid_keeps_its_bound(name: str) -> None:
    """A normal as narrow as the grid says it resolves integrates to one within three times 2 exp(-2 pi^2 FINEST^2)."""
    axis = AXES[name]
    grid = standing_grid(axis)
    bound = 2 * math.exp(-2 * math.pi**2 * FINEST**2)
    for centre in np.linspace(axis.low + 0.2 * (axis.high - axis.low), axis.high - 0.2 * (axis.high - axis.low), 37):
        sd = FINEST * float(axis.spacing(float(centre)))
        total = float(grid.weights @ stats.norm.pdf(grid.coordinates, centre, sd))
        assert total == pytest.approx(1.0, abs=3 * bound)


def test_graded_grid_resolves_what_it_was_told() -> None:
    """A reading a thousand times narrower than the resin integrates as the closed form says."""
    axis = Axis(-5.0, 5.0, 0.0, 1.0, 1.0, 0.05, logarithmic=False)
    for width in (1e-2, 1e-4, 1e-6):
        grid = graded_grid(axis, [(0.3, width)])
        resin = stats.norm.pdf(grid.coordinates, 0.1, 0.5)
        product = float(grid.weights @ (resin * stats.norm.pdf(grid.coordinates, 0.3, width)))
        assert product == pytest.approx(float(stats.norm.pdf(0.3, 0.1, math.hypot(0.5, width))), rel=1e-8)
        floats = float(grid.weights @ (resin * ndtr((0.3 - grid.coordinates) / width)))
        assert floats == pytest.approx(float(ndtr(0.2 / math.hypot(0.5, width))), rel=1e-8)


@pytest.mark.parametrize("name", list(AXES))
def test_standing_grid_ends_within_its_range(name: str) -> None:
    """The nodes are ascending, reach to within a step of either end of the range, and none lies beyond."""
    axis = AXES[name]
    grid = standing_grid(axis)
    assert (np.diff(grid.coordinates) > 0).all()
    assert axis.low <= grid.coordinates[0] <= axis.low + 2 * float(axis.spacing(axis.low))
    assert axis.high - 2 * float(axis.spacing(axis.high)) <= grid.coordinates[-1] <= axis.high
    inner = np.asarray(axis.spacing(grid.coordinates), dtype=float)
    assert grid.weights[1:-1] == pytest.approx(inner[1:-1], rel=1e-9)
    assert grid.weights[[0, -1]] == pytest.approx(0.5 * inner[[0, -1]], rel=1e-9), "the trapezium rule halves its ends"
