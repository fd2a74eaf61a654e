"""Readings at the door: units, uncertainties, refusals."""

from __future__ import annotations

import math
import re
import subprocess
import sys
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from resinid.errors import InputError, ResinidError
from resinid.io.reading import DIGIT_TO_U, Reading, read
from resinid.io.unit_conversion import _by_pint, conversion
from resinid.io.unit_spellings import COMMON
from resinid.quantities import QUANTITIES, Quantity

REGISTRY: pint.UnitRegistry[Any] = pint.UnitRegistry()


@pytest.mark.parametrize(
    ("text", "name", "value"),
    [
        # Exact by definition: NIST SP 811 (2008), appendix B.
        ("1 oz", "mass", 28.349523125),
        ("1 lb", "mass", 453.59237),
        ("1 inch", "length", 25.4),
        ("68 degF", "temperature", 20.0),
        ("68 °F", "temperature", 20.0),
        ("293.15 K", "temperature", 20.0),
        ("9 delta_degF", "temperature_difference", 5.0),
        ("5 K", "temperature_difference", 5.0),
        ("5 °C", "temperature_difference", 5.0),
        ("1 kgf", "force", 9.80665),
        ("100 g", "force", 0.980665),
        ("145037.7377 psi", "flexural_modulus", 1000.0),
        ("1.2 GPa", "flexural_modulus", 1200.0),
        ("952 kg/m3", "density", 0.952),
        ("952 kg m**-3", "density", 0.952),
        ("0.952 g/mL", "density", 0.952),
        ("8 g/10 min", "melt_flow_rate", 8.0),
        ("8 g/(10*min)", "melt_flow_rate", 8.0),
        ("20 %", "fraction", 20.0),
        ("2e1 %", "fraction", 20.0),
        ("65", "shore_d", 65.0),
        ("(5.0 +/- 0.1) g", "mass", 5.0),
        ("5.0±0.1 g", "mass", 5.0),
        (".5 g", "mass", 0.5),
        ("5. g", "mass", 5.0),
        ("3 g/kg", "fraction", 0.3),
        ("3 ‰", "fraction", 0.3),
        ("18.6 MPa**0.5", "solubility_parameter", 18.6),
        ("18.6 MPa^0.5", "solubility_parameter", 18.6),
    ],
)
def test_conversion(text: str, name: str, value: float) -> None:
    assert read(text, name).value == pytest.approx(value, rel=1e-9)


def test_uncertainty_scales_but_is_not_offset() -> None:
    assert read("68 ± 9 degF", "temperature").u == pytest.approx(5.0)
    assert read("1 ± 0.1 oz", "mass").u == pytest.approx(2.8349523125)


def test_last_digit_gives_the_uncertainty() -> None:
    """A display is good to one digit either way, rectangular: JCGM 100:2008, 4.3.7."""
    assert pytest.approx(1 / math.sqrt(3)) == DIGIT_TO_U
    assert read("5.02 g", "mass").u == pytest.approx(0.01 / math.sqrt(3))
    assert read("5 g", "mass").u == pytest.approx(1 / math.sqrt(3))
    assert read("5.020 g", "mass").u == pytest.approx(0.001 / math.sqrt(3))


@pytest.mark.parametrize("name", [name for name, quantity in QUANTITIES.items() if quantity.unit in COMMON])
def test_common_units_are_what_pint_says(name: str) -> None:
    """Every unit read without pint converts as pint converts it."""
    quantity = QUANTITIES[name]
    for unit in (*COMMON[quantity.unit], quantity.unit):
        assert conversion(unit, name) == pytest.approx(_by_pint(unit, quantity), rel=1e-14, abs=1e-12), unit


def test_an_angle_of_a_plug_in_s_own() -> None:
    """Degrees have no dimension and yet are a unit: they rescale nothing, as per cent or a product would."""
    angle = Quantity("slide_angle", "degree", 1.0, 89.0, "21 degree", "Tilt at which a piece slides.")
    assert read("21 ± 1 degree", angle) == Reading(21.0, 1.0)
    assert read("0.5 rad", angle).value == pytest.approx(math.degrees(0.5))
    for wrong in ("21 %", "21 degree*rad", "21 ppm"):
        with pytest.raises(InputError):
            read(wrong, angle)


def test_everyday_units_do_not_wait_for_pint() -> None:
    """The example of the README is identified without importing pint."""
    example = Path(__file__).parents[2] / "examples" / "green_cap.toml"
    program = (
        f"from resinid.cli.main import main; main(['identify', {str(example)!r}]); import sys; print([*sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", program], capture_output=True, text=True, check=True)
    assert "PE-HD" in done.stdout
    assert "'pint'" not in done.stdout


def test_pint_quantities_of_any_registry() -> None:
    one: pint.UnitRegistry[Any] = pint.UnitRegistry()
    other: pint.UnitRegistry[Any] = pint.UnitRegistry()
    assert read(one.Quantity(5.02, "g"), "mass") == read(other.Quantity(5.02, "g"), "mass")
    assert read(one.Quantity(68.0, "degF"), "temperature").value == pytest.approx(20.0)
    with pytest.raises(InputError, match="not one number"):
        read(one.Quantity([1.0, 2.0], "g"), "mass")


@pytest.mark.parametrize(
    ("value", "name", "text"),
    [
        (REGISTRY.Quantity(62, ""), "shore_d", "62"),
        (REGISTRY.Quantity(62.0, ""), "shore_d", "62.0"),
        (REGISTRY.Quantity(950, "kg/m**3"), "density", "950 kg/m3"),
        (REGISTRY.Quantity(np.float32(950.5), "kg/m**3"), "density", "950.5 kg/m3"),
        (REGISTRY.Quantity(np.array(950), "kg/m**3"), "density", "950 kg/m3"),
        (np.float64(62.5), "shore_d", "62.5"),
        (np.int64(62), "shore_d", "62"),
        ({"value": np.int64(950), "unit": "kg/m3"}, "density", "950 kg/m3"),
        (Reading(np.int64(1), np.float32(0.5)), "density", "1 ± 0.5 g/cm3"),  # type: ignore[arg-type]  # as from a pandas row
        (Reading(Decimal("0.95"), Decimal("0.01")), "density", "0.95 ± 0.01 g/cm3"),  # type: ignore[arg-type]  # as above
    ],
    ids=repr,
)
def test_a_number_is_as_good_as_it_is_printed(value: object, name: str, text: str) -> None:
    """The same value and uncertainty as of the text, in plain floats."""
    found, written = read(value, name), read(text, name)
    assert (found.value, found.u) == pytest.approx((written.value, written.u), rel=1e-6)  # single precision
    assert type(found.value) is type(found.u) is float


DECIMAL = st.sampled_from(["g/cm**3", "kg/m**3", "g/L", "kg/L", "mg/mL"])


def _u(value: object, name: str) -> float:
    try:
        return read(value, name).u
    except InputError:
        return math.inf


@settings(deadline=None)
@given(st.decimals("0.01", "2.9", places=4) | st.floats(0.01, 2.9), DECIMAL, DECIMAL)
def test_a_conversion_makes_a_number_no_more_certain(number: Decimal | float, one: str, other: str) -> None:
    """A float in any decimal unit is read as the same quantity in another, or refused in both."""
    given_as = REGISTRY.Quantity(float(number), "g/cm**3").to(one)
    converted = given_as.to(other)
    mapping = {"value": converted.magnitude, "unit": other}
    known = _u(given_as, "density")
    assert _u(converted, "density") == known
    assert _u(mapping, "density") == known
    if known < math.inf:
        assert read(converted, "density").value == pytest.approx(read(given_as, "density").value, rel=1e-12)


@settings(deadline=None)
@given(st.decimals("-100", "500", places=1), st.sampled_from(["degC", "degF", "K"]))
def test_a_temperature_is_as_certain_in_any_unit(number: Decimal, unit: str) -> None:
    """A float temperature without uncertainty has the same in kelvins and in either degree."""
    warm = REGISTRY.Quantity(float(number), "degC").to(unit)
    assert read(warm, "temperature").u == DIGIT_TO_U


@settings(deadline=None)
@given(st.integers(1, 2900), st.sampled_from(["g/cm**3", "kg/L", "lb/ft**3"]))
def test_a_whole_number_converted_is_no_more_certain(number: int, other: str) -> None:
    """A whole number is a display; converted it is a float, and as certain at most."""
    shown = REGISTRY.Quantity(number, "kg/m**3")
    assert _u(shown.to(other), "density") >= _u(shown, "density") * (1 - 1e-9)


def test_floats_are_as_good_as_their_value_tells() -> None:
    """Regression: the digits that Python prints of a float were taken for a display, so u was 9e-17."""
    assert read(REGISTRY.Quantity(0.92, "g/cm**3"), "density").u == pytest.approx(0.01 * DIGIT_TO_U)
    assert read(REGISTRY.Quantity(919.9999999999999, "kg/m**3"), "density").u == pytest.approx(0.01 * DIGIT_TO_U)
    assert read({"value": 100.1234, "unit": "g"}, "mass").u == pytest.approx(1e-4 * DIGIT_TO_U)
    assert read({"value": Fraction(1, 2), "unit": "g"}, "mass").u == pytest.approx(0.1 * DIGIT_TO_U)
    assert read(REGISTRY.Quantity(0.0, "g"), "mass").u == DIGIT_TO_U
    assert read(185 / 3, "shore_d").u == pytest.approx(0.01 * DIGIT_TO_U)


@pytest.mark.parametrize(
    ("value", "name"),
    [
        (REGISTRY.Quantity(4.83, "g") / REGISTRY.Quantity(5.1, "cm**3"), "density"),
        ({"value": 4.83 / 5.1, "unit": "g/cm3"}, "density"),
        ({"value": np.float64(4.83 / 5.1), "unit": "g/cm3"}, "density"),
        (REGISTRY.Quantity(2.0, "inch"), "length"),
        (REGISTRY.Quantity(0.2, "oz"), "mass"),
    ],
    ids=repr,
)
def test_a_computed_number_must_state_its_uncertainty(value: object, name: str) -> None:
    with pytest.raises(InputError, match="state its uncertainty"):
        read(value, name)


def test_mapping_round_trip() -> None:
    assert read({"value": 5.02, "u": 0.01, "unit": "g"}, "mass") == Reading(5.02, 0.01)


@pytest.mark.parametrize(
    ("value", "name", "says"),
    [
        (5.02, "mass", "no unit"),
        ("5.02", "mass", "no unit"),
        ("5,02 g", "mass", "use a point"),
        ("5 mm", "mass", "is not one of mass"),
        ("5 C", "temperature", "coulomb"),
        ("5 blorg", "mass", "not known"),
        ("-5 g", "mass", "impossible"),
        ("nan g", "mass", "not a number"),
        ("1e999 g", "mass", "not a finite"),
        ("5 ± 1e999 g", "mass", "not a finite"),
        ("900 degC", "temperature", "impossible"),
        ("9 g/cm3", "density", "impossible"),
        ("", "mass", "not a number"),
        ("g", "mass", "not a number"),
        ("5" * 300 + " g", "mass", "too long"),
        (None, "mass", "not a reading"),
        (True, "mass", "not a reading"),
        (b"5 g", "mass", "not a reading"),
        ({"value": 5}, "mass", "needs the keys"),
        ({"value": "5", "unit": "g"}, "mass", "must be numbers"),
        ({"value": 5, "u": -1, "unit": "g"}, "mass", "negative"),
        ({"value": 5, "u": 1, "unit": 3}, "mass", "short text"),
        ({"value": 10**400, "unit": "g"}, "mass", "not a finite"),
        ({"value": math.nan, "unit": "g"}, "mass", "not a finite"),
        (Reading("a", 1), "density", "not of numbers"),  # type: ignore[arg-type]  # because it is wrong on purpose
        (Reading(0.95, None), "density", "not of numbers"),  # type: ignore[arg-type]  # as above
        (Reading(0.95, 1j), "density", "not of numbers"),  # type: ignore[arg-type]  # as above
        (Reading(10**400, 1), "density", "not a finite"),
        ("5c³9kg/m3", "density", "cannot be converted"),
        ("0..0", "force", "not a number with a unit"),
        ("0..0", "mass", "not a number with a unit"),
        ("1.38 ± 0.e^01 g/cm3", "density", "not a number with a unit"),
        ("1.3.8 g/cm3", "density", "not a number with a unit"),
        ("1.38(2).5 g/cm3", "density", "not a number with a unit"),
        ("1.38 +0.01 g/cm3", "density", "not a number with a unit"),
        ("(5.02 g", "mass", "not a number with a unit"),
        ("5.02) g", "mass", "not a number with a unit"),
        ("5.02 10 g", "mass", "not a number with a unit"),
        ("2..5 g", "mass", "not a number with a unit"),
        ("5² g", "mass", "not a number with a unit"),
        ("1e-3.5 g", "mass", "not a number with a unit"),
        ("5.02 ± 0.0.1 g", "mass", "not a number with a unit"),
        ("5.02 ± 0.01 ± 0.01 g", "mass", "not a number with a unit"),
        ("5.02 g 3", "mass", "write one unit"),
        ("5.02 g ± 0.01 g", "mass", "write one unit"),
        ("5.02 g-1", "mass", "is not one of mass"),
        ("8 g/(20 min)", "melt_flow_rate", "write one unit"),
        ("8 g/(10 min)/(10 min)", "melt_flow_rate", "write one unit"),
        ("5.02 % g", "mass", "would rescale"),
        ("5.02 g‰", "mass", "would rescale"),
        ("5.02 pi g", "mass", "would rescale"),
        ("5.02 g mm/m", "mass", "would rescale"),
        ("20 rad", "fraction", "would rescale"),
        ("20 % %", "fraction", "would rescale"),
        ("65 %", "shore_d", "would rescale"),
        ({"value": 5.02, "unit": "10 g"}, "mass", "write one unit"),
        ({"value": 5.02, "unit": "% g"}, "mass", "would rescale"),
        (REGISTRY.Quantity(5.02, "percent * g"), "mass", "would rescale"),
        ("0.95 ± 1 % g/cm3", "density", "here 0.95 ± 0.0095 and the unit"),
        ("5.02 ± 1 %", "mass", "here 5.02 ± 0.05 and the unit"),
        ("5.02 ± 3 ‰ g", "mass", "here 5.02 ± 0.015 and the unit"),
        ("0.95 ± -0.01 g/cm3", "density", "uncertainty -0.01 is negative"),
        ("5.02 ± -0 g", "mass", "uncertainty -0 is negative"),
    ],
)
def test_refusals_say_how_to_mend(value: object, name: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        read(value, name)


@settings(deadline=None)
@given(st.text(max_size=40), st.sampled_from(sorted(QUANTITIES)))
def test_any_text_is_read_or_refused(text: str, name: str) -> None:
    """Whatever is written, the door gives a finite reading in range or one of our own errors."""
    try:
        reading = read(text, name)
    except ResinidError:
        return
    assert QUANTITIES[name].low <= reading.value <= QUANTITIES[name].high
    assert reading.u >= 0
    assert math.isfinite(reading.u)


NUMBER = r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?"
PLAIN = re.compile(
    rf"\s*(?P<open>\()?\s*(?P<n>{NUMBER})(\s*(±|\+/-|\+-)\s*(?P<u>{NUMBER}))?\s*(?(open)\))\s*(?P<unit>\D.*)"
)
KNOWN_UNITS = {"g/cm3": 1.0, "g/cm^3": 1.0, "g/cm**3": 1.0, "kg/m3": 1e-3, "kg/m^3": 1e-3, "kg/m**3": 1e-3}


@pytest.mark.slow
@settings(max_examples=1000, deadline=None)
@given(st.data())
def test_a_slip_never_becomes_part_of_the_unit(data: st.DataObject) -> None:
    """A reading with signs put in by a slip is refused, or is the number and the unit that then stand there."""
    text = data.draw(
        st.sampled_from(["1.38 g/cm3", "1380 kg/m3", "1.38 ± 0.01 g/cm3", "(1.38 +/- 0.01) g/cm3", "1.38g/cm^3"])
    )
    for _ in range(data.draw(st.integers(1, 3))):
        place = data.draw(st.integers(0, len(text)))
        text = (
            text[:place]
            + data.draw(st.sampled_from([*"0123456789.+-±()%‰²³*/^e '½", " 10 ", "..", "+-"]))
            + text[place:]
        )
    try:
        reading = read(text, "density")
    except InputError:
        return
    brief = re.fullmatch(r"(\s*[+-]?\d*\.?(\d+))\((\d{1,3})\)(.*)", text)
    if brief:  # 1.38(2) g/cm3, the uncertainty in units of the last digit
        size = int(brief[3]) * (10.0 ** -len(brief[2]) if "." in brief[1] else 1.0)
        text = f"{brief[1]} ± {size:.6f} {brief[4]}"
    plain = PLAIN.fullmatch(text)
    assert plain, text
    unit = re.sub(r"\s", "", plain["unit"]).replace("³", "3").replace("^+3", "3").replace("**+3", "3")
    unit = re.sub(r"/\((c?m\S*)\)$", r"/\1", unit)
    assert unit in KNOWN_UNITS, text
    assert reading.value == pytest.approx(float(plain["n"]) * KNOWN_UNITS[unit]), text
    if plain["u"]:
        assert reading.u == pytest.approx(float(plain["u"]) * KNOWN_UNITS[unit]), text


@settings(deadline=None)
@given(
    st.decimals(1, 2, places=3).map(str),
    st.sampled_from(
        [".8", " .8", " 8", "(2).5", " (2)", "+0.01", " - 0.01", " 1e3", "'000", "%", " ‰", " ± 1 %", " 10*", "½"]
    ),
    st.sampled_from(["g/cm3", "kg/m3", "lb/ft**3"]),
    st.sampled_from([" ", ""]),
)
def test_what_stands_between_number_and_unit_is_refused(number: str, slip: str, unit: str, gap: str) -> None:
    """Nothing but one uncertainty may stand between a number and its unit."""
    with pytest.raises(InputError):
        read(f"{number}{slip}{gap}{unit}", "density")


@settings(deadline=None)
@given(st.floats(1e-3, 1e3), st.floats(1e-6, 1.0), st.sampled_from(["mg", "g", "kg", "oz", "lb"]))
def test_units_are_inverse(value: float, u: float, unit: str) -> None:
    """A mass written in any unit is the same mass."""
    there = REGISTRY.Quantity(value, "g").to(unit).magnitude
    spread = REGISTRY.Quantity(u, "g").to(unit).magnitude
    reading = read(f"{there!r} ± {spread!r} {unit}", "mass")
    assert reading.value == pytest.approx(value, rel=1e-9)
    assert reading.u == pytest.approx(u, rel=1e-9)


@settings(deadline=None)
@given(st.integers(0, 100) | st.floats(0.0, 100.0))
def test_a_bare_number_is_read_where_there_is_no_unit(value: float) -> None:
    """A hardness has no unit, so the number alone is the reading, as its text would be."""
    assert read(value, "shore_d") == read(repr(value), "shore_d")


def test_an_uncertainty_in_brackets_counts_in_the_last_digit() -> None:
    """JCGM 100:2008, 7.2.2: 100,021 47(35) g is 100,021 47 g with a standard uncertainty of 0,35 mg."""
    assert read("100.02147(35) g", "mass") == read("100.02147 ± 0.00035 g", "mass")
    assert read("131(2) degC", "temperature") == read("131 ± 2 degC", "temperature")
    assert read("957(3) kg m-3", "density").u == pytest.approx(0.003)


@pytest.mark.parametrize("value", [math.nan, math.inf, -1, 101, True])
def test_a_bare_number_that_cannot_be_is_refused(value: object) -> None:
    with pytest.raises(InputError):
        read(value, "shore_d")
