"""What stands behind each cell of the table: how many independent sources, and of what grade."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, Protocol

from resinid.quantities import ASPECTS, PROPERTIES
from resinid.reference.entries import GRADES
from resinid.reference.mixture import mixture
from resinid.reference.rules import RULES, UNSOURCED

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.reference.entries import Source, Statement
    from resinid.reference.table import ReferenceTable

__all__ = [
    "HAZARD_ONSET",
    "Cell",
    "GradeShare",
    "coverage",
    "grade_shares",
    "how_seen",
    "meltable",
    "scoring_statements",
]

HAZARD_ONSET: Final = "hazard_onset"
"""Column of the onsets in hazards.csv, beside the properties."""

WORKS: Final = frozenset({"standard", "peer-reviewed"})
"""Kinds of source of which each is a work of its own, whoever published it."""


class _Sourced(Protocol):
    """A row of the table that says where it is from, and how that was obtained."""

    @property
    def source(self) -> str: ...

    @property
    def obtained(self) -> str: ...


@dataclass(frozen=True, slots=True)
class Cell:
    """What the table holds of one property of one resin.

    Parameters
    ----------
    publishers : frozenset of str
        Independent publications. Data sheets and tables of one publisher count
        once; memory and common practice count for nothing.
    best : str
        Best grade of statement, ``"memory"`` where that is all there is, empty
        where there is nothing.
    rows : int
        Statements.
    """

    publishers: frozenset[str]
    best: str
    rows: int

    @property
    def sources(self) -> int:
        """How many independent publications there are."""
        return len(self.publishers)

    def joined(self, other: Cell) -> Cell:
        """Return the cell of both together.

        Examples
        --------
        >>> Cell(frozenset({"a"}), "handbook", 2).joined(Cell(frozenset({"a", "b"}), "standard", 3)).sources
        2
        """
        best = min((grade for grade in (self.best, other.best) if grade), key=GRADES.index, default="")
        return Cell(self.publishers | other.publishers, best, self.rows + other.rows)


@dataclass(frozen=True, slots=True)
class GradeShare:
    """How some rows were obtained.

    Parameters
    ----------
    read, excerpt, unsourced : int
        Rows whose source was read itself; whose number was seen in an excerpt or a
        copy of it; that come from memory or common practice.
    """

    read: int
    excerpt: int
    unsourced: int

    @property
    def rows(self) -> int:
        """How many rows there are."""
        return self.read + self.excerpt + self.unsourced

    @property
    def seen(self) -> float:
        """Share of rows whose number was seen in print rather than remembered, 1 where there are none."""
        return 1.0 - self.unsourced / self.rows if self.rows else 1.0


def coverage(reference: ReferenceTable) -> dict[tuple[str, str], Cell]:
    """Return the cell of every resin and property, and of :data:`HAZARD_ONSET`.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> coverage(default_reference())["PE-HD", "density"].best
    'standard'
    """
    known = {source.key: source for source in reference.sources}
    found: dict[tuple[str, str], list[_Sourced]] = defaultdict(list)
    for row in reference.statements:
        found[row.resin, row.property].append(row)
    for hazard in reference.hazards:
        if hazard.onset is not None:
            found[hazard.applies_to, HAZARD_ONSET].append(hazard)
    return {
        (symbol, name): _cell(found[symbol, name], known)
        for symbol in reference.symbols
        for name in (*PROPERTIES, HAZARD_ONSET)
    }


def _cell(rows: list[_Sourced], known: dict[str, Source]) -> Cell:
    publishers: set[str] = set()
    for row in rows:
        if row.obtained not in UNSOURCED:
            publishers.update(_publisher(known[key]) for key in row.source.split())
    best = min((row.obtained for row in rows), key=GRADES.index, default="")
    return Cell(frozenset(publishers), best, len(rows))


def _publisher(source: Source) -> str:
    """Return what tells publishers apart: a key's first part, save where each work stands for itself."""
    return source.key if source.kind in WORKS else source.key.partition("-")[0]


def meltable(reference: ReferenceTable) -> tuple[str, ...]:
    """Return the resins that hazards.csv does not forbid to heat; one without any hazard is forbidden."""
    bars: dict[str, list[str]] = defaultdict(list)
    for hazard in reference.hazards:
        bars[hazard.applies_to].append(hazard.bar)
    return tuple(symbol for symbol in reference.symbols if bars[symbol] and "yes" not in bars[symbol])


def scoring_statements(reference: ReferenceTable) -> tuple[Statement, ...]:
    """Return the statements that are part of some distribution, and so can change an answer."""
    used = {
        id(normal.statement)
        for variant in reference.variants
        for name in RULES
        for normal in mixture(reference, variant, name).normals
    }
    return tuple(row for row in reference.statements if id(row) in used)


def grade_shares(reference: ReferenceTable) -> MappingProxyType[str, GradeShare]:
    """Return how the rows were obtained: by property, and of the parts that scoring and safety rest on.

    Returns
    -------
    mapping of str to Share
        Keys are the properties; ``"scoring statements"`` and ``"scoring behaviour"``,
        which together make ``"scoring"``; ``"behaviour"`` of all aspects;
        ``"hazards"``; and every other file by its name.
    """
    known = {source.key: source for source in reference.sources}
    scoring = scoring_statements(reference)
    parts: dict[str, Iterable[Statement]] = {
        name: [row for row in reference.statements if row.property == name] for name in PROPERTIES
    }
    out = {name: _share(rows, known) for name, rows in parts.items()}
    out["scoring statements"] = _share(scoring, known)
    seen_by_a_test = [row for row in reference.behaviours if row.aspect in ASPECTS]
    out["scoring behaviour"] = _share(seen_by_a_test, known)
    out["scoring"] = _share((*scoring, *seen_by_a_test), known)
    out["behaviour"] = _share(reference.behaviours, known)
    out["hazards"] = _share(reference.hazards, known)
    files: dict[str, Iterable[_Sourced]] = {
        "variants": reference.variants,
        "components": reference.components,
        "crystallinity": reference.crystals,
        "blends": reference.blends,
        "contamination limits": reference.limits,
        "thermal": reference.thermals,
        "solubility": reference.solubilities,
        "demand": reference.demand,
        "melt groups": reference.melt_groups,
    }
    out.update({name: _share(rows, known) for name, rows in files.items()})
    return MappingProxyType(out)


def _share(rows: Iterable[_Sourced], known: dict[str, Source]) -> GradeShare:
    counts = {"read": 0, "excerpt": 0, "memory": 0}
    for row in rows:
        counts[how_seen(row.source.split(), row.obtained, known)] += 1
    return GradeShare(counts["read"], counts["excerpt"], counts["memory"])


def how_seen(keys: list[str], obtained: str, known: dict[str, Source]) -> str:
    """Return the least doubtful way in which a row's sources were seen."""
    if obtained in UNSOURCED or not keys:
        return "memory"
    return min((known[key].read for key in keys), key=("read", "excerpt", "memory").index)
