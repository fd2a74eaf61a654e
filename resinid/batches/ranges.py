"""Over what a property of a resin ranges: as it is printed, and by the distribution of its pieces."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.reference.rules import TRUST

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from resinid.batches.mixing_rules import Rules
    from resinid.reference.entries import Statement
    from resinid.reference.table import ReferenceTable

__all__ = ["Ends", "mean_ends", "printed_range", "quantiles"]

QUANTILES: Final = (0.05, 0.5, 0.95)


@dataclass(frozen=True, slots=True)
class Ends:
    """A range of a property over published statements, its middle, and their sources."""

    low: float
    typical: float
    high: float
    sources: tuple[str, ...]


def printed_range(reference: ReferenceTable, resin: str, name: str) -> Ends | None:
    """Return the widest printed range of a property of a resin; None where nothing is printed.

    The middle is the mean of the statements' middles, weighted by the grade of their source.
    The resin's first variant speaks where it has statements, else all do.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> found = printed_range(default_reference(), "PE-HD", "mould_shrinkage")
    >>> 2.5 < found.typical < 3.5
    True
    """
    rows = [row for row in reference.statements if row.resin == resin and row.property == name]
    base = next(v.name for v in reference.variants if v.resin == resin)
    rows = [row for row in rows if row.variant == base] or rows
    if not rows:
        return None
    values = [value for row in rows for value in (row.low, row.typical, row.high) if value is not None]
    weights = [TRUST[row.obtained] for row in rows]
    middle = math.fsum(w * _middle(row) for w, row in zip(weights, rows, strict=True)) / math.fsum(weights)
    return Ends(min(values), middle, max(values), tuple(sorted({row.source for row in rows})))


def mean_ends(reference: ReferenceTable, shares: Mapping[str, float], name: str) -> Ends | None:
    """Return a property's range for a mix: the resins' ranges weighted by their shares."""
    found = {resin: ends for resin in shares if (ends := printed_range(reference, resin, name)) is not None}
    total = math.fsum(shares[resin] for resin in found)
    if not total > 0.0:
        return None

    def mean(end: Callable[[Ends], float]) -> float:
        return math.fsum(shares[resin] * end(ends) for resin, ends in found.items()) / total

    sources = tuple(sorted({key for ends in found.values() for key in ends.sources}))
    return Ends(mean(lambda e: e.low), mean(lambda e: e.typical), mean(lambda e: e.high), sources)


def quantiles(rules: Rules, resin: str, name: str) -> tuple[float, float, float]:
    """Return 5, 50 and 95 % of what a resin's pieces have of a measured property."""
    latent = rules.model.latent(name)
    mass = np.zeros(latent.mass.shape[1])
    weights = rules.model.gathering.sum(axis=1)
    for row, weight, variant in zip(latent.mass, weights, rules.model.rows, strict=False):
        # Foams fill a mould only once they have collapsed, so their own density is not that of the part.
        if variant.resin == resin and not (name == "density" and variant.filler == "gas"):
            mass += weight * row
    finite = np.isfinite(latent.values)
    values, mass = latent.values[finite], mass[finite]
    cumulated = np.cumsum(mass) / max(float(mass.sum()), 1e-300)
    low, middle, high = (float(np.interp(level, cumulated, values)) for level in QUANTILES)
    return low, middle, high


def _middle(row: Statement) -> float:
    if row.typical is not None:
        return row.typical
    ends = [value for value in (row.low, row.high) if value is not None]
    return math.fsum(ends) / len(ends)
