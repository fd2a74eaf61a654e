"""What must hold between the table's files."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final, TypeVar

from resinid.errors import Faults, TableError

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

    from resinid.reference.files import Cells
    from resinid.reference.table import ReferenceTable

__all__ = ["check_together"]

_WEIGHT_TOLERANCE: Final = 1e-6
T = TypeVar("T")


def check_together(table: ReferenceTable, lines: Mapping[int, Cells]) -> None:
    """Raise every way in which the parts of a table do not fit.

    Parameters
    ----------
    table : ReferenceTable
    lines : mapping of int to Cells
        By ``id`` of an entry, the line it was read from; entries that are not in it
        were checked before.

    Raises
    ------
    TableError
        A name that is used but not defined, a key that is not unique, or variant
        weights of a resin that do not add up to one.
    """
    check = _Check(lines)
    symbols = set(table.symbols)
    variants = {(v.resin, v.name) for v in table.variants}
    fillers = {c.name for c in table.components}
    check.unique(table.resins, "resin", lambda r: r.symbol)
    check.unique(table.sources, "key", lambda s: s.key)
    check.unique(table.variants, "variant", lambda v: (v.resin, v.name))
    check.unique(table.crystals, "resin", lambda c: c.resin)
    check.unique(table.statements, "condition", lambda s: (s.resin, s.variant, s.property, s.condition, s.source))
    check.unique(table.blends, "first", lambda b: frozenset((b.first, b.second)))
    check.unique(table.limits, "resin", lambda entry: (entry.resin, entry.contaminant, entry.effect))
    check.unique(table.solubilities, "resin", lambda entry: entry.resin)
    check.aliases(table)
    for entries in (
        table.variants,
        table.statements,
        table.components,
        table.crystals,
        table.behaviours,
        table.hazards,
        table.streams,
        table.blends,
        table.limits,
        table.thermals,
        table.solubilities,
    ):
        check.sources(entries, {source.key for source in table.sources})
    for variant in table.variants:
        check.that(variant.resin in symbols, variant, "resin", f"{variant.resin!r} is not in resins.csv")
        check.that(
            not variant.filler or variant.filler in fillers,
            variant,
            "filler",
            f"{variant.filler!r} is not in components.csv; known: {', '.join(sorted(fillers))}",
        )
    for row in table.statements:
        check.that(
            (row.resin, row.variant) in variants,
            row,
            "variant",
            f"{row.variant!r} of {row.resin!r} is not in variants.csv; known: "
            f"{', '.join(name for resin, name in sorted(variants) if resin == row.resin)}",
        )
    for entries in (table.behaviours, table.crystals):
        for entry in entries:
            check.that(entry.resin in symbols, entry, "resin", f"{entry.resin!r} is not in resins.csv")
    for stream in table.streams:
        for name in stream.resins:
            check.that(name in symbols or name == "other", stream, "resins", f"{name!r} is not in resins.csv")
    check.mixing(table)
    for symbol in table.symbols:
        own = [v for v in table.variants if v.resin == symbol]
        total = math.fsum(v.weight for v in own)
        if abs(total - 1.0) > _WEIGHT_TOLERANCE:
            check.faults.add("variants.csv", f"weights of {symbol} add up to {total:g}; they must add up to 1")
    check.faults.check()


class _Check:
    def __init__(self, lines: Mapping[int, Cells]) -> None:
        self.lines = lines
        self.faults = Faults(TableError)

    def that(self, holds: bool, entry: object, column: str, message: str) -> None:  # noqa: FBT001 - it reads as a sentence
        if not holds:
            cells = self.lines.get(id(entry))
            self.faults.add(cells.place(column) if cells else column, message)

    def unique(self, entries: Sequence[T], column: str, key: Callable[[T], object]) -> None:
        seen: set[object] = set()
        for entry in entries:
            value = key(entry)
            self.that(value not in seen, entry, column, f"{value!r} is there already; it must be unique")
            seen.add(value)

    def aliases(self, table: ReferenceTable) -> None:
        seen: set[str] = set()
        for resin in table.resins:
            for word in (resin.symbol, *resin.aliases):
                self.that(word.casefold() not in seen, resin, "aliases", f"{word!r} is another resin's name or alias")
                seen.add(word.casefold())

    def mixing(self, table: ReferenceTable) -> None:
        """Check the names in what the table says of resins melted together and of heating them."""
        symbols = set(table.symbols)
        named: tuple[tuple[Sequence[Any], tuple[str, ...]], ...] = (
            (table.blends, ("first", "second")),
            (table.limits, ("resin", "contaminant")),
            (table.solubilities, ("resin",)),
        )
        for entries, columns in named:
            for entry, column in ((entry, column) for entry in entries for column in columns):
                name = getattr(entry, column)
                known = name in symbols or (column == "second" and name == "any")
                self.that(known, entry, column, f"{name!r} is not in resins.csv")
        for row in table.thermals:
            known = row.subject in symbols or row.property == "heat_transfer_coefficient"
            self.that(known, row, "subject", f"{row.subject!r} is not in resins.csv")

    def sources(self, entries: Sequence[Any], known: set[str]) -> None:
        for entry in entries:
            for key in entry.source.split():
                self.that(key in known, entry, "source", f"{key!r} is not in sources.csv")
            unsourced = getattr(entry, "obtained", "") in {"common practice", "memory"}
            self.that(bool(entry.source) or unsourced, entry, "source", "is empty; name a key of sources.csv")
