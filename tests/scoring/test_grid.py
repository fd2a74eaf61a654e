"""Quadrature grids against known integrals."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy import stats
from scipy.special import log_ndtr, ndtr, voigt_profile

from resinid import default_reference
from resinid.identification.score import model_of
from resinid.scoring.grid import FINEST, ZONE, Axis, graded_grid, standing_grid, zone, zone_grid
from resinid.scoring.latents import AXES
from resinid.scoring.properties import observed


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


@pytest.mark.parametrize("width", [1e-3, 1e-5, 1e-7])
@pytest.mark.parametrize("centre", [-0.7, 0.3])
def test_graded_grid_resolves_long_tails(centre: float, width: float) -> None:
    """A Lorentzian reading, whose tails reach everywhere, folded with a normal resin is scipy's Voigt profile."""
    axis = Axis(-6.0, 5.0, 0.0, 1.0, 1.0, 0.05, logarithmic=False)
    grid = graded_grid(axis, [(centre, width)])
    resin = stats.norm.pdf(grid.coordinates, 0.1, 0.5)
    product = float(grid.weights @ (resin * stats.cauchy.pdf(grid.coordinates, centre, width)))
    assert product == pytest.approx(float(voigt_profile(centre - 0.1, 0.5, width)), rel=1e-8)


@pytest.mark.parametrize("side", [-1.0, 1.0])
def test_graded_grid_resolves_a_hundred_readings(side: float) -> None:
    """A hundred readings that agree, and fifty floats among fifty sinks, by closed form and by plain sum."""
    axis = Axis(-5.0, 5.0, 0.0, 1.0, 1.0, 0.05, logarithmic=False)
    centre, width = 0.3 * side, 1e-3
    grid = graded_grid(axis, [(centre, width)])
    resin = stats.norm.pdf(grid.coordinates, 0.1, 0.5)
    product = float(grid.weights @ (resin * stats.norm.pdf(grid.coordinates, centre, width / 10.0)))
    assert product == pytest.approx(float(stats.norm.pdf(centre, 0.1, math.hypot(0.5, width / 10.0))), rel=1e-8)
    z = np.linspace(-60.0, 60.0, 120001)
    fifty = np.exp(50 * (log_ndtr(z) + log_ndtr(-z)))
    expected = float(fifty @ stats.norm.pdf(centre + width * z, 0.1, 0.5)) * width * float(z[1] - z[0])
    z = (grid.coordinates - centre) / width
    found = float(grid.weights @ (resin * np.exp(50 * (log_ndtr(z) + log_ndtr(-z)))))
    assert found == pytest.approx(expected, rel=1e-8)


def test_nodes_of_the_finest_feature_are_bounded() -> None:
    """A feature however narrow, down to one of no width at all, takes no more nodes than one of 1e-7."""
    axis = AXES["density"]
    most = graded_grid(axis, [(0.05, 1e-7)]).values.size
    for width in (3e-8, 1e-12, 1e-300, 0.0):
        assert graded_grid(axis, [(0.05, width)]).values.size == most
    assert graded_grid(axis, [(0.05, 1e-4)]).values.size < most
    assert graded_grid(axis, [(0.05, 100.0)]).values.size < most, "wider than the range"


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


@pytest.mark.parametrize("name", list(AXES))
@pytest.mark.parametrize("place", [0.02, 0.3, 0.5, 0.7, 0.98])
def test_too_sharp_is_finer_than_the_nodes(name: str, place: float) -> None:
    """Anywhere on an axis, a feature is too sharp where it is narrower than its share of the distance of the nodes."""
    axis = AXES[name]
    nodes = standing_grid(axis)
    index = round(place * (nodes.values.size - 1))
    distance = float(nodes.coordinates[index + 1] - nodes.coordinates[index - 1]) / 2.0
    value, coordinate = float(nodes.values[index]), float(nodes.coordinates[index])
    unit = value if axis.logarithmic else 1.0  # d(value)/d(coordinate)
    assert axis.too_sharp(value, 1.01 * FINEST * distance * unit) is None
    found = axis.too_sharp(value, 0.99 * FINEST * distance * unit)
    assert found == pytest.approx((coordinate, 0.99 * FINEST * distance), rel=1e-9)
    assert axis.resolves(coordinate, 1.01 * FINEST * distance)
    assert not axis.resolves(coordinate, 0.99 * FINEST * distance)


def test_the_finest_feature_is_resolved_to_the_error_that_is_stated() -> None:
    """The standing grid is said to be good to 3e-5 for the narrowest feature it resolves (2 exp(-2 pi^2 0.75^2))."""
    axis = AXES["flexural_modulus"]
    grid = standing_grid(axis)
    spacing = float(axis.spacing(axis.centre))
    width = next(w for w in np.arange(0.4, 2.0, 0.001) * spacing if axis.resolves(axis.centre, w))
    shifts = np.linspace(0.0, spacing, 41)
    errors = [abs(float(grid.weights @ stats.norm.pdf(grid.coordinates, axis.centre + s, width)) - 1) for s in shifts]
    assert 2e-5 < max(errors) < 4e-5


@pytest.mark.parametrize("name", list(AXES))
@pytest.mark.parametrize("width", [1e-9, 1e-5, 1e-2])
def test_graded_grid_covers_its_range_once(name: str, width: float) -> None:
    """Panels leave no gap and do not overlap: the weights add up to the range, also about a feature at its edge."""
    axis = AXES[name]
    for features in ([(axis.centre, width)], [(axis.low + width, width), (axis.high - 3 * width, width)]):
        grid = graded_grid(axis, features)
        assert (np.diff(grid.coordinates) >= 0).all()
        assert axis.low < grid.coordinates[0] <= grid.coordinates[-1] < axis.high
        assert grid.weights.sum() == pytest.approx(axis.high - axis.low, rel=1e-12)
        assert float(grid.weights @ grid.coordinates) == pytest.approx((axis.high**2 - axis.low**2) / 2, rel=1e-9)


def test_what_is_shared_cannot_be_written() -> None:
    """Grids and latents are kept and handed out again, so their arrays refuse to be changed."""
    axis = AXES["density"]
    latent, whole = model_of(default_reference()).latent("density"), observed("density").latent(default_reference())
    for grid in (standing_grid(axis), graded_grid(axis, [(0.0, 1e-4)])):
        for array in (
            grid.coordinates,
            grid.values,
            grid.weights,
            latent.values,
            latent.mass,
            whole.values,
            whole.mass,
        ):
            with pytest.raises(ValueError, match="read-only"):
                array[..., 0] = 1.0


@pytest.mark.parametrize("width", [3e-3, 1e-4, 1e-7])
@pytest.mark.parametrize("centre", [-0.7, 0.3, 1.9])
def test_a_zone_resolves_each_of_its_features(centre: float, width: float) -> None:
    """Wherever in its zone a reading lies, bell, step or long tail, it integrates as the closed form says."""
    axis = Axis(-6.0, 5.0, 0.0, 1.0, 1.0, 0.05, logarithmic=False)
    place, narrow = zone(centre, width)
    grid, _ = zone_grid(axis, float(place), float(narrow))
    resin = stats.norm.pdf(grid.coordinates, centre - 0.2, 0.5)
    for at in place + np.linspace(-ZONE, ZONE, 9) * narrow:
        assert zone(0.999 * at + 0.001 * place, width) == (place, narrow), "neighbours have one zone"
        away = at - centre + 0.2
        bell = float(grid.weights @ (resin * stats.norm.pdf(grid.coordinates, at, width)))
        assert bell == pytest.approx(float(stats.norm.pdf(away, 0.0, math.hypot(0.5, width))), rel=1e-9)
        tail = float(grid.weights @ (resin * stats.cauchy.pdf(grid.coordinates, at, width)))
        assert tail == pytest.approx(float(voigt_profile(away, 0.5, width)), rel=1e-8)
        step = float(grid.weights @ (resin * ndtr((at - grid.coordinates) / width)))
        assert step == pytest.approx(float(ndtr(away / math.hypot(0.5, width))), rel=1e-9)


@pytest.mark.parametrize("width", [1e-12, 1e-7, 1e-4, 1e-3, 100.0])
def test_a_zone_has_a_bounded_number_of_nodes(width: float) -> None:
    """However narrow its feature, a zone has no more than three times as many nodes as panels as wide as its steps."""
    axis = AXES["density"]
    place, narrow = zone(0.05, width)
    grid, _ = zone_grid(axis, float(place), float(narrow))
    assert grid.values.size < 6000
    assert float(grid.weights.sum()) == pytest.approx(axis.high - axis.low, rel=1e-12)
    assert (np.diff(grid.coordinates) > 0).all()
