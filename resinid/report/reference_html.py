"""A reference table, and what became of a whole file, in a few lines of HTML for a notebook."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from resinid.report.markup import card, grid, line

if TYPE_CHECKING:
    from resinid.reference.table import ReferenceTable
    from resinid.tables.stream import Streamed

__all__ = ["reference_table_html", "streamed_html"]


def reference_table_html(reference: ReferenceTable) -> str:
    """Return what a reference table holds for a notebook."""
    rows = Counter(statement.resin for statement in reference.statements)
    variants = Counter(variant.resin for variant in reference.variants)
    return card(
        "Reference table",
        line(
            f"{len(reference.resins)} resins, {len(reference.statements)} statements, {len(reference.sources)} sources",
            class_="name",
        ),
        grid(
            "Resins",
            ("resin", "name", "group", "kind", "variants", "statements"),
            [
                (r.symbol, r.name, r.group, r.kind, f"{variants[r.symbol]}", f"{rows[r.symbol]}")
                for r in reference.resins
            ],
            numbers=(4, 5),
        ),
        line(f"table {reference.digest}", class_="soft"),
    )


def streamed_html(found: Streamed) -> str:
    """Return what became of a file's rows for a notebook."""
    return card(
        "Rows of a file",
        line(f"{found.rows} rows read", class_="name"),
        line(f"{found.faulty} could not be used: their column error says why. {found.kept} were finished earlier."),
        line(f"Columns not used: {', '.join(found.unused)}") if found.unused else None,
    )
