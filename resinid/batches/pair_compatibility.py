"""How two molten resins get on: a cited pair table, and an estimate where no pair is published.

A rating becomes chances of three outcomes at a large share of the lesser resin (:data:`CHANCES`);
the grade of its source moves them towards even chances (:data:`DOUBTED`). Where no pair is
published, solubility parameters give the Flory-Huggins parameter

    chi = V (d1 - d2)^2 / (R T),   critical  chi_c = (N1^-1/2 + N2^-1/2)^2 / 2

(Flory 1953; van Krevelen; from memory). The pair counts as one melt where chi < chi_c, as
usable where chi < 10 chi_c, else as delaminating, the difference of the parameters being
normal about that of the table. chi is never negative here, so pairs helped by specific
interactions are missed: an estimate errs towards "will delaminate".
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from scipy.special import ndtr

from resinid.reference.rules import DOUBT

if TYPE_CHECKING:
    from resinid.reference.entries import Blend
    from resinid.reference.table import ReferenceTable

__all__ = ["CHANCES", "Pair", "critical_difference", "pair_of"]

CHANCES: Final = MappingProxyType(
    {
        "miscible": (0.90, 0.08, 0.02),
        "compatible": (0.70, 0.25, 0.05),
        "limited": (0.10, 0.65, 0.25),
        "incompatible": (0.01, 0.14, 0.85),
        "dangerous": (0.00, 0.05, 0.95),
    }
)
"""Chances of one melt, usable with limits, will delaminate at a large share, by rating (this
project's choice: a rating is right about nine times in ten, and errs to its neighbours)."""

DOUBTED: Final = 0.25
"""Weight of even chances for a rating from memory; other grades have their share of it by
:data:`resinid.reference.rules.DOUBT` (this project's choice)."""

TEMPERATURE: Final = 473.15
"""[K] At which an estimate is made, about that of a workshop's melt."""

VOLUME: Final = 1e-4
"""[m3/mol] Reference volume, the usual 100 cm3/mol."""

SEGMENTS: Final = 1000.0
"""Reference volumes in a chain of a moulding resin (order of magnitude; from memory)."""

UNSURE: Final = 0.8
"""[MPa^0.5] Standard deviation of a recalled solubility parameter; published ones have half (this
project's choice; tables differ by about this much)."""

USABLE: Final = 10.0
"""Times the critical chi up to which an estimate counts as usable (this project's choice)."""

UNKNOWN: Final = (0.10, 0.20, 0.70)
"""Chances where not even solubility parameters are known: most pairs of resins do not mix."""

GAS_CONSTANT: Final = 8.314462618
"""[J/(mol K)], exact in the SI of 2019."""


@dataclass(frozen=True, slots=True)
class Pair:
    """What is known of two resins melted together.

    Parameters
    ----------
    chances : tuple of float
        Of one melt, usable with limits and will delaminate, at a large share of the lesser resin.
    rating : str
        Of the table, or ``"estimate"``.
    note : str
        What the source says, or how the estimate was made.
    source : str
        Keys of sources; empty where recalled.
    obtained : str
        Grade of the rating, or ``"estimate"``.
    """

    chances: tuple[float, float, float]
    rating: str
    note: str
    source: str
    obtained: str

    @property
    def estimate(self) -> bool:
        """Whether no pair is published."""
        return self.obtained == "estimate"


SAME: Final = Pair((1.0, 0.0, 0.0), "miscible", "one and the same resin", "", "")


def pair_of(reference: ReferenceTable, first: str, second: str) -> Pair:
    """Return what is known of two resins melted together; the order does not matter.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> pair_of(default_reference(), "PP", "PS").rating, pair_of(default_reference(), "PE-LLD", "PS").rating
    ('incompatible', 'estimate')
    """
    if first == second:
        return SAME
    pair = {first, second}
    # A row that names both goes before one that says "any".
    for row in reference.blends:
        if {row.first, row.second} == pair:
            return _rated(row)
    anyway = [row for row in reference.blends if row.second == "any" and row.first in pair]
    if anyway:
        return _rated(max(anyway, key=lambda row: (row.rating == "dangerous", row.first)))
    return _estimated(reference, *sorted(pair))


def _rated(row: Blend) -> Pair:
    weight = DOUBTED * DOUBT[row.obtained]
    one, limits, delaminates = (weight / 3.0 + (1.0 - weight) * chance for chance in CHANCES[row.rating])
    return Pair((one, limits, delaminates), row.rating, row.note, row.source, row.obtained)


def critical_difference(factor: float = 1.0) -> float:
    """Return the difference of solubility parameters [MPa^0.5] at which chi is ``factor`` times critical.

    Examples
    --------
    >>> round(critical_difference(), 3)
    0.28
    """
    critical = 0.5 * (2.0 / math.sqrt(SEGMENTS)) ** 2
    return math.sqrt(factor * critical * GAS_CONSTANT * TEMPERATURE / VOLUME) / 1e3


def _estimated(reference: ReferenceTable, first: str, second: str) -> Pair:
    one, two = _parameter(reference, first), _parameter(reference, second)
    if one is None or two is None:
        return Pair(UNKNOWN, "estimate", "nothing published on the pair or its solubility parameters", "", "estimate")
    spread = math.hypot(one[1], two[1])
    difference = one[0] - two[0]

    def within(half: float) -> float:
        return float(ndtr((half - difference) / spread) - ndtr((-half - difference) / spread))

    mixes, usable = within(critical_difference()), within(critical_difference(USABLE))
    chi = VOLUME * (difference * 1e3) ** 2 / (GAS_CONSTANT * TEMPERATURE)
    note = f"no pair published; solubility parameters {one[0]:.1f} and {two[0]:.1f} MPa^0.5, chi {chi:.3f}"
    sources = " ".join(sorted({key for found in (one, two) for key in found[2].split()}))
    return Pair((mixes, usable - mixes, 1.0 - usable), "estimate", note, sources, "estimate")


def _parameter(reference: ReferenceTable, resin: str) -> tuple[float, float, str] | None:
    for row in reference.statements:
        if row.resin == resin and row.property == "solubility_parameter" and row.typical is not None:
            return row.typical, 0.5 * UNSURE, row.source
    for entry in reference.solubilities:
        if entry.resin == resin:
            return entry.value, UNSURE * (1.0 if entry.obtained == "memory" else 0.5), entry.source
    return None
