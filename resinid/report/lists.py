"""Reference tables, sources, methods and what became of a file: as parts of a report."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

from resinid.io.fields import field_rules, options_of
from resinid.report.sections import Line, Report, Table
from resinid.report.text import wrapped

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.methods.contract import Observation
    from resinid.methods.registry import Listed
    from resinid.reference.entries import Source
    from resinid.reference.table import ReferenceTable
    from resinid.tables.stream import Streamed

__all__ = ["methods_text", "reference_report", "sources_text", "streamed_report", "words_of"]


def reference_report(reference: ReferenceTable) -> Report:
    """Return what a reference table holds."""
    statements = Counter(statement.resin for statement in reference.statements)
    variants = Counter(variant.resin for variant in reference.variants)
    counts = f"{len(reference.resins)} resins, {len(reference.statements)} statements, {len(reference.sources)} sources"
    rows = [
        (r.symbol, r.name, r.group, r.kind, f"{variants[r.symbol]}", f"{statements[r.symbol]}")
        for r in reference.resins
    ]
    head = ("resin", "name", "group", "kind", "variants", "statements")
    return Report(
        "Reference table",
        (
            Line(counts, kind="name"),
            Table("Resins", head, rows, (4, 5)),
            Line(f"table {reference.digest}", kind="soft"),
        ),
    )


def streamed_report(found: Streamed) -> Report:
    """Return what became of a file's rows."""
    used = f"{found.faulty} could not be used: their column error says why. {found.kept} were finished earlier."
    unused = Line(f"Columns not used: {', '.join(found.unused)}") if found.unused else None
    return Report("Rows of a file", (Line(f"{found.rows} rows read", kind="name"), Line(used), unused))


def words_of(test: type[Observation]) -> dict[str, tuple[str, ...]]:
    """Return the words that each field of a test chooses from; fields that are read otherwise are left out.

    Examples
    --------
    >>> from resinid.methods.float_test.method import FloatTest
    >>> words_of(FloatTest)
    {'outcome': ('floats', 'hovers', 'sinks')}
    """
    return {name: words for name, rule in field_rules(test).items() if (words := options_of(rule))}


def methods_text(found: Iterable[Listed]) -> str:
    """Return the list of methods."""
    parts: list[str] = []
    for entry in found:
        method = entry.method
        lines = [f"{method.name} {method.version} ({entry.origin})", wrapped(method.summary, "  ", "  ")]
        lines.append(wrapped("tests: " + ", ".join(test.test for test in method.tests), "  ", "    "))
        for test in method.tests:
            for name, words in words_of(test).items():
                said = f"{test.test}, {name}: {', '.join(words)}"
                lines.append(wrapped(said, "    ", "      "))  # for the words are copied from here
        if method.caution:
            lines.append(wrapped(f"caution: {method.caution}", "  ", "    "))
        lines.append(wrapped("sources: " + "; ".join(method.sources), "  ", "    "))
        parts.append("\n".join(lines))
    return "\n\n".join(parts)


def sources_text(sources: Iterable[Source]) -> str:
    """Return the list of sources."""
    return "\n".join(
        wrapped(f"{s.key} [{s.kind}, {s.read}] {s.citation}{f' {s.url}' if s.url else ''}", "", "    ") for s in sources
    )
