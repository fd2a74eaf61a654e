"""Readings: written values with units in, bare canonical floats out."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from numbers import Real
from typing import Any, Final

from resinid.errors import safe_repr
from resinid.io.arguments import unplaced
from resinid.io.digits import DIGIT_TO_U, MOST_DIGITS, counted_digit, is_float, last_digit, significant
from resinid.io.reading_parser import one_reading
from resinid.io.unit_conversion import conversion
from resinid.quantities import QUANTITIES, Quantity

__all__ = ["DIGIT_TO_U", "Reading", "is_real", "read"]

_COMMA: Final = re.compile(r"\d,\d")
_LONGEST: Final = 100
_RELATIVE: Final = ("%", "‰", "percent", "permille")


@dataclass(frozen=True, slots=True)
class Reading:
    """A measured value in the canonical unit of its quantity.

    Parameters
    ----------
    value : float
        Best estimate [canonical unit].
    u : float
        Standard uncertainty [canonical unit], at least zero.
    """

    value: float
    u: float


def read(value: object, name: str | Quantity) -> Reading:
    """Turn what a person wrote into a reading in canonical units.

    Parameters
    ----------
    value : str, pint.Quantity, Reading, mapping or float
        ``"5.02 g"``, ``"5.02 ± 0.01 g"``, a pint quantity, or a mapping with the
        keys ``value``, ``u`` and ``unit``; a bare number of a quantity that has no
        unit, such as a hardness. Where no uncertainty is stated, it is taken from the
        last printed digit of a text or whole number, see :data:`DIGIT_TO_U`. A float has
        no printed digits, so that of its value in the canonical unit is taken, without noughts
        at the end: it is the same after a conversion. Of a temperature it is 1 K.
    name : str or Quantity
        Quantity in :data:`resinid.quantities.QUANTITIES`, or one of a plug-in's own.

    Returns
    -------
    Reading

    Raises
    ------
    InputError
        No unit, unknown unit, wrong dimension, not a finite number, or a value
        outside the plausible range of the quantity; a float without uncertainty that has
        more digits than an instrument shows, or is in a unit such as the inch, of which
        the digits say nothing after a conversion.

    Examples
    --------
    >>> read("50.2 ± 0.1 mg", "mass").value
    0.0502
    >>> round(read("329 ± 9 degF", "temperature").u, 6)
    5.0
    >>> one, same = ({"value": 0.95, "unit": "g/cm3"}, {"value": 950.0, "unit": "kg/m3"})
    >>> round(read(one, "density").u, 5), round(read(same, "density").u, 5)
    (0.00577, 0.00577)
    """
    quantity = QUANTITIES[name] if isinstance(name, str) else name
    if isinstance(value, Reading):
        return _checked(_of_floats(value, quantity), quantity)
    if isinstance(value, str):
        return _checked(_from_text(value, quantity), quantity)
    if isinstance(value, Mapping):
        return _checked(_from_mapping(value, quantity), quantity)
    if hasattr(value, "magnitude") and hasattr(value, "units"):
        return _checked(_from_pint(value, quantity), quantity)
    if is_real(value):
        said = safe_repr(value, _LONGEST)
        if quantity.unit:
            raise unplaced(f"{said} has no unit; write it with one, for example '{quantity.example}'")
        if said.startswith("<"):
            raise unplaced(f"{said} is too long a number; write one such as '{quantity.example}'")
        # As it is printed: a numpy number's repr names its type.
        return _checked(_from_text(str(value), quantity), quantity)
    raise unplaced(
        f"{safe_repr(value, _LONGEST)} is not a reading; write a number with its unit, for example '{quantity.example}'"
    )


def is_real(part: object) -> bool:
    """Return whether something is one real number, numpy's included.

    Examples
    --------
    >>> is_real(0.95), is_real(True), is_real("0.95")
    (True, False, False)
    """
    return isinstance(part, Real) and not isinstance(part, bool)


def _of_floats(reading: Reading, quantity: Quantity) -> Reading:
    parts: tuple[object, ...] = (reading.value, reading.u)
    if not all(is_real(part) or isinstance(part, Decimal) for part in parts):
        raise unplaced(f"{safe_repr(reading, _LONGEST)} is not of numbers; give both as floats [{quantity.label}]")
    return Reading(_as_float(reading.value), _as_float(reading.u))


def _checked(reading: Reading, quantity: Quantity) -> Reading:
    if not (math.isfinite(reading.value) and math.isfinite(reading.u)):
        raise unplaced(f"is not a finite number; write a number with its unit, for example '{quantity.example}'")
    if reading.u < 0:
        raise unplaced(f"its uncertainty {reading.u:g} is negative; write it as a positive number")
    if not quantity.low <= reading.value <= quantity.high:
        raise unplaced(
            f"{reading.value:g} {quantity.label} is impossible for a {quantity.words}; "
            f"expected {quantity.low:g} to {quantity.high:g} {quantity.label}"
        )
    return reading


def _from_text(text: str, quantity: Quantity) -> Reading:
    if len(text) > _LONGEST:
        raise unplaced(f"{safe_repr(text, _LONGEST)} is too long for a reading; write for example '{quantity.example}'")
    if _COMMA.search(text):
        raise unplaced(f"{text!r} has a comma; use a point for decimals, for example '{quantity.example}'")
    written = one_reading(text)
    if written is None:
        raise unplaced(
            f"{text!r} is not a number with a unit: one number, ± and one uncertainty where it is known, "
            f"one unit; write for example '{quantity.example}'"
        )
    number, spread, unit = written
    if not unit and quantity.unit:
        raise unplaced(f"{text!r} has no unit; write for example '{quantity.example}'")
    if spread and spread.startswith("-"):
        raise unplaced(f"its uncertainty {spread} is negative; write it as a positive number")
    if spread and unit.startswith(_RELATIVE) and quantity.unit != "percent":
        share = "0.001" if unit.startswith(("‰", "permille")) else "0.01"
        own = abs(Decimal(number) * Decimal(spread) * Decimal(share))
        raise unplaced(
            f"{text!r} has its uncertainty as a share; write it in the unit of the number, "
            f"here {number} ± {float(own):.2g} and the unit"
        )
    if not spread:
        return _as_printed(number, unit, quantity)
    return _converted(float(number), float(spread), unit, quantity)


def _as_printed(number: str, unit: str, quantity: Quantity) -> Reading:
    """Return a number that is as good as its last printed digit."""
    digit = last_digit(number) if quantity.unit else counted_digit(number)
    return _converted(float(number), digit * DIGIT_TO_U, unit, quantity)


def _as_computed(number: Any, unit: str, quantity: Quantity) -> Reading:  # noqa: ANN401 - because any number is taken
    """Return a number of which only the value is known, as good as the value itself tells.

    How Python prints a float is no display: after a conversion 0.92 g/cm3 is 919.9999999999999 kg/m3.
    """
    # Of single precision the float has digits that its text, the shortest for it, has not.
    text = str(number) if is_float(str(number)) else repr(_as_float(number))
    if not quantity.unit or re.fullmatch(r"\s*[+-]?\d+\s*", text):
        return _as_printed(text, unit, quantity)
    scale, _ = conversion(unit, quantity)
    found = _converted(float(text), 0.0, unit, quantity)
    if not math.isfinite(found.value):
        return found
    if quantity.unit == "degC":  # a kelvin and a degree Fahrenheit are no decimal parts of each other
        return Reading(found.value, DIGIT_TO_U)
    power = math.log10(scale)
    digits, shown = significant(found.value)
    if digits > MOST_DIGITS or abs(power - round(power)) > 1e-9:
        why = (
            "has more digits than an instrument shows, as a calculated or converted number has"
            if digits > MOST_DIGITS
            else f"is in a unit that is no decimal part of {quantity.label}, and its digits could be of another"
        )
        raise unplaced(
            f"{text} {unit} has no uncertainty and {why}; state its uncertainty (u in a table, plus_minus in pint), "
            f"or write what was shown as a text, for example '{quantity.example}'"
        )
    return Reading(found.value, shown * DIGIT_TO_U)


def _from_mapping(entries: Mapping[str, Any], quantity: Quantity) -> Reading:
    extra = sorted(set(entries) - {"value", "u", "unit"}, key=str)
    if extra or "value" not in entries or "unit" not in entries:
        raise unplaced("a reading given as a table needs the keys value and unit, and may have u; nothing else")
    number, u, unit = entries["value"], entries.get("u"), entries["unit"]
    for part in (number, u):
        if part is not None and not is_real(part):
            raise unplaced(f"value and u must be numbers, not {safe_repr(part, _LONGEST)}")
    if not isinstance(unit, str) or len(unit) > _LONGEST:
        raise unplaced("unit must be a short text such as 'g'")
    if u is None and math.isfinite(_as_float(number)):
        return _as_computed(number, unit, quantity)
    size = 0.0 if u is None else _as_float(u)
    if size < 0:
        raise unplaced(f"its uncertainty {size:g} is negative; write it as a positive number")
    return _converted(_as_float(number), size, unit, quantity)


def _as_float(number: float) -> float:
    try:
        return float(number)
    except OverflowError:
        return math.inf


def _from_pint(value: Any, quantity: Quantity) -> Reading:  # noqa: ANN401 - because any registry's class is taken
    magnitude = value.magnitude
    u: float | None = None
    if hasattr(magnitude, "nominal_value"):
        magnitude, u = magnitude.nominal_value, float(magnitude.std_dev)
    try:
        number = float(magnitude)
    except (TypeError, ValueError):
        raise unplaced(f"{safe_repr(magnitude, _LONGEST)} is not one number; give a scalar quantity") from None
    if u is None:
        return _as_computed(magnitude, f"{value.units}", quantity)
    return _converted(number, u, f"{value.units}", quantity)


def _converted(number: float, u: float, unit: str, quantity: Quantity) -> Reading:
    scale, offset = conversion(unit, quantity)
    return Reading(number * scale + offset, u * scale)
