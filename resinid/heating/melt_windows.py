"""The temperatures between which each resin is melted, and whether two resins have one in common."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from scipy.special import ndtr

from resinid.heating.bearing import borne_to
from resinid.reference.rules import TRUST

if TYPE_CHECKING:
    from resinid.reference.entries import Statement
    from resinid.reference.table import ReferenceTable

__all__ = ["MARGIN", "Window", "overlap", "window_of"]

MARGIN: Final = 5.0
"""[K] Kept below the highest melt temperature a resin bears (common practice, no source); the table
states the cautious end of printed ranges for it."""

DECOMPOSITION_MARGIN: Final = 5.0
"""[K] Kept below the lowest printed decomposition temperature (common practice, no source). Those
ranges come from fire tests, so the limit above usually rules."""

ONSET_MARGIN: Final = 5.0
"""[K] Kept below the onset of a hazard that a melt must stay below (common practice, no source)."""

HALF_RANGE: Final = 10.0
"""[K] A single printed melt temperature is taken as a window of this much to either side."""

ENDS: Final = 8.0
"""[K] Standard deviation of the end of a window between grades and tables (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Window:
    """A resin's melt temperatures [degC] and what bounds them.

    Parameters
    ----------
    low, high : float
        Mean of the printed windows' ends; ``high`` also stays below ``ceiling``. Where the mean
        low end lies above the ceiling, the lowest printed one is taken.
    coolest : float
        The lowest low end of the printed windows, a single temperature being one of 10 K to either
        side. They are those of injection moulding, whose hotter part is for filling thin walls fast.
    ceiling : float
        What must never be exceeded less its margin; infinite where nothing is published.
    limit : float
        The lower of ``ceiling`` and of the onset of any hazard that a melt must stay below, less
        its margin. It may lie below ``coolest``: then no published melt temperature is allowed.
    borne : float
        What it bears for as long as a melt takes, see :func:`resinid.heating.bearing.borne_to`.
    sources : tuple of str
        Keys of the sources.
    """

    low: float
    high: float
    coolest: float
    ceiling: float
    limit: float
    borne: float
    sources: tuple[str, ...]

    @property
    def unharmed(self) -> float:
        """The hottest that the resin may be melted at, in a piece or a bag: the lower of ``high`` and ``borne``."""
        return min(self.high, self.borne)


def window_of(reference: ReferenceTable, resin: str) -> Window | None:
    """Return the window of a resin; None where no melt temperature is published.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> found = window_of(default_reference(), "PE-HD")
    >>> 170 < found.low < 200 < found.high < 300
    True
    """
    rows = [row for row in reference.statements if row.resin == resin]
    windows = [row for row in rows if row.property == "melt_processing_temperature"]
    if not windows:
        return None
    ends = [(_end(row, -1.0), _end(row, 1.0), TRUST[row.obtained]) for row in windows]
    total = math.fsum(weight for _, _, weight in ends)
    low = math.fsum(first * weight for first, _, weight in ends) / total
    high = math.fsum(second * weight for _, second, weight in ends) / total
    highest = [row for row in rows if row.property == "maximum_melt_temperature"]
    decomposing = [row for row in rows if row.property == "decomposition_onset_temperature"]
    onsets = [hazard for hazard in reference.hazards if hazard.applies_to == resin and hazard.limits_melt]
    ceiling = min(
        [value - MARGIN for row in highest for value in (_least(row),)]
        + [value - DECOMPOSITION_MARGIN for row in decomposing for value in (_least(row),)],
        default=math.inf,
    )
    limit = min([ceiling] + [hazard.onset - ONSET_MARGIN for hazard in onsets if hazard.onset is not None])
    coolest = min(first for first, _, _ in ends)
    if low > ceiling:
        low = coolest
    keys = {row.source for row in (*windows, *highest, *decomposing)} | {k for h in onsets for k in h.source.split()}
    return Window(low, min(high, ceiling), coolest, ceiling, limit, borne_to(resin), tuple(sorted(keys)))


def overlap(first: Window | None, second: Window | None) -> float:
    """Return the chance that two resins have a melt temperature in common; one half where one is unknown."""
    if first is None or second is None:
        return 0.5
    if first == second:
        return 1.0
    room = min(first.high, second.high) - max(first.low, second.low)
    return float(ndtr(room / (ENDS * math.sqrt(2.0))))


def _least(row: Statement) -> float:
    return next(value for value in (row.low, row.typical, row.high) if value is not None)


def _end(row: Statement, side: float) -> float:
    printed = row.low if side < 0 else row.high
    if printed is not None:
        return printed
    if row.typical is not None:
        return row.typical + side * HALF_RANGE
    return _least(row)
