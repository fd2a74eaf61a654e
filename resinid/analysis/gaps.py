"""Where the table falls short of what it is meant to hold."""

from __future__ import annotations

import functools
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from resinid.analysis.coverage import HAZARD_ONSET, Cell, coverage, grade_shares, meltable
from resinid.reference.rules import UNSOURCED

if TYPE_CHECKING:
    from collections.abc import Iterator

    from resinid.reference.table import ReferenceTable

__all__ = ["Gap", "gaps", "processes"]

SOFTENING: Final = ("melting_temperature", "glass_transition_temperature", "vicat_softening_temperature")
STIFFNESS: Final = ("flexural_modulus", "tensile_modulus")
LIMIT: Final = ("maximum_melt_temperature", "decomposition_onset_temperature", HAZARD_ONSET)

MELTABLE: Final[dict[str, tuple[str, ...]]] = {
    "processing window": ("melt_processing_temperature",),
    "drying": ("drying_temperature", "drying_time"),
    "shrinkage": ("mould_shrinkage",),
    "decomposition, maximum or hazard onset": LIMIT,
}
"""What is wanted of every resin that may be melted, from one source at least."""

FLOW: Final = ("PE-HD", "PE-LD", "PE-LLD", "PP", "PS", "PET", "ABS", "PLA")
"""Resins a workshop meets, for which the melt flow rate is wanted by how the article was made."""

SCORING_SEEN: Final = 0.9
"""Share of the rows that affect scoring that should have been seen in print."""


@dataclass(frozen=True, slots=True)
class Gap:
    """One shortfall.

    Parameters
    ----------
    resin : str
        Symbol, or ``"all"``.
    what : str
        What is wanted of it.
    wanted, found : str
        How much of it, in words.
    """

    resin: str
    what: str
    wanted: str
    found: str

    def __str__(self) -> str:
        """Return the shortfall in one line."""
        return f"{self.resin}: {self.what}: wanted {self.wanted}; found {self.found}"


def gaps(reference: ReferenceTable) -> tuple[Gap, ...]:
    """Return every shortfall, by resin in table order; those of the whole table come last.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> any(gap.what == "density" and gap.resin == "PE-HD" for gap in gaps(default_reference()))
    False
    """
    return (*_cells(reference), *_flow(reference), *_shares(reference))


def _cells(reference: ReferenceTable) -> Iterator[Gap]:
    cells = coverage(reference)
    softens = {variant.resin for variant in reference.variants if variant.softens != "never"}
    may_melt = set(meltable(reference))
    for symbol in reference.symbols:
        targets = {"density": (("density",), 2), "stiffness": (STIFFNESS, 1)}
        if symbol in softens:
            targets["softening or melting"] = (SOFTENING, 1)
        if symbol in may_melt:
            targets |= {what: (names, 1) for what, names in MELTABLE.items()}
        for what, (names, wanted) in targets.items():
            cell = functools.reduce(Cell.joined, (cells[symbol, name] for name in names))
            if cell.sources < wanted:
                yield Gap(symbol, what, f"{wanted} independent", f"{cell.sources}, best {cell.best or 'nothing'}")


def processes(reference: ReferenceTable, resin: str) -> dict[str, bool]:
    """Return the processes for which a resin's melt flow rate is stated, and whether a publication says so.

    The condition of such a statement reads ``temperature/load; process``. Polyesters
    are graded by intrinsic viscosity instead, whose condition begins with the process.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> "injection moulding" in processes(default_reference(), "PP")
    True
    """
    found: dict[str, bool] = {}
    for row in reference.statements:
        if row.resin != resin:
            continue
        if row.property == "melt_flow_rate" and ";" in row.condition:
            process = row.condition.partition(";")[2].strip()
        elif row.property == "intrinsic_viscosity":
            process = row.condition.partition(";")[0].strip()
        else:
            continue
        if process:
            found[process] = found.get(process, False) or row.obtained not in UNSOURCED
    return found


def _flow(reference: ReferenceTable) -> Iterator[Gap]:
    for resin in FLOW:
        if resin in reference.symbols:
            stated = processes(reference, resin)
            if not any(stated.values()):
                found = f"{', '.join(sorted(stated))} from memory only" if stated else "none"
                yield Gap(resin, "melt flow rate by process", "1 process from a publication", found)


def _shares(reference: ReferenceTable) -> Iterator[Gap]:
    found = grade_shares(reference)
    for part in ("scoring statements", "scoring behaviour", "scoring", "hazards"):
        share = found[part]
        wanted = 1.0 if part == "hazards" else SCORING_SEEN
        if share.seen < wanted:
            words = "all, or cautious and marked so" if part == "hazards" else f"{wanted:.0%}"
            yield Gap("all", f"{part} seen in print", words, f"{share.seen:.0%} of {share.rows} rows")
