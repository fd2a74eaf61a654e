"""How well the tables are sourced that methods bring along."""

from __future__ import annotations

import csv
from collections import Counter
from typing import TYPE_CHECKING

from resinid.methods.registry import folders_of, listed, sources_brought
from resinid.table.coverage import Share, how_seen

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from resinid.methods.contract import Method
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
        counts: Counter[str] = Counter()
        for folder in folders_of(entry.method):
            for path in sorted(folder.glob("*.csv")):
                with path.open(encoding="utf-8-sig", newline="") as file:
                    for row in csv.DictReader(file):
                        if "source" in row and "obtained" in row:
                            counts[how_seen(row["source"].split(), row["obtained"], known)] += 1
        if counts:
            out[entry.method.name] = Share(counts["read"], counts["excerpt"], counts["memory"])
    return out
