"""How long a melt may stay hot: no longer than a hazard or a data sheet asks, and no melt for hours on end."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.melting.steps import Heating

__all__ = ["LONGEST_ANY", "LONGEST_HOT", "short_enough"]

LONGEST_HOT: Final = MappingProxyType(
    {"PET": 8.0, "PBT": 8.0, "PHB": 15.0} | dict.fromkeys(("TPU", "PA6", "PA66", "PMMA", "PLA"), 30.0)
)
"""[min] Of the resins whose hazards ask for a short time hot. Of PET and PBT the longest printed dwell of a melt
(source lanxess-pocan of the table); of the others this project's cautious choice, no source."""

LONGEST_ANY: Final = 120.0
"""[min] However well a resin bears heat, air attacks its hot surface all the while (cautious choice, no source)."""


def short_enough(heating: Iterable[Heating], resins: Iterable[str]) -> tuple[tuple[Heating, ...], tuple[str, ...]]:
    """Return the ways to heat that do not take too long for any of the resins, and notes on how long it may be hot.

    Examples
    --------
    >>> from resinid.melting.steps import Heating
    >>> slow = Heating("hot-air oven", 200.0, 110.0, 60.0, 237.0, 90.0)
    >>> short_enough([slow], ["PE-HD"])[0] == (slow,)
    True
    >>> short_enough([slow], ["PA6"])
    ((), ('hot-air oven: about 110 min, and PA6 may be hot for 30 min at most; make the layer thinner',))
    """
    limit, what = min([(LONGEST_ANY, "a melt"), *((LONGEST_HOT[r], r) for r in resins if r in LONGEST_HOT)])
    kept, notes = [], []
    for way in heating:
        if way.minutes is None or way.minutes <= limit:
            kept.append(way)
            continue
        longest = f"{what} may be hot for {limit:.0f} min at most"
        notes.append(f"{way.way}: about {way.minutes:.0f} min, and {longest}; make the layer thinner")
    if any(way.longest is None or way.longest > limit for way in kept):
        notes.append(f"after {limit:.0f} min hot take it out, molten through or not: {what} may not be hot for longer")
    return tuple(kept), tuple(notes)
