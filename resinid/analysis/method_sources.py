"""How well the tables are sourced that methods bring along."""

from __future__ import annotations

import csv
import sys
import warnings
from collections import Counter
from pathlib import Path
from typing import TYPE_CHECKING

from resinid.analysis.coverage import GradeShare, how_seen
from resinid.errors import MethodWarning, TableError
from resinid.methods.registry import BUILT_IN, listed, observes
from resinid.reference.method_rows import sources_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from resinid.methods.contract import Method
    from resinid.reference.entries import Source
    from resinid.reference.table import ReferenceTable

__all__ = ["shares_brought", "sources_brought"]


def sources_brought(extra: Iterable[Method] = ()) -> tuple[Source, ...]:
    """Return the sources in the tables that methods bring along, each key once; a plug-in's faulty file is left out."""
    found: dict[str, Source] = {}
    for entry in listed(extra):
        for folder in folders_of(entry.method):
            try:
                found |= {source.key: source for source in sources_of(folder)}
            except TableError as error:
                if entry.origin == BUILT_IN:
                    raise
                what = f"sources of method {entry.method.name!r} ({entry.origin}) were left out: {error}"
                warnings.warn(what, MethodWarning, stacklevel=2)
    return tuple(found.values())


def folders_of(method: Method) -> tuple[Path, ...]:
    """Return the folders in which a method may have tables: those it names, and those of its tests' modules."""
    named = [f for test in method.tests if isinstance(f := getattr(observes(test), "folder", None), Path)]
    files = [getattr(sys.modules.get(test.__module__), "__file__", None) for test in method.tests]
    return tuple(dict.fromkeys([*named, *(Path(file).parent for file in files if file)]))


def shares_brought(reference: ReferenceTable, extra: Iterable[Method] = ()) -> Mapping[str, GradeShare]:
    """Return how the rows that each method brings along were obtained.

    Parameters
    ----------
    reference : ReferenceTable
        Whose sources the rows may name as well.
    extra : iterable of Method, optional
        Methods to use besides the installed ones.

    Returns
    -------
    mapping of str to Share
        By the method's name; methods without tables of their own are left out.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> shares_brought(default_reference())["solvents"].seen > 0.9
    True
    """
    extra = tuple(extra)
    known = {source.key: source for source in (*reference.sources, *sources_brought(extra))}
    out: dict[str, GradeShare] = {}
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
            out[entry.method.name] = GradeShare(counts["read"], counts["excerpt"], counts["memory"])
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
