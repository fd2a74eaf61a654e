"""A piece is as warm as the liquid it is in: its density is brought to room temperature."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from resinid import identify, identify_table, observe
from resinid.liquids import Liquid, water_density
from resinid.liquids.expansion import EXPANSION, U_EXPANSION, at_room, beyond_room
from resinid.methods.displacement.method import AIR
from resinid.methods.float_test.method import FloatTest

if TYPE_CHECKING:
    from resinid.methods.contract import Observation

DENSITIES = np.linspace(0.85, 1.45, 60001)


def most_likely(made: Observation) -> float:
    """Return where an observation's likelihood is highest."""
    return float(DENSITIES[made.term().likelihood(DENSITIES, None).argmax()])


def weighed(density: float, temperature: float) -> Observation:
    """A piece of 5 cm3 as a scale shows it with a sinker in water of that temperature."""
    water = water_density(temperature)
    return observe(
        "weighing",
        in_air=f"{5.0 * (density - AIR):.6f} ± 0.005 g",
        in_liquid=f"{20.0 + 5.0 * (density - water):.6f} ± 0.005 g",
        sinker_in_liquid="20.000 ± 0.005 g",
        liquid=f"water at {temperature} ± 0.5 degC",
    )


@settings(deadline=None)
@given(st.floats(20.0, 26.0), st.floats(0.5, 2.0), st.sampled_from(["floats", "hovers", "sinks"]))
def test_at_room_temperature_nothing_changes(temperature: float, density: float, outcome: str) -> None:
    """Law: from 20 to 26 degC a liquid counts as it is, for the table's own values were taken there."""
    bath = Liquid(density, 0.001, temperature)
    assert at_room(bath) == (density, 0.001)
    made, same = FloatTest(bath, outcome).term(), FloatTest(Liquid(density, 0.001, 23.0), outcome).term()
    assert np.array_equal(made.likelihood(DENSITIES, None), same.likelihood(DENSITIES, None))


@settings(deadline=None)
@given(st.floats(-150.0, 600.0), st.floats(0.5, 2.0), st.floats(1e-5, 0.01))
def test_the_correction_is_certain_to_no_more_than_the_expansion(temperature: float, density: float, u: float) -> None:
    """Law: a warm chip is lighter than at 23 degC, so the liquid counts as denser, colder as lighter."""
    found, found_u = at_room(Liquid(density, u, temperature))
    excess = beyond_room(temperature)
    assert found == pytest.approx(density * (1.0 + 3.5e-4 * excess))
    assert found_u >= math.hypot(u * found / density, 1.5e-4 * density * abs(excess)) * (1 - 1e-12)


@pytest.mark.parametrize("temperature", [5.0, 20.0, 38.0])
@pytest.mark.parametrize("at_23", [0.905, 0.92, 1.2])
def test_one_piece_weighed_cold_and_warm_is_one_density(at_23: float, temperature: float) -> None:
    """A piece that expands by 3.5e-4 of its volume a kelvin is read as the density it has at room temperature."""
    there = at_23 / (1.0 + EXPANSION * beyond_room(temperature))
    made = weighed(there, temperature)
    assert most_likely(made) == pytest.approx(at_23, abs=1e-4)
    assert ("at 23 °C" in made.describe()) is (temperature != 20.0)
    overflow = observe(
        "overflow",
        in_air=f"{50.0 * there:.4f} ± 0.01 g",
        spilled=f"{50.0 * water_density(temperature):.4f} ± 0.01 g",
        liquid=f"water at {temperature} ± 0.5 degC",
    )
    assert most_likely(overflow) == pytest.approx(at_23, abs=3e-4)
    bath = Liquid(there, 0.001, temperature)
    feature = FloatTest(bath, "hovers").term().feature
    assert feature is not None
    assert feature[0] == pytest.approx(at_23)
    assert feature[1] >= at_23 * U_EXPANSION * abs(beyond_room(temperature)) * 0.99
    assert most_likely(FloatTest(bath, "hovers")) == pytest.approx(at_23, abs=2e-4)


def test_polyethylene_weighed_warm_is_not_polypropylene() -> None:
    """Regression: PE-LD of 0.920 g/cm3, (1 to 2)e-4 a kelvin longer (matmake.com), has 0.915 at 38 degC."""
    warm, room = (identify([weighed(0.920 / (1.0 + 4.5e-4 * excess), 26.0 + excess)]) for excess in (12.0, 0.0))
    assert room["PE-LD"] > room["PP"]
    assert warm["PE-LD"] > warm["PP"]
    unmended = identify([weighed(0.920 / (1.0 + 4.5e-4 * 12.0), 26.0)])
    assert warm["PE-LD"] / warm["PP"] > 2.0 * unmended["PE-LD"] / unmended["PP"]


def test_tables_say_the_same_as_one_piece() -> None:
    """Jugs warmer and colder than a room: every probability of the table is the one-piece answer's."""
    frame = pd.DataFrame(
        {
            "float.liquid": ["water at 38 degC", "water at 5 degC", "ethanol 40 %v/v at 35 degC"],
            "float.outcome": ["floats", "sinks", "floats"],
            "weighing.in_air [g]": [4.60, 5.25, 4.60],
            "weighing.in_air_u [g]": 0.01,
            "weighing.in_liquid [g]": [19.63, 20.25, 19.66],
            "weighing.in_liquid_u [g]": 0.01,
            "weighing.sinker_in_liquid [g]": 20.0,
            "weighing.sinker_in_liquid_u [g]": 0.01,
            "weighing.liquid": ["water at 38 degC", "water at 5 degC", "water at 38 degC"],
        }
    )
    answer = identify_table(frame).to_frame()
    for row in range(len(frame)):
        cells = frame.iloc[row]
        single = identify(
            [
                {"test": "float", "liquid": cells["float.liquid"], "outcome": cells["float.outcome"]},
                {
                    "test": "weighing",
                    "liquid": cells["weighing.liquid"],
                    **{
                        name: {"value": float(cells[f"weighing.{name} [g]"]), "u": 0.01, "unit": "g"}
                        for name in ("in_air", "in_liquid", "sinker_in_liquid")
                    },
                },
            ]
        )
        for name in ("PE-LD", "PE-HD", "PP", "PS", "none of these"):
            assert answer.iloc[row][name] == pytest.approx(single[name], abs=1e-9)
