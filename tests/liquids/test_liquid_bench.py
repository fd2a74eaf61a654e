"""Liquids from a recipe, a hydrometer, a balance and the tap."""

from __future__ import annotations

import math
from dataclasses import FrozenInstanceError
from typing import TYPE_CHECKING, Any, Final, cast

import pytest

from resinid.errors import InputError, RangeError, ResinidError
from resinid.liquids import (
    MODELS,
    Liquid,
    amount_of,
    from_hydrometer,
    from_recipe,
    from_weighing,
    mass_fraction,
    mix_volumes,
    model,
    pure_water,
    strength_fraction,
    water_density,
)
from resinid.liquids.mixing import Reagent

if TYPE_CHECKING:
    from collections.abc import Callable


def test_recipe_combines_three_parts() -> None:
    """By hand for 10 % w/w salt, 2 % of it and 1 K: 0.0074 x 0.2, 0.00037 and the formula's 0.0002."""
    bath = from_recipe("NaCl", 10.0, "%w/w")
    assert bath.density == pytest.approx(1.0707, abs=1e-4)
    # Slopes from the CRC Handbook: (1.0781 - 1.0633) / 2 a per cent; 0.00037 a kelvin, WNT 1974.
    by_hand = math.hypot(0.0074 * 0.2, 0.00037, 0.0002)
    assert bath.u == pytest.approx(by_hand, rel=0.03)


def test_recipe_parts_vanish_with_their_causes() -> None:
    """With exact inputs only the formula's own uncertainty is left."""
    bath = from_recipe("ethanol", 40.0, "%w/w", u_temperature=0.0, u_amount=0.0)
    assert bath.u == pytest.approx(MODELS["ethanol"].uncertainty(0.4, 20.0), rel=1e-12)
    warm = from_recipe("ethanol", 40.0, "%w/w", u_temperature=1.0, u_amount=0.0)
    # OIML R 22: 0.93880 at 15 and 0.93142 at 25 degC, so 0.00074 a kelvin.
    assert warm.u == pytest.approx(math.hypot(0.000738, 1e-4), rel=0.01)


def test_recipe_at_the_edge_uses_the_side_it_has() -> None:
    """Pure ethanol cannot be stronger than pure: the weaker side alone gives the shift."""
    bath = from_recipe("ethanol", 100.0, "%w/w", u_amount=2.0, u_temperature=0.0)
    # OIML R 22 by hand: 0.80414 at 95 and 0.78924 at 100 % w/w, so about 0.0060 for 2 %.
    assert bath.u == pytest.approx(0.0060, abs=0.0006)


def test_recipe_tells_how_and_warns() -> None:
    """The result says where it comes from and what to beware of."""
    bath = from_recipe("CaCl2.2H2O", 400.0, "g/kg water", temperature=22.0)
    assert "400 g/kg water of CaCl2.2H2O" in bath.how
    assert "22 °C" in bath.how
    assert "hot" in bath.caution
    for word in (
        "near boiling",
        "goggles",
        "heat-proof",
        "no thin glass",
        "foam cup",
        "little by little",
        "cold water",
    ):
        assert word in bath.caution
    assert "crc_102_aqueous" in bath.sources
    assert from_recipe("IPA", 50.0, "%v/v", label="rung 3").label == "rung 3"
    assert "lammable" in from_recipe("IPA", 500.0, "mL/L water", strength=70.0).caution


def test_salts_that_draw_water_are_less_certain() -> None:
    """The default for an amount is 2 %, and 4 % for calcium chloride."""
    plain = from_recipe("CaCl2", 20.0, "%w/w")
    stated = from_recipe("CaCl2", 20.0, "%w/w", u_amount=0.8)
    assert plain.u == stated.u
    assert plain.u > from_recipe("CaCl2", 20.0, "%w/w", u_amount=0.4).u


def test_water_from_the_tap() -> None:
    """By hand at 20 degC: 0.00021 a kelvin, 0.0002 for what is dissolved."""
    tap = pure_water()
    assert tap.density == pytest.approx(0.998207, abs=1e-6)
    assert tap.u == pytest.approx(math.hypot(0.000207, 0.0002), rel=0.02)
    assert pure_water(u_temperature=0.0, u_dissolved=0.0).u == pytest.approx(1e-5)


@pytest.mark.parametrize(
    ("reading", "scale", "temperature", "expected"),
    [
        (1.1, "g/cm3", 20.0, 1.1),
        # By hand: 1.1 x (1 - 25e-6 x 10).
        (1.1, "g/cm3", 30.0, 1.099725),
        (1100.0, "kg/m3", 20.0, 1.1),
        (1.0, "SG 20/20", 20.0, 0.998207),
        # 60 degF is 15.556 degC, where water has 0.999016 (NIST, from memory).
        (1.0, "SG 60/60F", 15.5556, 0.999016),
    ],
)
def test_hydrometer_scales(reading: float, scale: str, temperature: float, expected: float) -> None:
    """Each expected value says how it was worked out."""
    bath = from_hydrometer(reading, 0.001 * reading, temperature=temperature, scale=scale)
    assert bath.density == pytest.approx(expected, abs=2e-6)
    assert bath.u == pytest.approx(0.001 * expected, rel=1e-5)
    assert bath.temperature == temperature


def test_hydrometer_set_at_another_temperature() -> None:
    """By hand: set at 15, read at 25 degC, 1 x (1 - 25e-6 x 10)."""
    bath = from_hydrometer(1.0, 0.001, temperature=25.0, calibration_temperature=15.0)
    assert bath.density == pytest.approx(0.99975, abs=1e-9)


def test_weighing_adds_what_air_carries() -> None:
    """By hand: 100 mL of water at 20 degC weigh 99.716 g in air of 0.0012 g/cm3."""
    bath = from_weighing(99.716, 100.0, 0.0, 0.1)
    assert bath.density == pytest.approx(water_density(20.0), abs=1e-5)
    assert bath.u == pytest.approx(0.000997, abs=1e-6)
    # Both parts alike: the root of two.
    assert from_weighing(100.0, 100.0, 1.0, 1.0).u == pytest.approx(0.99985 * 0.01 * math.sqrt(2.0), rel=1e-6)


@pytest.mark.parametrize("field", ["density", "u", "temperature"])
@pytest.mark.parametrize("value", [math.nan, math.inf])
def test_a_liquid_has_finite_numbers(field: str, value: float) -> None:
    """Any number that is not finite is named in the message."""
    numbers = {"density": 1.0, "u": 0.001, "temperature": 20.0, field: value}
    with pytest.raises(InputError, match=field):
        Liquid(numbers["density"], numbers["u"], numbers["temperature"])


def test_a_liquid_has_positive_numbers_and_stays_as_it_is() -> None:
    """Both faults come in one error, and a liquid cannot be changed."""
    with pytest.raises(InputError, match=r"density: .*\nu: ") as caught:
        Liquid(0.0, -0.1, 20.0)
    assert len(caught.value.faults) == 2
    bath = Liquid(1.0, 0.001, 20.0)
    with pytest.raises(FrozenInstanceError):
        bath.density = 2.0  # type: ignore[misc]


def test_bench_numbers_that_cannot_be_are_refused() -> None:
    """Each message names the argument."""
    with pytest.raises(InputError, match="scale"):
        from_hydrometer(12.0, 0.1, scale="Baume")
    with pytest.raises(InputError, match="reading"):
        from_hydrometer(math.nan, 0.1)
    with pytest.raises(InputError, match="calibration_temperature"):
        from_hydrometer(1.0, 0.1, calibration_temperature=math.inf)
    with pytest.raises(InputError, match=r"mass: .*\nvolume: "):
        from_weighing(0.0, -1.0, 0.1, 0.1)
    with pytest.raises(InputError, match="u_volume"):
        from_weighing(1.0, 1.0, 0.1, -0.1)
    with pytest.raises(InputError, match="u_amount"):
        from_recipe("NaCl", 10.0, "%w/w", u_amount=-1.0)
    with pytest.raises(InputError, match="u_temperature"):
        pure_water(u_temperature=math.nan)
    with pytest.raises(RangeError, match="0 to 40"):
        pure_water(50.0)


ABSURD = ["x", None, [1], True, math.nan, math.inf, 10**400, 1j]


MAKES: Final[tuple[Callable[[Any], object], ...]] = (
    lambda wrong: Liquid(wrong, 0.001, 20.0),
    lambda wrong: Liquid(1.0, wrong, 20.0),
    lambda wrong: Liquid(1.0, 0.001, wrong),
    pure_water,
    lambda wrong: pure_water(u_temperature=wrong),
    lambda wrong: mass_fraction(wrong, 40.0, "%v/v"),
    lambda wrong: mass_fraction("ethanol", wrong, "%v/v"),
    lambda wrong: mass_fraction("ethanol", 40.0, wrong),
    lambda wrong: mass_fraction("ethanol", 40.0, "%v/v", temperature=wrong),
    lambda wrong: amount_of("ethanol", wrong, "%v/v"),
    lambda wrong: from_recipe("ethanol", wrong, "%v/v"),
    lambda wrong: from_recipe("ethanol", 40.0, "%v/v", u_temperature=wrong),
    lambda wrong: mix_volumes("ethanol", wrong, 50.0),
    lambda wrong: mix_volumes("ethanol", 50.0, wrong),
    lambda wrong: strength_fraction("ethanol", wrong or cast("float", "96")),
    lambda wrong: from_hydrometer(wrong, 0.001),
    lambda wrong: from_hydrometer(1.07, wrong),
    lambda wrong: from_hydrometer(1.07, 0.001, scale=wrong),
    lambda wrong: from_weighing(wrong, 100.0, 0.1, 0.1),
    lambda wrong: from_weighing(107.0, 100.0, 0.1, wrong),
    lambda wrong: Reagent("ethanol", wrong or cast("float", "96")).fraction,
    lambda wrong: Reagent(wrong).fraction,
    model,
    water_density,
)


def test_what_is_no_number_or_name_is_refused() -> None:
    """Regression: a text or None in a number's place was a bare TypeError."""
    for make in MAKES:
        for wrong in ABSURD:
            with pytest.raises(ResinidError):
                make(wrong)


@pytest.mark.parametrize("t", [-0.1, 40.1, 100.0, 293.15, 293])
def test_water_is_known_from_0_to_40_degrees(t: float) -> None:
    """Regression: the formula was used where it does not hold; 293.15 as if in kelvins gave 0.737."""
    with pytest.raises(RangeError, match="0 to 40"):
        water_density(t)


def test_no_liquid_is_denser_than_any_plastic_by_far() -> None:
    """What the door refuses as a density, 0.005 to 3 g/cm3, is refused whichever way it was measured."""
    for density in (1070.0, 0.001):
        with pytest.raises(InputError, match=r"expected 0.005 to 3 g/cm3"):
            Liquid(density, 0.001, 20.0)
    with pytest.raises(InputError, match=r"expected 0.005 to 3 g/cm3"):
        from_weighing(1070.0, 1.0, 0.1, 0.01)
    with pytest.raises(InputError, match=r"expected 0.005 to 3 g/cm3.*set scale to 'kg/m3'"):
        from_hydrometer(1070.0, 1.0)
    assert from_hydrometer(1070.0, 1.0, scale="kg/m3").density == pytest.approx(1.07)


def test_texts_of_a_liquid_are_texts() -> None:
    with pytest.raises(InputError, match="label: is None") as caught:
        Liquid(1.07, 0.001, 20.0, None, 3)  # type: ignore[arg-type]  # because it is wrong on purpose
    assert [fault.place for fault in caught.value.faults] == ["label", "how"]
