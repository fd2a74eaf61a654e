"""Which function reports which answer in a notebook."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from resinid.report.advice_report import advice_report, suggestion_report
from resinid.report.bag_report import (
    batch_report,
    comparison_report,
    compatibility_report,
    composition_report,
    stock_report,
)
from resinid.report.bath_report import correction_report, ladder_report, liquid_report, recipe_report
from resinid.report.lists import reference_report, streamed_report
from resinid.report.markup import card
from resinid.report.piece_report import heat_report, result_report
from resinid.report.plan_report import plan_report

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from resinid.report.sections import Report

__all__ = ["render"]

BY_CLASS: Final[Mapping[str, Callable[[Any], Report]]] = MappingProxyType(
    {
        "Advice": advice_report,
        "Batch": batch_report,
        "BatchComparison": comparison_report,
        "Composition": composition_report,
        "Correction": correction_report,
        "Heat": heat_report,
        "Ladder": ladder_report,
        "Liquid": liquid_report,
        "MeltCompatibility": compatibility_report,
        "MeltPlan": plan_report,
        "Recipe": recipe_report,
        "ReferenceTable": reference_report,
        "Result": result_report,
        "StockMatrix": stock_report,
        "Streamed": streamed_report,
        "Suggestion": suggestion_report,
    }
)


def render(value: object) -> str:
    """Return an answer as HTML, by its class or the nearest one it derives from."""
    name = next(kind.__name__ for kind in type(value).__mro__ if kind.__name__ in BY_CLASS)
    return card(BY_CLASS[name](value))
