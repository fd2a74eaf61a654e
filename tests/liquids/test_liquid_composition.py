"""Amounts to mass fractions: worked by hand, and what is refused."""

from __future__ import annotations

import pytest

from resinid.errors import InputError, RangeError, UnknownNameError
from resinid.liquids import amount_of, mass_fraction, mix_volumes, model, reagent, strength_fraction


@pytest.mark.parametrize(
    ("solute", "amount", "basis", "expected", "bar"),
    [
        # By hand: 110 / 1110.
        ("NaCl", 110.0, "g/kg water", 0.099099, 1e-6),
        # By hand: 110 / (110 + 998.21).
        ("NaCl", 110.0, "g/L water", 0.099259, 1e-6),
        # CRC Handbook: 10 % w/w has 1.0707 g/cm3, so 107.07 g/L.
        ("NaCl", 107.07, "g/L", 0.10, 2e-5),
        ("NaCl", 10.0, "%w/w", 0.10, 1e-12),
        # By hand: molar masses 110.984 and 147.014.
        ("CaCl2.2H2O", 10.0, "%w/w", 0.075492, 1e-6),
        ("CaCl2.6H2O", 10.0, "%w/w", 0.0506605, 1e-6),
        # By hand: molar masses 120.368 and 246.473; 500 g in 1 kg of water.
        ("Epsom salt", 500.0, "g/kg water", 0.162787, 1e-6),
        ("MgSO4.7H2O", 500.0, "g/kg water", 0.162787, 1e-6),
        # OIML R 22: 50 %v/v is 42.43 % w/w (from memory), 96 %v/v is 93.84 % w/w (from memory).
        ("ethanol", 50.0, "%v/v", 0.4243, 2e-4),
        ("ethanol", 96.0, "%v/v", 0.9384, 3e-4),
        ("ethanol", 100.0, "%v/v", 1.0, 1e-12),
        ("ethanol", 0.0, "%v/v", 0.0, 1e-12),
    ],
)
def test_amounts_worked_by_hand(solute: str, amount: float, basis: str, expected: float, bar: float) -> None:
    """Each expected value says how it was worked out."""
    assert mass_fraction(solute, amount, basis) == pytest.approx(expected, abs=bar)


@pytest.mark.parametrize(
    ("density", "solute", "amount", "basis"),
    [
        (0.94, "ethanol", 37.6, "%w/w"),
        (0.94, "ethanol", 44.7, "%v/v"),
        (0.89, "ethanol", 68.2, "%v/v"),
        (1.03, "NaCl", 47.0, "g/kg water"),
        (1.07, "NaCl", 110.0, "g/kg water"),
        (1.16, "NaCl", 274.0, "g/kg water"),
        (1.19, "NaCl", 337.0, "g/kg water"),
        (1.23, "CaCl2", 335.0, "g/kg water"),
        (1.30, "CaCl2", 463.0, "g/kg water"),
    ],
)
def test_float_ladder(density: float, solute: str, amount: float, basis: str) -> None:
    """Recipes worked out apart from this code, rounded to 1 g or 0.1 %, so to 0.0015 g/cm3."""
    found = model(solute)
    assert found.density(mass_fraction(solute, amount, basis), 20.0) == pytest.approx(density, abs=1.5e-3)


def test_half_and_half_ethanol_shrinks() -> None:
    """By hand: 39.46 g + 49.91 g = 89.37 g of 0.44155, over 0.92650 g/cm3 by OIML R 22, is 96.46 mL."""
    w, volume = mix_volumes("ethanol", 50.0, 50.0)
    assert w == pytest.approx(0.44155, abs=1e-5)
    assert volume == pytest.approx(96.46, abs=0.01)
    # A brewers' page prints 96.3 mL.
    assert volume == pytest.approx(96.3, abs=0.25)


def test_diluting_a_bottle() -> None:
    """By hand: 100 mL of 70 %v/v bring 70 mL of alcohol; with 100 mL of water some 0.27 of the mass."""
    bottle = strength_fraction("isopropanol", 70.0)
    w, volume = mix_volumes("isopropanol", 100.0, 100.0, strength=70.0)
    # All alcohol in the mixture came out of the bottle.
    grams = 100.0 * model("isopropanol").density(bottle, 20.0) * bottle
    assert grams == pytest.approx(70.0 * model("isopropanol").density(1.0, 20.0), rel=1e-9)
    assert w * volume * model("isopropanol").density(w, 20.0) == pytest.approx(grams, rel=1e-9)
    assert w == pytest.approx(mass_fraction("isopropanol", 1000.0, "mL/L water", strength=70.0), rel=1e-12)
    assert volume < 200.0


def test_strength_scales_volume_per_cent() -> None:
    """By hand: 50 mL of a 70 %v/v bottle in 100 mL is 35 %v/v."""
    assert mass_fraction("IPA", 50.0, "%v/v", strength=70.0) == pytest.approx(
        mass_fraction("IPA", 35.0, "%v/v"), rel=1e-9
    )


@pytest.mark.parametrize(
    ("spelling", "name", "fraction"),
    [
        ("NaCl", "NaCl", 1.0),
        ("nacl", "NaCl", 1.0),
        ("  Table   Salt ", "NaCl", 1.0),
        ("brine", "NaCl", 1.0),
        ("IPA", "isopropanol", 1.0),
        ("propan-2-ol", "isopropanol", 1.0),
        ("CaCl2·2H2O", "CaCl2", 0.7549),
        ("CaCl₂ · 6 H₂O".replace("6 H", "6H"), "CaCl2", 0.5066),
        ("MgSO4*7H2O", "MgSO4", 0.4884),
        ("Epsom salts", "MgSO4", 0.4884),
        ("sugar", "sucrose", 1.0),
        ("Glycerine", "glycerol", 1.0),
        ("potash", "K2CO3", 1.0),
        ("H2O", "water", 1.0),
    ],
)
def test_names_as_people_write_them(spelling: str, name: str, fraction: float) -> None:
    """Case, spaces, trade names and the signs for the hydrate dot do not matter."""
    found, own = reagent(spelling)
    assert found.name == name
    assert own == pytest.approx(fraction, abs=5e-5)


@pytest.mark.parametrize(
    ("name", "said"),
    [("calcium chlorid", "'calcium chloride'"), ("honey", "Known: water"), ("alcohol", "'isopropanol'")],
)
def test_unknown_names_get_help(name: str, said: str) -> None:
    """The message names close matches, or all there is."""
    with pytest.raises(UnknownNameError, match=said):
        model(name)


@pytest.mark.parametrize(
    ("name", "said"),
    [
        ("sea water", "denser than tap water .*hydrometer, or weigh"),
        ("Seawater", "hydrometer, or weigh"),
        ("sea watr", "if sea water is meant,"),
        ("salt water", "any amount of salt.*hydrometer, or weigh"),
        ("denatured alcohol", "ethanol with other liquids added, and burns.*hydrometer, or weigh"),
        ("methylated spirit", "ethanol with other liquids added, and burns"),
        ("methylated spirits", "ethanol with other liquids added, and burns"),
        ("meths", "ethanol with other liquids added, and burns"),
        ("spirit", "ethanol with other liquids added, and burns"),
        ("white spirit", "no alcohol: it burns and softens plastics"),
        ("vinegar", "differs from bottle to bottle.*hydrometer, or weigh"),
    ],
)
def test_names_that_do_not_say_what_is_in_the_bottle(name: str, said: str) -> None:
    """Regression: sea water was led to tap water, which is lighter by 0.025 g/cm3, denatured alcohol to pure."""
    with pytest.raises(UnknownNameError, match=said) as caught:
        model(name)
    assert "Did you mean" not in str(caught.value)


@pytest.mark.parametrize(
    ("solute", "amount", "basis", "strength", "said"),
    [
        ("NaCl", 10.0, "percent", None, "use one of %w/w"),
        ("NaCl", 10.0, "%v/v", None, "it is no liquid"),
        ("NaCl", 10.0, "mL/L water", None, "it is no liquid"),
        ("NaCl", 10.0, "%w/w", 70.0, "it is no liquid"),
        ("NaCl", -1.0, "%w/w", None, "0 or more"),
        ("NaCl", float("nan"), "%w/w", None, "0 or more"),
        ("ethanol", 101.0, "%v/v", None, "more than the whole"),
        ("ethanol", 50.0, "%v/v", 0.0, "read the label"),
        ("ethanol", 50.0, "%v/v", 101.0, "read the label"),
    ],
)
def test_senseless_amounts_are_refused(
    solute: str, amount: float, basis: str, strength: float | None, said: str
) -> None:
    """The message says what would be accepted."""
    with pytest.raises(InputError, match=said):
        mass_fraction(solute, amount, basis, strength=strength)


@pytest.mark.parametrize(
    ("solute", "amount", "basis", "temperature", "said"),
    [
        ("NaCl", 400.0, "g/kg water", 20.0, "saturated"),
        ("NaCl", 400.0, "g/L", 20.0, "the most at 20 °C"),
        ("MgSO4", 25.0, "%w/w", 10.0, "saturated"),
        ("CaCl2", 45.0, "%w/w", 20.0, "the table ends"),
        ("sugar", 69.0, "%w/w", 20.0, "saturated"),
        ("NaCl", 5.0, "%w/w", 60.0, "temperature 60 °C is outside 0 to 40 °C"),
    ],
)
def test_amounts_beyond_the_range_are_refused(
    solute: str, amount: float, basis: str, temperature: float, said: str
) -> None:
    """The message says which limit was met."""
    with pytest.raises(RangeError, match=said):
        mass_fraction(solute, amount, basis, temperature=temperature)


def test_a_weak_bottle_cannot_give_a_strong_bath() -> None:
    """No amount of it added to water reaches its own strength."""
    with pytest.raises(RangeError, match="stronger reagent"):
        amount_of("ethanol", 0.8, "mL/L water", strength=70.0)
    with pytest.raises(RangeError, match="stronger reagent"):
        amount_of("ethanol", 1.0, "mL/L water")


def test_nothing_poured_is_no_mixture() -> None:
    """Two volumes of nothing have no composition."""
    with pytest.raises(InputError, match="both 0 mL"):
        mix_volumes("ethanol", 0.0, 0.0)
    with pytest.raises(InputError, match="water"):
        mix_volumes("ethanol", 1.0, -1.0)
