"""Options that several commands have."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from resinid.quantities import QUANTITIES

if TYPE_CHECKING:
    import argparse

    from resinid.quantities import Quantity

__all__ = ["add_trust", "unit_shown", "with_unit"]

_BARE: Final = re.compile(r"\s*[+-]?(?:\d+\.?\d*|\.\d+)(?:\s*(?:±|\+/-|\+-)\s*(?:\d+\.?\d*|\.\d+))?\s*")


def with_unit(typed: str, quantity: str | Quantity) -> str:
    """Return what was typed with the unit that the prompt or command shows, where it is a bare number.

    Only what a person types is read so: in a document or in Python a number without a unit is refused.

    Examples
    --------
    >>> with_unit("1.07", "density"), with_unit("120", "temperature"), with_unit("250 mL", "volume")
    ('1.07 g/cm3', '120 degC', '250 mL')
    """
    unit = unit_shown(QUANTITIES[quantity] if isinstance(quantity, str) else quantity)
    return f"{typed.strip()} {unit}" if unit and _BARE.fullmatch(typed) else typed


def unit_shown(quantity: Quantity) -> str:
    """Return the unit that a prompt shows, and that a bare number is taken in; empty where there is none.

    Examples
    --------
    >>> [unit_shown(QUANTITIES[name]) for name in ("temperature", "volume", "melt_flow_rate", "shore_d")]
    ['degC', 'mL', 'g/10 min', '']
    """
    if quantity.name == "volume":
        return "mL"
    return quantity.unit if quantity.unit in {"degC", "delta_degC"} else quantity.label


def add_trust(parser: argparse.ArgumentParser) -> None:
    """Add the option that names plug-ins which may clear a piece for heating."""
    parser.add_argument(
        "--trust",
        action="append",
        default=[],
        metavar="NAME",
        help="a plug-in's method or test that may clear a piece for heating; may be repeated",
    )
