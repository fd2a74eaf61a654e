"""Refusals shared by the ways to make a liquid; each raises all its faults at once."""

from __future__ import annotations

import math

from resinid.errors import Fault, InputError

__all__ = ["refuse_negative", "refuse_not_finite", "refuse_not_positive"]


def refuse_not_finite(**values: float) -> None:
    """Refuse values that are infinite or no number."""
    _refuse("a number", {name: value for name, value in values.items() if not math.isfinite(value)})


def refuse_negative(**values: float) -> None:
    """Refuse values that are negative or not finite."""
    bad = {name: value for name, value in values.items() if not (math.isfinite(value) and value >= 0.0)}
    _refuse("a number of 0 or more", bad)


def refuse_not_positive(**values: float) -> None:
    """Refuse values that are 0, negative or not finite."""
    bad = {name: value for name, value in values.items() if not (math.isfinite(value) and value > 0.0)}
    _refuse("a positive number", bad)


def _refuse(wanted: str, bad: dict[str, float]) -> None:
    """Raise one error for all bad values."""
    if bad:
        raise InputError([Fault(name, f"is {value}; give {wanted}") for name, value in bad.items()])
