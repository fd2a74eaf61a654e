"""Which function renders which answer in a notebook."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from resinid.report.bag_html import (
    batch_comparison_html,
    batch_html,
    composition_html,
    melt_compatibility_html,
    stock_html,
)
from resinid.report.bath_html import correction_html, ladder_html, liquid_html, recipe_html
from resinid.report.piece_html import advice_html, heat_html, result_html, suggestion_html
from resinid.report.plan_html import melt_plan_html
from resinid.report.reference_html import reference_table_html, streamed_html

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

__all__ = ["render"]

BY_CLASS: Final[Mapping[str, Callable[[Any], str]]] = MappingProxyType(
    {
        "Advice": advice_html,
        "Batch": batch_html,
        "Composition": composition_html,
        "Correction": correction_html,
        "Heat": heat_html,
        "Ladder": ladder_html,
        "Liquid": liquid_html,
        "MeltPlan": melt_plan_html,
        "Recipe": recipe_html,
        "Result": result_html,
        "BatchComparison": batch_comparison_html,
        "StockMatrix": stock_html,
        "Streamed": streamed_html,
        "Suggestion": suggestion_html,
        "ReferenceTable": reference_table_html,
        "MeltCompatibility": melt_compatibility_html,
    }
)


def render(value: object) -> str:
    """Return an answer as HTML, by its class or the nearest one it derives from."""
    name = next(kind.__name__ for kind in type(value).__mro__ if kind.__name__ in BY_CLASS)
    return BY_CLASS[name](value)
