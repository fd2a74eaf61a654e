"""Rank which resin an unmarked piece of scrap plastic is, from readings taken at the bench."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from resinid.batches.bag import Batch, read_batch
from resinid.batches.comparison import BatchComparison, same_resin
from resinid.batches.compatibility import MeltCompatibility, melt_together
from resinid.batches.composition import Composition, batch_composition
from resinid.batches.stock import StockMatrix, read_stock, stock_matrix
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
from resinid.heating.verdict import Heat
from resinid.identification.identify import identify, observe
from resinid.identification.result import Result
from resinid.io.liquid_parser import parse_liquid
from resinid.io.reading import Reading
from resinid.melting.plan import melt_plan
from resinid.melting.steps import MeltPlan
from resinid.methods.bench import Bench
from resinid.methods.contract import Method, Observation
from resinid.methods.test_plan import TestPlan
from resinid.planning.advice import Advice, Suggestion
from resinid.planning.ladder import Ladder, ladder
from resinid.planning.next_test import next_tests
from resinid.planning.recipes import Correction, Reagent, Recipe, correct_bath, mix_bath
from resinid.quantities import Quantity
from resinid.reference.rules import SpreadRule
from resinid.reference.table import ReferenceTable, default_reference, load_reference
from resinid.scoring.grid import Axis
from resinid.scoring.properties import CategoricalProperty, ContinuousProperty, Dependence
from resinid.scoring.term import SharedError, Term

if TYPE_CHECKING:
    from resinid.tables.frame import identify_table
    from resinid.tables.stream import identify_file

__all__ = [
    "Advice",
    "Axis",
    "Batch",
    "BatchComparison",
    "Bench",
    "CategoricalProperty",
    "Composition",
    "ContinuousProperty",
    "Correction",
    "Dependence",
    "Fault",
    "Heat",
    "InputError",
    "Ladder",
    "MeltCompatibility",
    "MeltPlan",
    "Method",
    "MethodError",
    "MethodWarning",
    "NotAllowedError",
    "Observation",
    "PlugInError",
    "Quantity",
    "RangeError",
    "Reading",
    "Reagent",
    "Recipe",
    "ReferenceTable",
    "ResinidError",
    "Result",
    "SharedError",
    "SpreadRule",
    "StockMatrix",
    "Suggestion",
    "TableError",
    "Term",
    "TestPlan",
    "UnknownNameError",
    "batch_composition",
    "correct_bath",
    "default_reference",
    "identify",
    "identify_file",
    "identify_table",
    "ladder",
    "load_reference",
    "melt_plan",
    "melt_together",
    "mix_bath",
    "next_tests",
    "observe",
    "parse_liquid",
    "read_batch",
    "read_stock",
    "same_resin",
    "stock_matrix",
]


def __dir__() -> list[str]:
    """Return the public names only."""
    return __all__


def __getattr__(name: str) -> object:
    """Load what needs pandas on first use, so that importing the package stays light."""
    where = {"identify_table": "resinid.tables.frame", "identify_file": "resinid.tables.stream"}.get(name)
    if where is None:
        message = f"module {__name__!r} has no attribute {name!r}"
        raise AttributeError(message)
    return getattr(import_module(where), name)
