"""Rank which resin an unmarked piece of scrap plastic is, from readings taken at the bench."""

from importlib import import_module

from resinid.version import __version__

TYPE_CHECKING = False

if TYPE_CHECKING:
    from resinid import plot, testing
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
        TableWarning,
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
    from resinid.record.record import Record
    from resinid.reference.rules import SpreadRule
    from resinid.reference.table import ReferenceTable, default_reference, load_reference
    from resinid.scoring.grid import Axis
    from resinid.scoring.properties import CategoricalProperty, ContinuousProperty, Dependence
    from resinid.scoring.term import SharedError, Term
    from resinid.tables.answer import RankedTable
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
    "RankedTable",
    "Reading",
    "Reagent",
    "Recipe",
    "Record",
    "ReferenceTable",
    "ResinidError",
    "Result",
    "SharedError",
    "SpreadRule",
    "StockMatrix",
    "Suggestion",
    "TableError",
    "TableWarning",
    "Term",
    "TestPlan",
    "UnknownNameError",
    "__version__",
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
    "plot",
    "read_batch",
    "read_stock",
    "same_resin",
    "stock_matrix",
    "testing",
]

_WHERE = {
    "Advice": "resinid.planning.advice",
    "Axis": "resinid.scoring.grid",
    "Batch": "resinid.batches.bag",
    "BatchComparison": "resinid.batches.comparison",
    "Bench": "resinid.methods.bench",
    "CategoricalProperty": "resinid.scoring.properties",
    "Composition": "resinid.batches.composition",
    "ContinuousProperty": "resinid.scoring.properties",
    "Correction": "resinid.planning.recipes",
    "Dependence": "resinid.scoring.properties",
    "Fault": "resinid.errors",
    "Heat": "resinid.heating.verdict",
    "InputError": "resinid.errors",
    "Ladder": "resinid.planning.ladder",
    "MeltCompatibility": "resinid.batches.compatibility",
    "MeltPlan": "resinid.melting.steps",
    "Method": "resinid.methods.contract",
    "MethodError": "resinid.errors",
    "MethodWarning": "resinid.errors",
    "NotAllowedError": "resinid.errors",
    "Observation": "resinid.methods.contract",
    "PlugInError": "resinid.errors",
    "Quantity": "resinid.quantities",
    "RangeError": "resinid.errors",
    "RankedTable": "resinid.tables.answer",
    "Reading": "resinid.io.reading",
    "Reagent": "resinid.planning.recipes",
    "Recipe": "resinid.planning.recipes",
    "Record": "resinid.record.record",
    "ReferenceTable": "resinid.reference.table",
    "ResinidError": "resinid.errors",
    "Result": "resinid.identification.result",
    "SharedError": "resinid.scoring.term",
    "SpreadRule": "resinid.reference.rules",
    "StockMatrix": "resinid.batches.stock",
    "Suggestion": "resinid.planning.advice",
    "TableError": "resinid.errors",
    "TableWarning": "resinid.errors",
    "Term": "resinid.scoring.term",
    "TestPlan": "resinid.methods.test_plan",
    "UnknownNameError": "resinid.errors",
    "batch_composition": "resinid.batches.composition",
    "correct_bath": "resinid.planning.recipes",
    "default_reference": "resinid.reference.table",
    "identify": "resinid.identification.identify",
    "identify_file": "resinid.tables.stream",
    "identify_table": "resinid.tables.frame",
    "ladder": "resinid.planning.ladder",
    "load_reference": "resinid.reference.table",
    "melt_plan": "resinid.melting.plan",
    "melt_together": "resinid.batches.compatibility",
    "mix_bath": "resinid.planning.recipes",
    "next_tests": "resinid.planning.next_test",
    "observe": "resinid.identification.identify",
    "parse_liquid": "resinid.io.liquid_parser",
    "read_batch": "resinid.batches.bag",
    "read_stock": "resinid.batches.stock",
    "same_resin": "resinid.batches.comparison",
    "stock_matrix": "resinid.batches.stock",
}
"""Where the public names are, each loaded when it is first used."""


_MODULES = frozenset({"plot", "testing"})
"""Modules that are found without being imported by name."""


def __dir__() -> list[str]:
    """Return the public names only."""
    return __all__


if not TYPE_CHECKING:  # so that a type checker refuses a misspelt name

    def __getattr__(name: str) -> object:
        """Load on first use what :data:`_WHERE` names, so that importing the package stays light."""
        if name in _MODULES:
            return import_module(f"{__name__}.{name}")
        if name not in _WHERE:
            message = f"module {__name__!r} has no attribute {name!r}"
            raise AttributeError(message)
        return getattr(import_module(_WHERE[name]), name)
