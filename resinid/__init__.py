"""Rank which resin an unmarked piece of scrap plastic is, from readings taken at the bench."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from resinid.batch.bag import Batch, read_batch
from resinid.batch.composition import Composition, batch_composition
from resinid.batch.plan import melt_plan
from resinid.batch.same import Sameness, same_resin
from resinid.batch.steps import MeltPlan
from resinid.batch.stock import StockMatrix, read_stock, stock_matrix
from resinid.batch.together import Verdict, melt_together
from resinid.door.liquid import parse_liquid as liquid
from resinid.door.reading import Reading
from resinid.errors import (
    Fault,
    InputError,
    MethodError,
    MethodWarning,
    NotAllowedError,
    PlugInError,
    RangeError,
    ResinidError,
    TableError,
    UnknownNameError,
)
from resinid.identification import identify, observe
from resinid.methods.contract import Method, Observation
from resinid.planning.advice import Advice, Suggestion
from resinid.planning.have import Have
from resinid.planning.ladder import Ladder, ladder
from resinid.planning.next_test import next_tests
from resinid.planning.plan import Plan
from resinid.recipes import Correction, Reagent, Recipe, correction, recipe
from resinid.result import Result
from resinid.safety import Heat
from resinid.scoring.grid import Axis
from resinid.scoring.observed import Aspect, Dependence, Measure
from resinid.scoring.term import Shared, Term
from resinid.table.rules import Rule
from resinid.table.table import Table, default_table, load_table
from resinid.vocabulary import Quantity

if TYPE_CHECKING:
    from resinid.bulk.stream import identify_file
    from resinid.bulk.table import identify_table

__all__ = [
    "Advice",
    "Aspect",
    "Axis",
    "Batch",
    "Composition",
    "Correction",
    "Dependence",
    "Fault",
    "Have",
    "Heat",
    "InputError",
    "Ladder",
    "Measure",
    "MeltPlan",
    "Method",
    "MethodError",
    "MethodWarning",
    "NotAllowedError",
    "Observation",
    "Plan",
    "PlugInError",
    "Quantity",
    "RangeError",
    "Reading",
    "Reagent",
    "Recipe",
    "ResinidError",
    "Result",
    "Rule",
    "Sameness",
    "Shared",
    "StockMatrix",
    "Suggestion",
    "Table",
    "TableError",
    "Term",
    "UnknownNameError",
    "Verdict",
    "batch_composition",
    "correction",
    "default_table",
    "identify",
    "identify_file",
    "identify_table",
    "ladder",
    "liquid",
    "load_table",
    "melt_plan",
    "melt_together",
    "next_tests",
    "observe",
    "read_batch",
    "read_stock",
    "recipe",
    "same_resin",
    "stock_matrix",
]


def __dir__() -> list[str]:
    """Return the public names only."""
    return __all__


def __getattr__(name: str) -> object:
    """Load what needs pandas on first use, so that importing the package stays light."""
    where = {"identify_table": "resinid.bulk.table", "identify_file": "resinid.bulk.stream"}.get(name)
    if where is None:
        message = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(message)
    return getattr(import_module(where), name)
