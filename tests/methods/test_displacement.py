"""Density by displacement, against worked values and simulation."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from scipy import stats

from resinid import InputError, identify, observe

if TYPE_CHECKING:
    from resinid.methods.contract import Observation


def most_likely(made: Observation) -> tuple[float, float]:
    """Return where an observation's likelihood is highest, and its standard deviation there."""
    values = np.linspace(0.5, 2.5, 400001)
    likelihood = made.term().likelihood(values, None)
    top = int(likelihood.argmax())
    weights = likelihood / likelihood.sum()
    mean = float(weights @ values)
    return float(values[top]), math.sqrt(float(weights @ (values - mean) ** 2))


def test_weighing_worked_value() -> None:
    """ISO 1183-1 method A with air buoyancy: 5.000 g in air, 0.240 g in water at 20 degC (0.9982) is 1.0485 g/cm3.

    rho = m_air (rho_l - rho_air)/(m_air - m_l) + rho_air, worked by hand:
    5.000 x (0.99821 - 0.0012)/4.760 + 0.0012 = 1.04847.
    """
    made = observe("weighing", in_air="5.000 ± 0.001 g", in_liquid="0.240 ± 0.001 g", liquid="water at 20 ± 0.1 degC")
    assert most_likely(made)[0] == pytest.approx(1.04847, abs=1e-4)
    assert "1.0485" in made.describe()


def test_sinker_worked_value() -> None:
    """With a sinker, m_l = (piece + sinker) - sinker: 2.00 g, 9.82 g, 10.00 g gives 2.00 x 0.9970/2.18 + 0.0012."""
    made = observe(
        "weighing",
        in_air="2.000 ± 0.001 g",
        in_liquid="9.820 ± 0.001 g",
        sinker_in_liquid="10.000 ± 0.001 g",
        liquid="water at 20 ± 0.1 degC",
    )
    assert most_likely(made)[0] == pytest.approx(2.000 * 0.99701 / 2.180 + 0.0012, abs=2e-4)


def test_cylinder_and_overflow_worked_values() -> None:
    """12.0 g that raises 50.0 mL to 60.0 mL is 1.20 g/cm3; 12.0 g that spills 9.98 g of water at 20 degC too."""
    cylinder = observe("cylinder", in_air="12.0 ± 0.01 g", before="50.0 ± 0.1 mL", after="60.0 ± 0.1 mL")
    overflow = observe("overflow", in_air="12.0 ± 0.01 g", spilled="9.98 ± 0.01 g", liquid="water")
    assert most_likely(cylinder)[0] == pytest.approx(1.20, abs=0.002)
    assert most_likely(overflow)[0] == pytest.approx(1.20, abs=0.002)
    # Volume error sqrt(2) 0.1 of 10 mL is 1.4 %; a spout's drip 0.1 of 10 cm3 is 1 %.
    assert most_likely(cylinder)[1] == pytest.approx(0.017, abs=0.001)
    assert most_likely(overflow)[1] == pytest.approx(0.012, abs=0.001)


def test_uncertainty_of_a_pocket_scale() -> None:
    """A 10 g piece near water's density weighed to u = 0.01 g: u(rho) is about 0.0014 (own arithmetic, GUM)."""
    made = observe("weighing", in_air="10.00 ± 0.01 g", in_liquid="0.48 ± 0.01 g", liquid="water at 20 ± 0.1 degC")
    u = most_likely(made)[1]
    assert u == pytest.approx(math.hypot(0.0011 * math.sqrt(1.0 + 0.002), 0.00105 + 0.0002), rel=0.2)


@pytest.mark.parametrize("density", [1.05, 1.2, 1.41])
def test_likelihood_is_calibrated_by_simulation(density: float) -> None:
    """For simulated weighings the likelihood's peak is normal about the truth with its own standard deviation."""
    rng = np.random.default_rng(20261125)
    scores = []
    for _ in range(300):
        mass, bath = rng.uniform(3, 8), 0.99821 + 0.0005 * rng.standard_normal()
        volume = mass / density * (1 + 0.001 * rng.standard_normal())
        air = mass - mass / density * 0.0012 + 0.01 * rng.standard_normal()
        shown = mass - volume * bath + 0.01 * rng.standard_normal()
        made = observe(
            "weighing",
            in_air=f"{air!r} ± 0.01 g",
            in_liquid=f"{shown!r} ± 0.01 g",
            liquid={"density": "0.99821 ± 0.0005 g/cm3"},
        )
        feature = made.term().feature
        assert feature is not None
        scores.append((feature[0] - density) / feature[1])
    assert stats.kstest(scores, "norm").pvalue > 0.001


def test_density_likelihoods_integrate_to_one_over_readings() -> None:
    """The likelihood is a density of the raw reading: over all readings it integrates to one at any density."""
    readings = np.linspace(0.01, 1.2, 2001).tolist()
    total = 0.0
    for shown in readings:
        made = observe("weighing", in_air="5.00 ± 0.02 g", in_liquid=f"{shown!r} ± 0.02 g", liquid="water")
        total += float(made.term().likelihood(np.array([1.12]), None)[0])
    assert total * (readings[1] - readings[0]) == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"in_air": "0 g", "in_liquid": "0 g", "liquid": "water"}, "is zero"),
        ({"in_air": "5 g", "in_liquid": "6 g", "liquid": "water"}, "lighter in a liquid"),
        ({"in_air": "5.00 g", "in_liquid": "4.5 g", "liquid": "water"}, "impossible for a plastic"),
    ],
)
def test_impossible_weighings(fields: dict[str, Any], says: str) -> None:
    with pytest.raises(InputError, match=says):
        observe("weighing", **fields)


def test_impossible_volumes() -> None:
    with pytest.raises(InputError, match="not above before"):
        observe("cylinder", in_air="5 g", before="60 mL", after="50 mL")
    with pytest.raises(InputError, match="is zero"):
        observe("cylinder", in_air="0 g", before="50 mL", after="60 mL")
    with pytest.raises(InputError, match="is zero"):
        observe("overflow", in_air="5 g", spilled="0 g", liquid="water")
    with pytest.raises(InputError, match="brim-full"):
        observe("overflow", in_air="50 g", spilled="1 g", liquid="water")


def test_all_ways_of_measuring_agree() -> None:
    """The same piece measured four ways gives the same leader."""
    ways = [
        observe("weighing", in_air="12.00 ± 0.01 g", in_liquid="2.03 ± 0.01 g", liquid="water"),
        observe("cylinder", in_air="12.00 ± 0.01 g", before="50.00 ± 0.05 mL", after="60.00 ± 0.05 mL"),
        observe("overflow", in_air="12.00 ± 0.01 g", spilled="9.98 ± 0.02 g", liquid="water"),
        observe("density", density="1.200 ± 0.004 g/cm3"),
    ]
    softening = observe("softening", temperature="160 degC")
    assert {identify([way, softening]).leader for way in ways} == {"PC"}
