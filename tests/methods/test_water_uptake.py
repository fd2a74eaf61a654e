"""Water uptake: the error model and the thickness rule against theory, and typical values against a handbook."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import SETTINGS

from resinid import Bench, InputError, default_reference, identify, identify_table, next_tests, observe
from resinid.io.reading import Reading
from resinid.methods.water_uptake.method import (
    FICK,
    METHOD,
    SPREAD,
    STANDARD_THICKNESS,
    WATER_UPTAKE,
    WIPING,
    WaterUptake,
)
from resinid.scoring.engine import Model
from resinid.testing import check_method

DAY: Final = 86400.0

DIFFUSIVITY: Final = {"PMMA": 3e-13, "PA6": 3e-13, "ABS": 2e-12}
"""[m2/s] Of water in plastics near 23 degC, orders of magnitude (from memory)."""


def filled(thickness: float, diffusivity: float) -> float:
    """Share of its capacity that a plate holds after a day: Crank 1975, The Mathematics of Diffusion, eq. 4.18."""
    n = 2.0 * np.arange(2000) + 1.0
    rate = diffusivity * DAY * (math.pi / (thickness * 1e-3)) ** 2
    return float(1.0 - (8.0 / (math.pi * n) ** 2 * np.exp(-(n**2) * rate)).sum())


@pytest.mark.parametrize("resin", DIFFUSIVITY)
@pytest.mark.parametrize("thickness", [1.0, 2.0, 6.0])
def test_uptake_goes_as_the_inverse_of_thickness(resin: str, thickness: float) -> None:
    """The rule 1/thickness is within twice its stated error of the exact solution of Fick's law."""
    exact = math.log(filled(thickness, DIFFUSIVITY[resin]) / filled(STANDARD_THICKNESS, DIFFUSIVITY[resin]))
    rule = math.log(STANDARD_THICKNESS / thickness)
    assert abs(exact - rule) <= 2.0 * FICK * abs(rule)


@pytest.mark.parametrize("uptake", [0.0, 0.01, 0.1, 0.5, 1.5, 6.0])
def test_the_coordinate_stabilises_the_error(uptake: float) -> None:
    """Readings with an additive and a multiplying error have one standard deviation (Rocke and Lorenzato 1995)."""
    draws = np.random.default_rng(62)
    made = WaterUptake(Reading(10.0, 0.001), Reading(10.0, 0.001), Reading(STANDARD_THICKNESS, 0.0))
    additive = math.hypot(100.0 * math.hypot(0.001, 0.001) / 10.0, WIPING)
    read = uptake * np.exp(SPREAD * draws.standard_normal(20000)) + additive * draws.standard_normal(20000)
    assert float(made._stabilised(read).std()) == pytest.approx(SPREAD, rel=0.12)


TYPICAL: Final = {"PMMA": (0.2, 0.4), "PC": (0.1, 0.25), "PA6": (1.2, 2.0), "POM": (0.2, 0.3), "PP": (0.005, 0.05)}
"""[percent] 24 h, 1/8 inch (ASTM D570), as handbooks give them (from memory)."""


@pytest.mark.parametrize("resin", TYPICAL)
def test_typical_values(resin: str) -> None:
    """The median of each resin's distribution lies within the usual handbook range, widened by a quarter."""
    reference = default_reference()
    latent = WATER_UPTAKE.latent(reference)
    index = next(i for i, variant in enumerate(reference.variants) if variant.resin == resin)
    place = np.searchsorted(np.cumsum(latent.mass[index]), 0.5)
    median = latent.values[place]  # noqa: PD011 - because a latent is no frame
    low, high = TYPICAL[resin]
    assert 0.75 * low <= median <= 1.25 * high


def test_nearly_every_resin_is_stated() -> None:
    """Only foams of polystyrene have no row; a day in water says nothing of a foam."""
    assert Model(default_reference()).no_data(WATER_UPTAKE) == ("PS-E",)


READINGS: Final = {
    "water_uptake": [
        {"dry": "10.00 g", "wet": "10.02 g"},
        {"dry": "10.000 g", "wet": "10.012 g", "thickness": "2.0 mm"},
        {"dry": "10.00 g", "wet": "9.99 g"},
    ]
}


def test_conforms() -> None:
    assert len(check_method(METHOD, readings=READINGS)) > 6


@SETTINGS
@given(st.floats(1.0, 100.0), st.floats(-0.001, 0.08), st.floats(1e-4, 0.05))
def test_no_value_is_likelier_than_what_was_weighed(dry: float, share: float, u: float) -> None:
    """The likelihood is finite, and largest where the uptake is the one weighed, or at nothing for a loss."""
    made = WaterUptake(Reading(dry, u), Reading(dry * (1 + share), u), Reading(STANDARD_THICKNESS, 0.0))
    values = np.geomspace(1e-4, 20.0, 400)
    found = made.likelihood(values, None)
    assert np.isfinite(found).all()
    best = values[found.argmax()]
    assert best == pytest.approx(max(made.uptake, values[0]), rel=0.05)


def test_faults_are_told_together_with_the_remedy() -> None:
    with pytest.raises(InputError, match="impossible for a solid plastic"):
        observe("water_uptake", dry="10.0 g", wet="17.0 g")
    with pytest.raises(InputError, match="was it dried first"):
        observe("water_uptake", dry="10.000 g", wet="9.900 g")
    with pytest.raises(InputError, match="walls of 0"):
        observe("water_uptake", dry="10.000 g", wet="10.010 g", thickness="0.05 mm")


def test_thirsty_and_dry_resins_are_told_apart() -> None:
    """1.6 per cent in a day speaks for polyamide, nothing weighable for polyolefins."""
    thirsty = identify([{"test": "water_uptake", "dry": "10.000 g", "wet": "10.160 g"}], prior="uniform")
    assert thirsty["PA6"] > 10 * thirsty["PP"]
    none = identify([{"test": "water_uptake", "dry": "10.000 g", "wet": "10.002 g"}], prior="uniform")
    assert none["PE-HD"] > 10 * none["PA66"]


def test_offered_with_a_fine_scale() -> None:
    fine = {s.plan.test for s in next_tests([], bench=Bench(scale=0.001)).suggestions}
    coarse = {s.plan.test for s in next_tests([], bench=Bench(scale=0.1)).suggestions}
    assert "water_uptake" in fine
    assert "water_uptake" not in coarse


def test_columns_say_the_same() -> None:
    """A row of a table has the numbers of the piece alone."""
    frame = pd.DataFrame(
        {
            "water_uptake.dry [g]": [10.0, 10.0],
            "water_uptake.dry_u [g]": [0.001, 0.001],
            "water_uptake.wet [mg]": [10002.0, 10160.0],
            "water_uptake.wet_u [mg]": [1.0, 1.0],
        }
    )
    found = identify_table(frame, top=1)
    for row, wet in enumerate((10.002, 10.160)):
        alone = identify([{"test": "water_uptake", "dry": Reading(10.0, 0.001), "wet": Reading(wet, 0.001)}])
        assert found["resin_1"][row] == alone.leader
        assert found["probability_1"][row] == pytest.approx(alone[alone.leader], abs=1e-9)
