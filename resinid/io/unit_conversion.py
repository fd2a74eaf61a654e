"""Conversion of units: scale and offset from a unit that a person wrote to the canonical one.

This is the only module that knows pint, and it imports it on the first unit that is
not in :mod:`resinid.io.unit_spellings`.
"""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, Any, Final

from resinid.errors import InputError
from resinid.io.arguments import unplaced
from resinid.io.reading_parser import one_unit
from resinid.io.unit_spellings import COMMON, STANDARD_GRAVITY
from resinid.quantities import QUANTITIES, Quantity

if TYPE_CHECKING:
    import pint

__all__ = ["conversion"]


@functools.cache
def _registry() -> pint.UnitRegistry[Any]:
    import pint

    registry: pint.UnitRegistry[Any] = pint.UnitRegistry()
    if "permille" not in registry:  # older pints do not know it
        registry.define("permille = 0.001")
    return registry


_ANGLES: Final = frozenset({"degree", "radian"})
_MEANT: Final = {"C": " (C is the coulomb; write degC)", "F": " (F is the farad; write degF)"}
_SHARES: Final = ({"percent": 1}, {"permille": 1}, {"ppm": 1})


@functools.lru_cache(maxsize=512)
def conversion(unit: str, name: str | Quantity) -> tuple[float, float]:
    """Return scale and offset that take a value in ``unit`` to the canonical unit of a quantity.

    Raises
    ------
    InputError
        Unknown unit, or a unit of another dimension.

    Examples
    --------
    >>> scale, offset = conversion("kg/m3", "density")
    >>> round(scale, 9), offset
    (0.001, 0.0)
    """
    quantity = QUANTITIES[name] if isinstance(name, str) else name
    common = COMMON.get(quantity.unit, {}).get(unit)
    return _by_pint(unit, quantity) if common is None else common


def _spelt(unit: str, quantity: Quantity) -> str:
    """Return a unit in a spelling that every pint reads."""
    try:
        written = one_unit(unit, quantity)
    except ValueError as error:
        raise unplaced(f"unit {unit!r} is not known; write one unit, for example '{quantity.example}'") from error
    if ("%" in unit or "‰" in unit) and unit.strip() not in {"%", "‰"}:
        raise unplaced(f"unit {unit!r} would rescale the number; write one unit, for example '{quantity.example}'")
    if unit.strip() == "‰":  # older pints do not read the sign
        return "permille"
    return written


def _by_pint(unit: str, quantity: Quantity) -> tuple[float, float]:
    registry = _registry()
    written = _spelt(unit, quantity)
    if quantity.name == "temperature_difference":
        written = {"degC": "delta_degC", "°C": "delta_degC", "degF": "delta_degF", "°F": "delta_degF"}.get(
            written, written
        )
    try:
        try:
            one, zero = registry.Quantity(1.0, written), registry.Quantity(0.0, written)
        except ValueError:  # a unit with a number in it, such as g/(10*min)
            # Older pints read a number alone, such as "..0", as a plain number.
            one = registry.Quantity(1.0) * registry.parse_expression(written)
            zero = 0.0 * one
    except Exception as error:
        raise unplaced(f"unit {unit!r} is not known; write for example '{quantity.example}'") from error
    try:
        _refuse_factors(one, quantity, unit)
    except InputError:
        raise
    except Exception as error:  # such as a power of the speed of light that no float can hold
        raise unplaced(f"unit {unit!r} cannot be converted; write for example '{quantity.example}'") from error
    factor = 1.0
    if quantity.name == "force" and one.check("[mass]"):
        target, factor = registry.Unit("kg"), STANDARD_GRAVITY
    else:
        target, factor = _target(one, quantity, unit)
    try:
        low, high = float(zero.to(target).magnitude) * factor, float(one.to(target).magnitude) * factor
    except Exception as error:  # such as a product of degrees
        raise unplaced(f"unit {unit!r} cannot be converted; write for example '{quantity.example}'") from error
    return high - low, low


def _refuse_factors(one: Any, quantity: Quantity, unit: str) -> None:  # noqa: ANN401 - because pint is generic
    """Refuse what would only rescale the number: per cent, pi or mm/m within a unit."""
    registry = _registry()
    powers = dict(one.to_tuple()[1])
    kinds = [registry.Unit(name).dimensionality for name in powers]
    if not quantity.unit:
        faulty = bool(powers)
    elif one.dimensionless and quantity.unit in _ANGLES:
        faulty = powers in _SHARES or [*powers.values()] != [1]
    elif one.dimensionless:  # a share may be of like by like, as g/kg
        faulty = not all(kinds) and powers not in _SHARES
    else:
        faulty = not all(kinds) or len({*map(str, kinds)}) < len(kinds)
    if faulty:
        raise unplaced(f"unit {unit!r} would rescale the number; write one unit, for example '{quantity.example}'")


def _target(one: Any, quantity: Quantity, unit: str) -> tuple[Any, float]:  # noqa: ANN401 - because pint is generic
    registry = _registry()
    try:
        wanted: Any = registry.Unit(quantity.unit)
        factor = 1.0
    except ValueError:  # a canonical unit with a number in it, such as g/(10*min)
        scaled = registry.parse_expression(quantity.unit)
        wanted, factor = scaled.units, 1.0 / float(scaled.magnitude)
    if one.dimensionality != wanted.dimensionality:
        hint = _MEANT.get(unit, "") if quantity.unit in {"degC", "delta_degC"} else ""
        kind = quantity.words
        raise unplaced(f"unit {unit!r} is not one of {kind}{hint}; write for example '{quantity.example}'")
    return wanted, factor
