"""Heating through: against printed values of the series, other solutions, and numerical ones."""

from __future__ import annotations

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import solve_ivp
from scipy.special import erfc

from resinid import RangeError
from resinid.melting.conduction import eigenvalues, fourier_to_reach, left_over, middle_temperature, time_to_reach

# Incropera & DeWitt, Fundamentals of Heat and Mass Transfer, Table 5.1, plane wall: Bi, zeta_1 [rad], C_1.
# Figures from memory, each consistent with the printed four decimals.
PRINTED = [
    (0.01, 0.0998, 1.0017),
    (0.1, 0.3111, 1.0161),
    (0.2, 0.4328, 1.0311),
    (0.5, 0.6533, 1.0701),
    (1.0, 0.8603, 1.1191),
    (2.0, 1.0769, 1.1785),
    (5.0, 1.3138, 1.2402),
    (10.0, 1.4289, 1.2620),
    (100.0, 1.5552, 1.2731),
]


@pytest.mark.parametrize(("biot", "zeta", "c"), PRINTED)
def test_one_term_coefficients(biot: float, zeta: float, c: float) -> None:
    first = float(eigenvalues(biot)[0])
    assert first == pytest.approx(zeta, abs=6e-5)
    assert 4 * math.sin(first) / (2 * first + math.sin(2 * first)) == pytest.approx(c, abs=6e-5)


@pytest.mark.parametrize(("biot", "zeta", "c"), PRINTED)
@pytest.mark.parametrize("fourier", [0.3, 1.0, 3.0])
def test_heisler_one_term(biot: float, zeta: float, c: float, fourier: float) -> None:
    """Beyond Fo = 0.2 one term holds to 2 % (Heisler 1947; the charts' own statement)."""
    assert left_over(fourier, biot) == pytest.approx(c * math.exp(-(zeta**2) * fourier), rel=0.02)


@pytest.mark.parametrize("fourier", [0.003, 0.01, 0.03])
def test_short_times_are_those_of_a_half_space(fourier: float) -> None:
    """Before the faces know of each other, a fixed face temperature gives erfc (Carslaw & Jaeger, section 2.4)."""
    depth = 0.7  # from the middle; the face is 0.3 away
    expected = 1.0 - erfc((1.0 - depth) / (2.0 * math.sqrt(fourier)))
    assert left_over(fourier, 1e8, depth) == pytest.approx(expected, abs=2e-4)


def numerical(minutes: float, *, thickness: float, k: float, rho_c: float, h: float, span: float) -> float:
    """Temperature of the middle by the method of lines and scipy's stiff solver, from 0 to a source of ``span``."""
    cells = 120
    dx = thickness / 2000.0 / cells

    def rate(_: float, temperature: np.ndarray) -> np.ndarray:
        flux = np.zeros(cells + 1)
        flux[1:-1] = k * np.diff(temperature) / dx
        # Half a cell of plastic and the surface coefficient in series.
        flux[-1] = (span - temperature[-1]) / (dx / 2 / k + 1 / h)
        out: np.ndarray = np.diff(flux) / dx / rho_c
        return out

    found = solve_ivp(rate, (0, 60 * minutes), np.zeros(cells), method="BDF", rtol=1e-8, atol=1e-6)
    return float(found.y[0, -1])


@pytest.mark.parametrize("h", [20.0, 400.0, 5000.0])
@pytest.mark.parametrize("minutes", [4.0, 15.0])
def test_against_a_numerical_solution(h: float, minutes: float) -> None:
    layer = {"thickness": 20.0, "k": 0.35, "rho_c": 3.6e6, "h": h}
    series = middle_temperature(minutes, 0.0, 200.0, sides=2, **layer)
    assert series == pytest.approx(numerical(minutes, span=200.0, **layer), abs=0.15)


@pytest.mark.parametrize(("h", "sides"), [(20.0, 2), (400.0, 2), (400.0, 1)])
def test_time_brings_the_temperature(h: float, sides: int) -> None:
    """At the time given the coldest place has just the wanted temperature."""
    layer = {"thickness": 12.0, "k": 0.25, "rho_c": 2.5e6, "h": h}
    minutes = time_to_reach(140.0, 20.0, 190.0, sides=sides, **layer)
    assert middle_temperature(minutes, 20.0, 190.0, sides=sides, **layer) == pytest.approx(140.0, abs=1e-4)


def with_fusion(source: float, target: float, h: float, thickness: float) -> float:
    """Minutes to the target by an enthalpy scheme: the heat of fusion taken up between 120 and 132 degC only."""
    k, rho, c, fusion, low, high = 0.35, 950.0, 2250.0, 201e3, 120.0, 132.0
    cells = 60
    dx = thickness / 2000.0 / cells

    def temperature(heat: np.ndarray) -> np.ndarray:
        start, end = c * low, c * high + fusion
        melting = low + (heat - start) / (end - start) * (high - low)
        out: np.ndarray = np.where(heat < start, heat / c, np.where(heat > end, high + (heat - end) / c, melting))
        return out

    def rate(_: float, heat: np.ndarray) -> np.ndarray:
        t = temperature(heat)
        flux = np.zeros(cells + 1)
        flux[1:-1] = k * np.diff(t) / dx
        flux[-1] = (source - t[-1]) / (dx / 2 / k + 1 / h)
        out: np.ndarray = np.diff(flux) / dx / rho
        return out

    def reached(_: float, heat: np.ndarray) -> float:
        return float(temperature(heat[:1])[0]) - target

    reached.terminal = True  # type: ignore[attr-defined]  # because scipy reads it off the function
    found = solve_ivp(rate, (0, 6 * 3600), np.full(cells, c * 20.0), method="BDF", events=reached, rtol=1e-6, atol=1.0)
    return float(found.t_events[0][0]) / 60.0


@pytest.mark.slow
@pytest.mark.parametrize(("h", "thickness"), [(400.0, 20.0), (400.0, 8.0), (20.0, 20.0)])
def test_spreading_the_heat_of_fusion_is_good_enough(h: float, thickness: float) -> None:
    """Spreading the heat of fusion over the rise misses an enthalpy solution by less than a quarter."""
    spread = 950.0 * (2250.0 + 201e3 / (145.0 - 20.0))
    simple = time_to_reach(145.0, 20.0, 200.0, thickness=thickness, sides=2, k=0.35, rho_c=spread, h=h)
    print(f"h {h}, {thickness} mm: {simple:.2f} min, enthalpy {with_fusion(200.0, 145.0, h, thickness):.2f} min")
    assert simple == pytest.approx(with_fusion(200.0, 145.0, h, thickness), rel=0.25)


def test_contact_plates_melt_in_minutes_where_an_oven_has_barely_begun() -> None:
    """Common practice: plates bring a layer to melt in minutes; after twenty the oven's middle is far from melting."""
    layer = {"thickness": 20.0, "k": 0.35, "rho_c": 3.6e6}
    assert time_to_reach(135.0, 20.0, 200.0, sides=2, h=400.0, **layer) < 15.0
    assert middle_temperature(20.0, 20.0, 200.0, sides=2, h=20.0, **layer) < 100.0
    assert time_to_reach(135.0, 20.0, 200.0, sides=2, h=20.0, **layer) > 35.0


@pytest.mark.slow
@settings(max_examples=40, deadline=None)
@given(st.floats(0.02, 0.98), st.floats(0.01, 1000.0), st.floats(1.05, 4.0))
def test_more_contact_is_never_slower(share: float, biot: float, better: float) -> None:
    """A better surface never takes longer in the same layer, and thicker layers never less long."""
    slow, fast = fourier_to_reach(share, biot), fourier_to_reach(share, biot * better)
    assert fast <= slow * (1 + 1e-6)


def test_ends_and_slips() -> None:
    layer = {"thickness": 10.0, "k": 0.3, "rho_c": 3e6, "h": 100.0}
    assert time_to_reach(100.0, 120.0, 200.0, sides=2, **layer) == 0.0
    assert math.isinf(time_to_reach(150.0, 20.0, 140.0, sides=2, **layer))
    for share in (0.0, 1.0):
        with pytest.raises(RangeError):
            fourier_to_reach(share, 1.0)
    with pytest.raises(RangeError):
        eigenvalues(0.0)
