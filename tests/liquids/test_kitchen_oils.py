"""Kitchen oils against the printed ranges, their names, and what they part."""

from __future__ import annotations

import math
from typing import Any

import pytest

from resinid import InputError, RangeError, UnknownNameError, default_reference, identify, observe
from resinid.io.build import unbuild
from resinid.io.document import read_document
from resinid.io.liquid_parser import parse_liquid
from resinid.liquids import OILS, kitchen_oil, reagent, water_density
from resinid.liquids.flash import may_be_lit

PRINTED = (
    ("sunflower oil", 0.916, 0.923),
    ("rapeseed oil", 0.914, 0.920),
    ("maize oil", 0.917, 0.925),
    ("olive oil", 0.910, 0.916),
)
"""Relative density at 20 degC to water at 20 degC: Codex CXS 210-1999 table 2, as amended in 2022, and CXS 33-1981."""


@pytest.mark.parametrize(("name", "low", "high"), PRINTED)
def test_density_and_spread_are_those_of_the_printed_range(name: str, low: float, high: float) -> None:
    """Middle and, of a rectangular distribution, half width over the root of three (JCGM 100:2008, 4.3.7)."""
    oil = kitchen_oil(name, 20.0, u_temperature=0.0)
    water = water_density(20.0)
    assert oil.density == pytest.approx(0.5 * (low + high) * water, abs=2e-5)
    assert oil.u == pytest.approx(0.5 * (high - low) * water / math.sqrt(3.0), abs=2e-5)
    known = {source.key for source in default_reference().sources}
    assert set(oil.sources) <= known


@pytest.mark.parametrize(
    ("temperature", "density"),
    [(23.9, 0.9188), (37.8, 0.9082)],
)
def test_maize_oil_as_measured(temperature: float, density: float) -> None:
    """Noureddini 1992, densities of vegetable oils (table read through a copy): within the spread."""
    oil = kitchen_oil("maize oil", temperature, u_temperature=0.0)
    assert abs(oil.density - density) <= 2.0 * oil.u
    assert kitchen_oil("maize oil", 20.0).density - kitchen_oil("maize oil", 30.0).density == pytest.approx(0.0066)


def test_oils_lie_between_pp_and_pe_hd() -> None:
    """Unfilled PP is 0.895 to 0.910 g/cm3, PE-HD 0.94 and up; at 20 to 23 degC no oil but olive comes near either."""
    for name in set(OILS) - {"olive oil", "high oleic sunflower oil"}:
        for temperature in (20.0, 23.0):
            oil = kitchen_oil(name, temperature)
            assert oil.density - 2.0 * oil.u > 0.905, name
            assert oil.density + 2.0 * oil.u < 0.94, name


@pytest.mark.parametrize(
    ("written", "label"),
    [
        ("sunflower oil", "sunflower oil"),
        ("Sunflower  oil at 22 degC", "sunflower oil"),
        ("canola oil", "rapeseed oil"),
        ("corn oil at 25 degC", "maize oil"),
        ("Extra virgin olive oil", "olive oil"),
    ],
)
def test_an_oil_is_written_by_name(written: str, label: str) -> None:
    oil = parse_liquid(written)
    assert oil.label == label
    assert oil.oily
    assert not may_be_lit(oil)
    assert "after all floats in water, brine and alcohol" in oil.caution
    assert "hot plate" in oil.caution
    assert parse_liquid({"solute": written.partition(" at ")[0]}).label == label


@pytest.mark.parametrize(
    ("written", "says"),
    [
        ("sunfower oil", "Did you mean 'sunflower oil'"),
        ("sunflower oil 40 %v/v", "does not mix with water; leave it out"),
        ("cooking oil", "may be of several plants: write 'sunflower oil'"),
        ("engine oil", "no oil whose density is known here"),
        ("olive oil at 4 degC", "outside 10 to 40 °C"),
        ("vodka", "write 'ethanol 40 %v/v'"),
        ("Vodka at 20 degC", "write 'ethanol 40 %v/v'"),
        ("vodca", "write 'ethanol 40 %v/v'"),
        ("rum", "hydrometer"),
    ],
)
def test_what_is_no_oil_says_what_to_write(written: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        parse_liquid(written)


def test_refusals() -> None:
    with pytest.raises(UnknownNameError, match="no oil known here; known: sunflower oil"):
        kitchen_oil("lamp oil")
    with pytest.raises(RangeError, match="let the oil come to room temperature"):
        kitchen_oil("maize oil", 60.0)
    with pytest.raises(UnknownNameError, match="does not mix with water"):
        reagent("rapeseed oil")
    with pytest.raises(InputError, match="oily: 'yes' is not true or false"):
        parse_liquid({"density": "0.92 g/cm3", "oily": "yes"})


def test_a_float_in_oil_parts_pp_from_pe_hd() -> None:
    floats = {"test": "float", "liquid": "water", "outcome": "floats"}
    light = identify([floats, {"test": "float", "liquid": "sunflower oil at 22 degC", "outcome": "floats"}])
    dense = identify([floats, {"test": "float", "liquid": "sunflower oil at 22 degC", "outcome": "sinks"}])
    assert light["PP"] > 5.0 * light["PE-HD"]
    assert dense["PE-HD"] > 5.0 * dense["PP"]
    assert "codex-210" in light.sources


def test_a_document_with_an_oil_is_written_and_read_back() -> None:
    jar = '[liquid]\njar = "sunflower oil at 22 degC"\n'
    text = f'{jar}[[observation]]\ntest = "float"\nliquid = "jar"\noutcome = "floats"\n'
    written = read_document(text).observations[0]
    made = observe("float", liquid=written["liquid"], outcome=written["outcome"])
    entries: dict[str, Any] = unbuild(made)
    again = observe("float", **entries)
    assert again == made
    liquid = unbuild(again)["liquid"]
    assert isinstance(liquid, dict)
    assert liquid["oily"] is True
