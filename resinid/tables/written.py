"""Readings as people write them into cells: ``0.957``, ``0.957 ± 0.003``, ``0.957(3)``, ``0.957 ± 0.3 %``."""

from __future__ import annotations

import functools
import math
import re
from typing import TYPE_CHECKING, Final, NamedTuple

from resinid.errors import InputError
from resinid.io.arguments import unplaced
from resinid.io.digits import DIGIT_TO_U, counted_digit, is_float, last_digit
from resinid.io.reading_parser import one_reading
from resinid.io.unit_conversion import conversion
from resinid.quantities import QUANTITIES, Quantity

if TYPE_CHECKING:
    from resinid.tables.columns import CellSource

__all__ = ["Cell", "cell_of", "difference_of", "pointed", "spread_of"]

LONGEST: Final = 100
SIGN: Final = re.compile(r"\s*(?:±|\+/-|\+-)\s*")
COMMA: Final = re.compile(r"(?<=\d),(?=\d)")
THOUSANDS: Final = re.compile(r"\s*[-+]?[1-9][0-9]{0,2},[0-9]{3}\s*")
"""What may as well be a whole number whose thousands a comma parts."""
PERCENT: Final = ("%", "percent")


class Cell(NamedTuple):
    """A reading in its canonical unit; ``u`` from what is written, ``digit`` from its last digit, NaN where none is."""

    value: float
    u: float
    digit: float


def pointed(text: str, decimal: str) -> str:
    """Return a text with points for decimals.

    Examples
    --------
    >>> pointed("0,957 ± 0,003", ","), pointed("1,2", ".")
    ('0.957 ± 0.003', '1,2')
    """
    return text if decimal == "." else text.replace(decimal, ".") if decimal != "," else COMMA.sub(".", text)


def difference_of(quantity: Quantity) -> Quantity:
    """Return the quantity of which an uncertainty is: of a temperature a difference of temperatures."""
    return QUANTITIES["temperature_difference"] if quantity.unit == "degC" else quantity


def cell_of(text: str, source: CellSource) -> Cell:
    """Return the reading that a cell says.

    Raises
    ------
    InputError
        It is no reading, or has no unit where the header has none.

    Examples
    --------
    >>> from resinid.tables.columns import plan_columns
    >>> source = plan_columns(["density [kg/m3]"]).tests[0].fields[0][1]
    >>> cell = cell_of("957(3)", source)
    >>> f"{cell.value:.3f} {cell.u:.3f}"
    '0.957 0.003'
    """
    quantity = source.quantity or QUANTITIES["density"]
    if is_float(text) and "_" not in text and not math.isnan(float(text)):
        if source.unit is None and math.isfinite(float(text)):
            raise unplaced(f"{text} has no unit; write it here or in the header, for example '{quantity.example}'")
        number, digit = float(text), (last_digit(text) if quantity.unit else counted_digit(text)) * DIGIT_TO_U
        return Cell(number * source.scale + source.offset, math.nan, abs(digit * source.scale))
    parts = one_reading(text) if len(text) <= LONGEST else None
    if parts is None:
        raise unplaced(f"{text!r:.80} is not a number{_hint(text)}")
    number, spread, unit = float(parts.number), parts.spread, parts.unit
    share = spread is not None and unit.startswith(PERCENT) and quantity.unit != "percent"
    if share:
        unit = unit.removeprefix("percent").removeprefix("%").strip()
    if not unit and source.unit is None:
        raise unplaced(f"{text!r} has no unit; write it here or in the header, for example '{quantity.example}'")
    scale, offset = conversion(unit, quantity) if unit else (source.scale, source.offset)
    value = number * scale + offset
    if spread is None:
        digit = last_digit(parts.number) if quantity.unit else counted_digit(parts.number)
        return Cell(value, math.nan, abs(digit * DIGIT_TO_U * scale))
    size = float(spread)
    if size < 0:
        raise unplaced(f"its uncertainty {spread} is negative; write it as a positive number")
    return Cell(value, abs(number * size * scale / 100.0) if share else size * scale, math.nan)


@functools.lru_cache(maxsize=4096)
def spread_of(text: str, source: CellSource) -> tuple[float, bool]:
    """Return the uncertainty that a cell says in its canonical unit, or as a share of the reading, and whether so.

    Raises
    ------
    InputError
        It is none.

    Examples
    --------
    >>> from resinid.tables.columns import plan_columns
    >>> source = plan_columns(["density [kg/m3]", "density_u [kg/m3]"]).tests[0].fields[0][1]
    >>> spread_of("10 %", source), spread_of("± 3", source)
    ((0.1, True), (0.003, False))
    """
    plain = SIGN.sub("", text, count=1).strip() if SIGN.match(text) else text.strip()
    if is_float(plain) and "_" not in plain and not math.isnan(float(plain)):
        return float(plain) * source.u_scale, source.share
    parts = one_reading(plain) if len(plain) <= LONGEST else None
    quantity = source.quantity or QUANTITIES["density"]
    if parts is None or parts.spread is not None:
        raise unplaced(f"{text!r:.80} is not a number{_hint(text)}")
    if parts.unit in PERCENT and quantity.unit != "percent":
        return float(parts.number) / 100.0, True
    try:
        scale, _ = conversion(parts.unit, difference_of(quantity))
    except InputError as error:
        raise unplaced(f"{text!r:.80} is not a number: {error.faults[0].message}") from error
    return float(parts.number) * scale, False


def _hint(text: str) -> str:
    """Say how to write a number whose decimal point is a comma."""
    if len(text) > 20 or not COMMA.search(text) or not is_float(COMMA.sub(".", text, count=1)):
        return ""
    point = COMMA.sub(".", text, count=1).strip()
    other = f", or {point.replace('.', '')} if the comma parts thousands" if THOUSANDS.fullmatch(text) else ""
    return f"; write a point: {point}{other}, or say decimal=',' (--decimal ,)"
