"""How well a number is known that states no uncertainty, by its digits."""

from __future__ import annotations

import math
from decimal import Decimal, InvalidOperation
from typing import Final

__all__ = ["DIGIT_TO_U", "MOST_DIGITS", "counted_digit", "is_float", "last_digit", "significant"]

DIGIT_TO_U: Final = 1.0 / math.sqrt(3.0)
"""Standard uncertainty per unit of the last printed digit when none is stated.

A display is taken as good to plus or minus one digit with every value in that
range equally likely (JCGM 100:2008, 4.3.7: half-width over the root of three).
"""

MOST_DIGITS: Final = 7
"""Significant digits that an instrument shows at most: a balance that resolves 0.1 mg of 100 g (common
practice, no source). A number with more was calculated or converted, and shows no uncertainty."""

_FINEST: Final = Decimal("1e-9")
"""Digits of a number below this [canonical unit] or past the twelfth are rounding, not reading."""

_COUNTED: Final = 4
"""Significant digits that count of a reading without unit, such as a hardness, which may be a mean."""


def last_digit(text: str) -> float:
    """Return the size of one unit in the last printed digit of ``text``."""
    try:
        return float(f"1e{Decimal(text).as_tuple().exponent}")
    except (ValueError, InvalidOperation):  # not a finite number: the exponent is a letter, or beyond any
        return math.nan


def counted_digit(text: str) -> float:
    """Return the size of one unit in the last printed digit that counts of a reading without unit.

    Examples
    --------
    >>> counted_digit("62.0"), counted_digit("62.333333333333336")
    (0.1, 0.01)
    """
    digit = last_digit(text)
    if not 0.0 < abs(float(text)) < math.inf:
        return digit
    return max(digit, float(f"1e{math.floor(math.log10(abs(float(text)))) + 1 - _COUNTED}"))


def significant(value: float) -> tuple[int, float]:
    """Return how many significant digits a value has and the size of one unit in the last; noughts do not count.

    Examples
    --------
    >>> significant(919.9999999999999 / 1000)
    (2, 0.01)
    """
    exact = Decimal(f"{value:.11e}").quantize(_FINEST) if abs(value) < 1 / float(_FINEST) else Decimal(f"{value:.11e}")
    parts = exact.normalize().as_tuple()
    return len(parts.digits), float(f"1e{parts.exponent}")


def is_float(text: str) -> bool:
    """Return whether a text is one float.

    Examples
    --------
    >>> is_float("0.5"), is_float("1/2")
    (True, False)
    """
    try:
        float(text)
    except ValueError:  # of a fraction, for example
        return False
    return True
