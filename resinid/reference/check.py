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


def check_together(reference: ReferenceTable, lines: Mapping[int, Cells]) -> None:
    """Raise every way in which the parts of a table do not fit.

    Parameters
    ----------
    reference : ReferenceTable
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
    symbols = set(reference.symbols)
    variants = {(v.resin, v.name) for v in reference.variants}
    fillers = {c.name for c in reference.components}
    check.unique(reference.resins, "resin", lambda r: r.symbol)
    check.unique(reference.sources, "key", lambda s: s.key)
    check.unique(reference.variants, "variant", lambda v: (v.resin, v.name))
    check.unique(reference.crystals, "resin", lambda c: c.resin)
    check.unique(reference.statements, "condition", lambda s: (s.resin, s.variant, s.property, s.condition, s.source))
    check.unique(reference.blends, "first", lambda b: frozenset((b.first, b.second)))
    check.unique(reference.limits, "resin", lambda entry: (entry.resin, entry.contaminant, entry.effect))
    check.unique(reference.solubilities, "resin", lambda entry: entry.resin)
    check.unique(reference.demand, "resin", lambda entry: entry.resin)
    check.unique(reference.melt_groups, "name", lambda group: group.name)
    check.aliases(reference)
    for entries in (
        reference.variants,
        reference.statements,
        reference.components,
        reference.crystals,
        reference.behaviours,
        reference.hazards,
        reference.streams,
        reference.blends,
        reference.limits,
        reference.thermals,
        reference.solubilities,
        reference.demand,
        reference.melt_groups,
    ):
        check.sources(entries, {source.key for source in reference.sources})
    for variant in reference.variants:
        check.that(variant.resin in symbols, variant, "resin", f"{variant.resin!r} is not in resins.csv")
        check.that(
            not variant.filler or variant.filler in fillers,
            variant,
            "filler",
            f"{variant.filler!r} is not in components.csv; known: {', '.join(sorted(fillers))}",
        )
    for row in reference.statements:
        check.that(
            (row.resin, row.variant) in variants,
            row,
            "variant",
            f"{row.variant!r} of {row.resin!r} is not in variants.csv; known: "
            f"{', '.join(name for resin, name in sorted(variants) if resin == row.resin)}",
        )
    for entries in (reference.behaviours, reference.crystals, reference.demand):
        for entry in entries:
            check.that(entry.resin in symbols, entry, "resin", f"{entry.resin!r} is not in resins.csv")
    for stream in reference.streams:
        for name in stream.resins:
            check.that(name in symbols or name == "other", stream, "resins", f"{name!r} is not in resins.csv")
    check.melt_groups(reference)
    check.mixing(reference)
    for symbol in reference.symbols:
        own = [v for v in reference.variants if v.resin == symbol]
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

    def aliases(self, reference: ReferenceTable) -> None:
        seen: set[str] = set()
        for resin in reference.resins:
            for word in (resin.symbol, *resin.aliases):
                self.that(word.casefold() not in seen, resin, "aliases", f"{word!r} is another resin's name or alias")
                seen.add(word.casefold())

    def melt_groups(self, reference: ReferenceTable) -> None:
        """Check that groups name resins of the table, each in at most one group."""
        group_of: dict[str, str] = {}
        for group in reference.melt_groups:
            taken = group.name in reference.symbols
            self.that(not taken, group, "name", f"{group.name!r} is a resin; give the group another name")
            for name in group.members:
                self.that(name in reference.symbols, group, "members", f"{name!r} is not in resins.csv")
                other = group_of.setdefault(name, group.name)
                self.that(other == group.name, group, "members", f"{name!r} is in the group {other!r} already")

    def mixing(self, reference: ReferenceTable) -> None:
        """Check the names in what the table says of resins melted together and of heating them."""
        symbols = set(reference.symbols)
        named: tuple[tuple[Sequence[Any], tuple[str, ...]], ...] = (
            (reference.blends, ("first", "second")),
            (reference.limits, ("resin", "contaminant")),
            (reference.solubilities, ("resin",)),
        )
        for entries, columns in named:
            for entry, column in ((entry, column) for entry in entries for column in columns):
                name = getattr(entry, column)
                known = name in symbols or (column == "second" and name == "any")
                self.that(known, entry, column, f"{name!r} is not in resins.csv")
        for row in reference.thermals:
            known = row.subject in symbols or row.property == "heat_transfer_coefficient"
            self.that(known, row, "subject", f"{row.subject!r} is not in resins.csv")

    def sources(self, entries: Sequence[Any], known: set[str]) -> None:
        for entry in entries:
            for key in entry.source.split():
                self.that(key in known, entry, "source", f"{key!r} is not in sources.csv")
            unsourced = getattr(entry, "obtained", "") in {"common practice", "memory"}
            self.that(bool(entry.source) or unsourced, entry, "source", "is empty; name a key of sources.csv")
