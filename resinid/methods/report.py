"""How well the tables are sourced that methods bring along."""

from __future__ import annotations

import csv
import warnings
from collections import Counter
from typing import TYPE_CHECKING

from resinid.errors import MethodWarning
from resinid.methods.registry import BUILT_IN, folders_of, listed, sources_brought
from resinid.table.coverage import Share, how_seen

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from pathlib import Path

    from resinid.methods.contract import Method
    from resinid.table.entries import Source
    from resinid.table.table import Table

__all__ = ["shares_brought"]


def shares_brought(table: Table, extra: Iterable[Method] = ()) -> Mapping[str, Share]:
    """Return how the rows that each method brings along were obtained.

    Parameters
    ----------
    table : Table
        Whose sources the rows may name as well.
    extra : iterable of Method, optional
        Methods to use besides the installed ones.

    Returns
    -------
    mapping of str to Share
        By the method's name; methods without tables of their own are left out.

    Examples
    --------
    >>> from resinid.table.table import default_table
    >>> shares_brought(default_table())["solvents"].seen > 0.9
    True
    """
    extra = tuple(extra)
    known = {source.key: source for source in (*table.sources, *sources_brought(extra))}
    out: dict[str, Share] = {}
    for entry in listed(extra):
        try:
            counts = _counts(folders_of(entry.method), known)
        except (ValueError, LookupError, AttributeError, csv.Error, OSError) as error:
            if entry.origin == BUILT_IN:
                raise
            what = f"tables of method {entry.method.name!r} ({entry.origin}) were left out: {error}"
            warnings.warn(what, MethodWarning, stacklevel=2)
            continue
        if counts:
            out[entry.method.name] = Share(counts["read"], counts["excerpt"], counts["memory"])
    return out


def _counts(folders: Iterable[Path], known: dict[str, Source]) -> Counter[str]:
    counts: Counter[str] = Counter()
    for folder in folders:
        for path in sorted(folder.glob("*.csv")):
            with path.open(encoding="utf-8-sig", newline="") as file:
                for row in csv.DictReader(file):
                    if "source" in row and "obtained" in row:
                        counts[how_seen(row["source"].split(), row["obtained"], known)] += 1
    return counts
