"""How long a melt may stay hot, where a hazard asks for a short time."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.batch.steps import Heating

__all__ = ["LONGEST_HOT", "short_enough"]

LONGEST_HOT: Final = MappingProxyType({"POM": 30.0, "PHB": 15.0, "TPU": 30.0, "PA6": 30.0, "PA66": 30.0})
"""[min] Of the resins whose hazards ask for a short time hot. Of POM printed for 210 degC (source
polyplastics-pom of the table); of the others this project's cautious choice, no source."""


def short_enough(heating: Iterable[Heating], resins: Iterable[str]) -> tuple[tuple[Heating, ...], tuple[str, ...]]:
    """Return the ways to heat that do not take too long for any of the resins, and a note on each that does.

    Examples
    --------
    >>> from resinid.batch.steps import Heating
    >>> slow = Heating("hot-air oven", 200.0, 139.0, 60.0, 237.0, 90.0)
    >>> short_enough([slow], ["PE-HD"]) == ((slow,), ())
    True
    >>> short_enough([slow], ["POM"])
    ((), ('hot-air oven: about 139 min, and POM may be hot for 30 min at most; make the layer thinner',))
    """
    strictest = min(((LONGEST_HOT[r], r) for r in resins if r in LONGEST_HOT), default=None)
    if strictest is None:
        return tuple(heating), ()
    limit, resin = strictest
    kept, notes = [], []
    for way in heating:
        if way.minutes is None or way.minutes <= limit:
            kept.append(way)
            continue
        longest = f"{resin} may be hot for {limit:.0f} min at most"
        notes.append(f"{way.way}: about {way.minutes:.0f} min, and {longest}; make the layer thinner")
    return tuple(kept), tuple(notes)
