"""What a piece is marked, by resin: the right marks, and a chance of a wrong or misleading one.

A marked piece carries with the chance ``1 - MISLEADING`` one of the marks that are right for
its resin (``marks.csv``), else any mark, as often as that mark is met with, and a little
of every mark. An unmarked piece is no evidence: marks are as often lacking for every
resin, as far as is published.
"""

from __future__ import annotations

import functools
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import Faults, TableError
from resinid.methods.marking.letters import ADDITIONS, SPLIT
from resinid.methods.marking.symbols import ANOTHER, CODES, SYMBOLS, UNMARKED
from resinid.reference.entries import GRADES
from resinid.reference.files import read_csv
from resinid.reference.line import Line
from resinid.scoring.latents import Latent
from resinid.scoring.prior import prior_of
from resinid.scoring.properties import Dependence

if TYPE_CHECKING:
    from resinid.arrays import Array
    from resinid.methods.marking.mark import Mark
    from resinid.reference.entries import Variant
    from resinid.reference.table import ReferenceTable

__all__ = ["MARKING", "MISLEADING", "NAMES", "UNMARKED_SHARE", "Marking", "nodes_of"]

FOLDER: Final = Path(__file__).parent

NAMES: Final = (UNMARKED, *CODES, *SYMBOLS, ANOTHER)
"""All that a mark may name, each told apart by what it adds."""

MISLEADING: Final = 0.07
"""Chance that a marked piece carries a wrong or misleading mark: a tray marked on its lid, a
mould cut for another resin, a label, a part of several resins. No study with a figure was
found (two trade associations complain in 2010 of more and more bottles wrongly marked 1); a
cautious choice, with which no mark alone, in scrap as the default prior has it, brings the
resins that must not be heated below one per cent."""

UNMARKED_SHARE: Final = 0.9
"""Share without a legible mark of the pieces asked about (common practice, no source); the same for every
resin, so it changes no answer, only what looking for a mark is expected to tell."""

EVEN: Final = 0.1
"""Share of misleading marks that are spread evenly over all names."""

STATES_FILLER: Final = 0.75
"""Chance that the mark of a filled or flame-retarded piece says so (common practice, no source)."""

STATES_NONE: Final = 0.97
"""Chance that the mark of a piece that is not filled states no filler (common practice, no source)."""

PIGMENTS: Final = frozenset({"", "gas", "titanium dioxide", "carbon black", "zinc oxide"})
"""What fills a variant but is not marked."""

KINDS: Final = {"E-glass": "glass", "talc": "mineral", "calcium carbonate": "mineral"}

COLUMNS: Final = ("resin", "mark", "share", "source", "locator", "obtained", "note")


@dataclass(frozen=True, slots=True)
class Marking:
    """What is known of marks; see the module."""

    name: str = "mark"
    folder: Path = FOLDER
    depends: tuple[Dependence, ...] = (
        Dependence("article", 0.2, "codes are met with on packaging, symbols on technical parts (common practice)"),
    )

    def latent(self, reference: ReferenceTable) -> Latent:
        """Return the chance of each mark for each variant; a mark for each name and addition."""
        right = {resin: shares for resin, (shares, _) in _right().items()}
        misleading = _misleading(reference, right)
        none_added = _added("", 0.0, 0.0, flame=False)
        unlisted = 0.3 * misleading
        unlisted[[NAMES.index("7"), NAMES.index(ANOTHER)]] += 0.35
        rows = []
        for variant in reference.variants:
            if variant.resin not in right:
                rows.append(_row(np.outer(unlisted, none_added)))
                continue
            own = np.outer(right[variant.resin], _added_of(variant))
            rows.append(_row((1 - MISLEADING) * own + MISLEADING * np.outer(misleading, none_added)))
        rows.append(_row(np.outer(unlisted, none_added)))
        mass, values = np.array(rows), np.arange(len(NAMES) * len(ADDITIONS), dtype=np.float64)
        mass.flags.writeable = values.flags.writeable = False
        return Latent(
            self.name,
            values,
            mass,
            tuple(variant.resin in right for variant in reference.variants),
            tuple(_right().get(variant.resin, (None, frozenset[str]()))[1] for variant in reference.variants),
        )


MARKING: Final = Marking()


def nodes_of(mark: Mark) -> Array:
    """Return one at each node that a mark may be, else zero, shape (names times additions,)."""
    names = np.isin(NAMES, mark.names).astype(np.float64)
    out: Array = np.outer(names, np.isin(ADDITIONS, mark.additions).astype(np.float64)).ravel()
    return out


def _row(marked: Array) -> Array:
    out: Array = (1 - UNMARKED_SHARE) * marked.ravel() / marked.sum()
    out[: len(ADDITIONS)] += UNMARKED_SHARE / len(ADDITIONS)
    return out


def _misleading(reference: ReferenceTable, right: dict[str, Array]) -> Array:
    """Return how often each name is met with on a piece that it is wrong for."""
    prior = prior_of(reference, "default")
    met: Array = np.zeros(len(NAMES))
    for resin, share in zip(reference.symbols, prior.tolist(), strict=False):
        met += share * right.get(resin, 0.0)
    even = np.full(len(NAMES), 1.0 / (len(NAMES) - 1))
    even[0] = 0.0
    total = float(met.sum())
    out: Array = (1 - EVEN) * met / total + EVEN * even if total else even
    return out


def _added_of(variant: Variant) -> Array:
    flame = variant.filler == "" and "flame-retarded" in variant.name
    unnamed = variant.filler == "" and "filled" in variant.name
    if not (flame or unnamed) and variant.filler in PIGMENTS:
        return _added("", 0.0, 0.0, flame=False)
    low, high = variant.load_low or 0.0, variant.load_high or 2 * SPLIT
    return _added(KINDS.get(variant.filler, "other"), low, high, flame=flame)


def _added(kind: str, low: float, high: float, *, flame: bool) -> Array:
    """Return the chance of each addition in the mark of a piece with a filler of that kind and load [mass %]."""
    out = np.zeros(len(ADDITIONS))
    stated = STATES_NONE if not (kind or flame) else STATES_FILLER
    if flame:
        out[ADDITIONS.index("flame retardant")] = stated
    elif kind:
        light = min(max((SPLIT - low) / (high - low), 0.0), 1.0) if high > low else float(low < SPLIT)
        out[ADDITIONS.index(f"{kind} low")] = stated * light
        out[ADDITIONS.index(f"{kind} high")] = stated * (1 - light)
    else:
        out[0] = stated
    rest = 1.0 - stated
    # A filled piece whose mark does not say so is mostly marked with the plastic alone.
    bare = 0.8 if (kind or flame) else 0.0
    out[0] += rest * bare
    out += rest * (1 - bare) / out.size
    return out


@functools.cache
def _right() -> dict[str, tuple[Array, frozenset[str]]]:
    """Return for each resin of ``marks.csv`` the share of each name among its right marks, and the sources."""
    faults = Faults(TableError)
    shares: dict[str, Array] = {}
    sources: dict[str, set[str]] = {}
    for cells in read_csv(FOLDER / "marks.csv", COLUMNS):
        line = Line(cells, faults)
        resin, mark = line.text("resin", needed=True), line.one_of("mark", NAMES[1:])
        line.one_of("obtained", GRADES)
        if mark in NAMES:
            shares.setdefault(resin, np.zeros(len(NAMES)))[NAMES.index(mark)] += line.needed("share", 0, 1)
        sources.setdefault(resin, set()).update(line.text("source").split())
    faults.check()
    return {resin: (found / found.sum(), frozenset(sources[resin])) for resin, found in shares.items()}
