"""Liquids as people write them."""

from __future__ import annotations

import pytest

from resinid import InputError, parse_liquid
from resinid.io.build import build, unbuild
from resinid.liquids import Liquid, from_hydrometer, from_recipe, from_weighing
from resinid.methods.float_test.method import FloatTest


def test_text_and_mapping_say_the_same() -> None:
    text = parse_liquid("table salt 110 g/kg water at 22.0 ± 0.5 degC")
    mapping = parse_liquid({"solute": "table salt", "amount": "110 g/kg water", "temperature": "22.0 ± 0.5 degC"})
    assert text == mapping
    assert text.density == from_recipe("NaCl", 110.0, "g/kg water", temperature=22.0).density


def test_other_ways() -> None:
    assert parse_liquid({"hydrometer": "1.070", "temperature": "20 degC"}).density == pytest.approx(
        from_hydrometer(1.070, 0.0005, temperature=20.0).density
    )
    assert parse_liquid({"mass": "107.0 g", "volume": "100.0 mL"}).density == pytest.approx(
        from_weighing(107.0, 100.0, 0.1, 0.1).density
    )
    assert parse_liquid({"density": "1.07 ± 0.002 g/cm3"}).u == 0.002
    ready = Liquid(1.07, 0.001, 20.0, "jug")
    assert parse_liquid(ready) is ready


def test_saturated_brine() -> None:
    """Saturated sodium chloride at 20 degC, 26.4 %w/w: 1.1999 to 1.2025 g/cm3 in CRC-type tables (from memory)."""
    brine = parse_liquid("table salt saturated at 20 degC")
    assert 1.195 < brine.density < 1.205
    assert brine.u < 0.003


def test_strength_of_the_bottle() -> None:
    """Half a bottle of 96 %v/v ethanol in water is weaker than half pure ethanol, hence denser."""
    weak = parse_liquid({"solute": "ethanol", "amount": "500 mL/L water", "strength": 96.0})
    strong = parse_liquid({"solute": "ethanol", "amount": "500 mL/L water"})
    assert weak.density > strong.density + 0.001


@pytest.mark.parametrize(
    ("value", "says"),
    [
        ("blorg", "no liquid is named"),
        ("ethanol 400 %v/v", "more than the whole"),
        ("table salt 900 g/kg water", "saturated"),
        ("ethanol saturated", "any proportion"),
        ("water 3 g/L", "does not go with water"),
        ("table salt", "amount: is missing"),
        ({"solute": "NaCl", "amout": "3 g/L"}, "did you mean 'amount'"),
        ({"solute": "NaCl", "amount": 3}, "is not an amount"),
        ({"solute": 3}, "short text"),
        ({"density": "1.07"}, "no unit"),
        ({"density": "1.07 g/cm3", "sources": "x"}, "list of texts"),
        ({"hydrometer": "1.07", "scale": "Plato"}, "is not one of"),
        ({"mass": "107 g"}, "is missing"),
        ({"solute": "ethanol", "amount": "40 %v/v", "strength": "96"}, "not a number"),
        ({}, "needs one of the keys"),
        (5, "is not a liquid"),
        ("x" * 5000, "is not a liquid"),
        ("ethanol 40 %v/v at noon", "not a number"),
        ("water at 150 degC", "0 to 40"),
        ("water at 66 F", "write degF"),
        ({"hydrometer": "1070"}, "hydrometer: 1070 on g/cm3.*expected 0.005 to 3 g/cm3.*'kg/m3'"),
        ({"mass": "1070 g", "volume": "1 mL"}, "expected 0.005 to 3 g/cm3"),
    ],
)
def test_refusals(value: object, says: str) -> None:
    with pytest.raises(InputError, match=says):
        parse_liquid(value)


def test_round_trip_through_a_test() -> None:
    """What a float test dumps builds an equal float test."""
    made = build(FloatTest, {"liquid": "ethanol 40 %v/v", "outcome": "sinks"})
    assert build(FloatTest, unbuild(made)) == made
    assert isinstance(made.liquid, Liquid)
    assert made.liquid.flash == pytest.approx(26.0)  # that it can be lit is kept


@pytest.mark.parametrize(
    "entries",
    [
        {"mass": "x", "volume": "y", "temperature": "z", "label": 3},
        {"density": "x", "temperature": "z", "label": 3, "how": 3, "sources": 3},
        {"hydrometer": "x", "scale": "Plato", "temperature": "z", "label": 3},
        {"solute": "salt", "amount": "x", "temperature": "z", "strength": "x", "label": 3},
        {"solute": "water", "amount": "x", "temperature": "z"},
    ],
    ids=lambda entries: next(iter(entries)),
)
def test_all_that_is_wrong_is_told_together(entries: dict[str, object]) -> None:
    """Regression: the first fault hid the others."""
    with pytest.raises(InputError) as caught:
        parse_liquid(entries)
    assert {fault.place for fault in caught.value.faults} == set(entries) - {"solute"}
