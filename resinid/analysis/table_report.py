"""The state of the table as a text of 80 columns or as plain data."""

from __future__ import annotations

import textwrap
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from resinid.analysis.coverage import HAZARD_ONSET, coverage, grade_shares, meltable, scoring_statements
from resinid.analysis.gaps import FLOW, gaps, processes

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from resinid.analysis.coverage import Cell, GradeShare
    from resinid.reference.table import ReferenceTable

__all__ = ["report_data", "report_text", "share_data", "share_lines"]

WIDTH: Final = 80

LETTERS: Final = MappingProxyType(
    {
        "standard": "s",
        "peer-reviewed": "p",
        "handbook": "h",
        "dataset": "o",
        "data sheet": "d",
        "trade table": "t",
        "common practice": "c",
        "memory": "m",
    }
)
"""Letter by which the matrix shows a grade."""

GROUPS: Final = MappingProxyType(
    {
        "At the bench": {
            "rho": "density",
            "Tm": "melting_temperature",
            "Tg": "glass_transition_temperature",
            "Vicat": "vicat_softening_temperature",
            "HDT": "heat_deflection_temperature",
            "E flex": "flexural_modulus",
            "E tens": "tensile_modulus",
            "Sh D": "shore_d",
            "Sh A": "shore_a",
        },
        "In the workshop": {
            "MFR": "melt_flow_rate",
            "IV": "intrinsic_viscosity",
            "melt": "melt_processing_temperature",
            "mould": "mould_temperature",
            "shrink": "mould_shrinkage",
            "dry C": "drying_temperature",
            "dry h": "drying_time",
            "max C": "maximum_melt_temperature",
            "decomp": "decomposition_onset_temperature",
            "hazard": HAZARD_ONSET,
        },
        "Besides": {
            "water": "water_absorption_24h",
            "melt d": "melt_density",
            "solub": "solubility_parameter",
        },
    }
)
"""Columns of the matrix: headings and properties, in groups that fit the width."""


def report_text(reference: ReferenceTable) -> str:
    """Return the coverage matrix, the shares read and the shortfalls as plain text.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> text = report_text(default_reference())
    >>> max(map(len, text.splitlines())) <= 80
    True
    """
    return "\n".join([*_matrix(reference), *_shares(reference), *_flow(reference), *_gaps(reference)])


def _wrapped(text: str, indent: str = "") -> Iterator[str]:
    yield from textwrap.wrap(text, WIDTH, subsequent_indent=indent, break_long_words=True)


def _matrix(reference: ReferenceTable) -> Iterator[str]:
    yield from _wrapped(
        f"{len(reference.resins)} resins, {len(reference.statements)} statements, {len(reference.sources)} sources. "
        "Each cell: "
        "independent publications, then the best grade of what is stated: "
        + ", ".join(f"{letter} {grade}" for grade, letter in LETTERS.items())
        + ". A dot is nothing; 0m is memory alone. Data sheets and tables of one publisher count once."
    )
    cells = coverage(reference)
    for title, columns in GROUPS.items():
        yield f"\n{title}"
        yield "resin   " + "".join(f"{heading:>7}" for heading in columns)
        for symbol in reference.symbols:
            yield f"{symbol:<8}" + "".join(f"{_shown(cells[symbol, name]):>7}" for name in columns.values())


def _shown(cell: Cell) -> str:
    return f"{cell.sources}{LETTERS[cell.best]}" if cell.rows else "."


def _shares(reference: ReferenceTable) -> Iterator[str]:
    yield "\nHow the rows were obtained: the source itself was read; the number was seen in"
    yield "an excerpt or copy of it; neither (memory or common practice)."
    yield f"{'':<36}{'rows':>6}{'read':>8}{'excerpt':>9}{'neither':>9}{'seen':>7}"
    yield from share_lines(grade_shares(reference))


def share_lines(found: Mapping[str, GradeShare]) -> Iterator[str]:
    """Yield a line for each share, under the headings of the report."""
    for name, share in found.items():
        yield f"{name:<36}{share.rows:>6}{share.read:>8}{share.excerpt:>9}{share.unsourced:>9}{share.seen:>7.0%}"


def _flow(reference: ReferenceTable) -> Iterator[str]:
    yield "\nMelt flow rate by how the article was made (* from a publication)"
    for resin in FLOW:
        if resin in reference.symbols:
            stated = processes(reference, resin)
            listed = ", ".join(f"{name}{'*' if published else ''}" for name, published in sorted(stated.items()))
            yield from _wrapped(f"{resin:<8}{listed or 'none'}", " " * 8)


def _gaps(reference: ReferenceTable) -> Iterator[str]:
    found = gaps(reference)
    yield f"\nBelow target: {len(found)}"
    for gap in found:
        yield from _wrapped(str(gap), "  ")


def report_data(reference: ReferenceTable) -> dict[str, Any]:
    """Return the same as JSON types.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> sorted(report_data(default_reference()))
    ['cells', 'digest', 'gaps', 'may_be_melted', 'melt_flow_rate', 'scoring_statements', 'shares', 'sources']
    """
    cells = coverage(reference)
    names = [name for columns in GROUPS.values() for name in columns.values()]
    return {
        "digest": reference.digest,
        "sources": len(reference.sources),
        "scoring_statements": len(scoring_statements(reference)),
        "may_be_melted": list(meltable(reference)),
        "cells": {
            symbol: {
                name: {"sources": cell.sources, "best": cell.best, "rows": cell.rows}
                for name in names
                if (cell := cells[symbol, name]).rows
            }
            for symbol in reference.symbols
        },
        "shares": {name: share_data(share) for name, share in grade_shares(reference).items()},
        "melt_flow_rate": {resin: processes(reference, resin) for resin in FLOW if resin in reference.symbols},
        "gaps": [
            {"resin": gap.resin, "what": gap.what, "wanted": gap.wanted, "found": gap.found} for gap in gaps(reference)
        ],
    }


def share_data(share: GradeShare) -> dict[str, float]:
    """Return a share as JSON types."""
    return {
        "rows": share.rows,
        "read": share.read,
        "excerpt": share.excerpt,
        "unsourced": share.unsourced,
        "seen": round(share.seen, 4),
    }
