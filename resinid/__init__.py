"""Rank which resin an unmarked piece of scrap plastic is, from readings taken at the bench."""

from __future__ import annotations

from resinid.door.liquid import parse_liquid as liquid
from resinid.errors import (
    Fault,
    InputError,
    MethodError,
    MethodWarning,
    RangeError,
    ResinidError,
    TableError,
    UnknownNameError,
)
from resinid.identification import identify, observe
from resinid.methods.contract import Method, Observation
from resinid.result import Result
from resinid.safety import Heat
from resinid.scoring.term import Shared, Term
from resinid.table.table import Table, default_table, load_table

__all__ = [
    "Fault",
    "Heat",
    "InputError",
    "Method",
    "MethodError",
    "MethodWarning",
    "Observation",
    "RangeError",
    "ResinidError",
    "Result",
    "Shared",
    "Table",
    "TableError",
    "Term",
    "UnknownNameError",
    "default_table",
    "identify",
    "liquid",
    "load_table",
    "observe",
]


def __dir__() -> list[str]:
    """Return the public names only."""
    return __all__
