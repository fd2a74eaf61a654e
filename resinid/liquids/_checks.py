"""Refusals shared by the ways to make a liquid; each raises all its faults at once."""

from __future__ import annotations

import math
from numbers import Real
from typing import TYPE_CHECKING

from resinid.errors import Fault, InputError, safe_repr

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["is_finite", "refuse_negative", "refuse_not_finite", "refuse_not_positive"]


def is_finite(value: object) -> bool:
    """Return whether something is one finite number.

    Examples
    --------
    >>> is_finite(20.0), is_finite("20"), is_finite(None), is_finite(10**400)
    (True, False, False, False)
    """
    if isinstance(value, bool) or not isinstance(value, Real):
        return False
    try:
        return math.isfinite(value)
    except OverflowError:
        return False


def _shown(value: object) -> str:
    return f"{value:g}" if isinstance(value, float) else f"{safe_repr(value)}"


def refuse_not_finite(**values: float) -> None:
    """Refuse values that are infinite or no number."""
    _refuse("a number", values, lambda _: True)


def refuse_negative(**values: float) -> None:
    """Refuse values that are negative or not finite."""
    _refuse("a number of 0 or more", values, lambda value: value >= 0.0)


def refuse_not_positive(**values: float) -> None:
    """Refuse values that are 0, negative or not finite."""
    _refuse("a positive number", values, lambda value: value > 0.0)


def _refuse(wanted: str, values: dict[str, float], allowed: Callable[[float], bool]) -> None:
    """Raise one error for all bad values; a text or nothing in a number's place is bad, too."""
    faults = [
        Fault(name, f"is {_shown(value)}; give {wanted}")
        for name, value in values.items()
        if not (is_finite(value) and allowed(value))
    ]
    if faults:
        raise InputError(faults)
