"""Options that several commands have."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from resinid.quantities import QUANTITIES

if TYPE_CHECKING:
    import argparse

    from resinid.quantities import Quantity

__all__ = ["add_trust", "with_unit"]

_BARE: Final = re.compile(r"\s*[+-]?(?:\d+\.?\d*|\.\d+)(?:\s*(?:±|\+/-|\+-)\s*(?:\d+\.?\d*|\.\d+))?\s*")


def with_unit(typed: str, quantity: str | Quantity) -> str:
    """Return what was typed with the unit that the prompt or command shows, where it is a bare number.

    Only what a person types is read so: in a document or in Python a number without a unit is refused.

    Examples
    --------
    >>> with_unit("1.07", "density"), with_unit("120", "temperature"), with_unit("250 mL", "volume")
    ('1.07 g/cm3', '120 degC', '250 mL')
    """
    found = QUANTITIES[quantity] if isinstance(quantity, str) else quantity
    unit = TYPED.get(found.name) or found.unit
    return f"{typed.strip()} {unit}" if unit and _BARE.fullmatch(typed) else typed


TYPED: Final = {"density": "g/cm3", "volume": "mL"}
"""Units that a prompt shows in place of the canonical one: both are the same, spelt as people write them."""


def add_trust(parser: argparse.ArgumentParser) -> None:
    """Add the option that names plug-ins which may clear a piece for heating."""
    parser.add_argument(
        "--trust",
        action="append",
        default=[],
        metavar="NAME",
        help="a plug-in's method or test that may clear a piece for heating; may be repeated",
    )
