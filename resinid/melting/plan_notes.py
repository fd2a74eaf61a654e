"""What a melt plan remarks: ways that take too long, stock that never melts, how much a glass stiffens."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from resinid.heating.bearing import UNKNOWN
from resinid.heating.bearing import bears as table_of_bears
from resinid.melting.charge import ALLOWANCE
from resinid.melting.flow import stiffer
from resinid.melting.hot_time import LONGEST_ANY
from resinid.melting.own_tables import glasses, walls

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from resinid.batches.compatibility import MeltCompatibility
    from resinid.batches.ranges import Ends
    from resinid.melting.steps import Heating
    from resinid.melting.thermal_properties import Layer
    from resinid.reference.table import ReferenceTable

__all__ = ["glass_notes", "in_time", "narrow", "own_sources", "plan_notes", "stock_notes"]

NARROW: Final = 10.0
"""[K] A window narrower than this is hard to keep on a workshop plate (common practice, no source)."""

SOLID_PART: Final = 0.05
"""Share of a resin's goods that never melt from which the plan says so."""

CLUMPING: Final = frozenset({"PET", "PETG", "PLA"})
"""Resins met with uncrystallised, whose flakes stick above their glass transition (common practice, no source)."""


def in_time(
    heating: Sequence[Heating], bears: tuple[float, str], hottest: float
) -> tuple[tuple[Heating, ...], tuple[str, ...]]:
    """Return the ways that heat a solid charge through before a resin is spoilt, and what to say of the others."""
    kept, notes = [], []
    minutes, resin = bears
    for way in heating:
        thickest = f"at most {way.thickest:.0f} mm" if way.thickest >= 1.0 else "not even 2 mm"
        if way.minutes is None or way.minutes > LONGEST_ANY:
            taken = "never" if way.minutes is None else f"about {way.minutes:.0f} min"
            hotter = f"; hotter is quicker, up to {hottest:.0f} °C" if hottest > way.source + NARROW else ""
            notes.append(f"{way.way}: {taken}, and somebody must stay with it; by this way {thickest}{hotter}")
        elif way.used > 1.0:
            notes.append(
                f"{way.way}: about {way.minutes:.0f} min, and {resin} bears {minutes:.0f} min at {way.source:.0f} °C; "
                f"by this way {thickest}"
            )
        else:
            kept.append(way)
            if way.loose_used > 1.0 or way.loose is None:
                notes.append(
                    f"{way.way}: not as loose stock, which would take longer than {resin} bears: press it into thin "
                    f"solid cakes first, or fill it layer by layer onto what is molten; as it is, {thickest}"
                )
    return tuple(kept), tuple(notes)


def stock_notes(
    reference: ReferenceTable, shares: Mapping[str, float], drying: tuple[Ends, Ends] | None, demould: Ends | None
) -> tuple[str, ...]:
    """Say what of the stock never melts, and where drying may already make it clump."""
    notes = []
    for resin in sorted(shares):
        variants = [variant for variant in reference.variants if variant.resin == resin]
        solid = [variant for variant in variants if variant.softens == "never"]
        part = math.fsum(v.weight for v in solid) / math.fsum(v.weight for v in variants)
        if part > SOLID_PART:
            names = ", ".join(variant.name for variant in solid)
            notes.append(f"about {100 * part:.0f} % of {resin} goods never melt ({names}): sort them out first")
    if CLUMPING & set(shares) and drying is not None and demould is not None and drying[0].high > demould.typical:
        notes.append(
            f"above about {demould.typical:.0f} °C clear flakes that have not crystallised soften and clump while "
            "they dry: stay below it, or stir"
        )
    return tuple(notes)


def glass_notes(shares: Mapping[str, float], through: float, plate: float) -> tuple[str, ...]:
    """Say of a glass how much stiffer it is where it only softens."""
    notes = []
    for resin in sorted(shares):
        soft = glasses()[resin].transition + 40.0 if resin in glasses() else math.inf
        more = stiffer(resin, soft, plate) if soft < through else None
        if more is not None:
            notes.append(
                f"{resin} softens long before it flows: at {soft:.0f} °C it is about {more:.0g} times as stiff as at "
                f"{plate:.0f} °C"
            )
    return tuple(notes)


def own_sources(shares: Mapping[str, float], bears: tuple[float, str], material: str) -> tuple[str, ...]:
    """Name the sources of the plan's own figures, which the reference table does not hold."""
    weakest = table_of_bears().get(bears[1])
    return (
        f"how long {bears[1]} bears heat: {UNKNOWN.source if weakest is None else weakest.source}",
        *(f"how {resin} thins out: {glasses()[resin].source}" for resin in sorted(shares) if resin in glasses()),
        *((f"{material}: {walls()[material].source}",) if material else ()),
    )


def narrow(window: Ends) -> tuple[str, ...]:
    """Say where a window of melt temperatures is hard to keep."""
    wide = window.high - window.low
    return (f"the window is only {wide:.0f} K wide: leave it unless the plate holds that",) if wide < NARROW else ()


def plan_notes(layer: Layer, verdict: MeltCompatibility, *, hotter: bool) -> tuple[str, ...]:
    """Say what goes for every plan, and what was assumed for this one."""
    notes = [
        "melt a few grams first; stop at the first sharp smell",
        (
            "the times of a solid charge hold for sheet or well pressed cakes; a loose bed holds air and takes longer, "
            "less so the sooner it is pressed together"
        ),
        *(["hotter than it needs to begin with: fume and harm to the melt grow with every degree"] if hotter else []),
        f"the mass to weigh has {100 * ALLOWANCE:.0f} % added for flash and what sticks",
        *verdict.limits,
    ]
    if layer.assumed:
        notes.append(f"not in the table, taken from the range of all resins: {', '.join(layer.assumed)}")
    if verdict.flow is not None and not verdict.flow.valid:
        notes.append("the flow of the mix is only an indication: its parts differ more than the log rule bears")
    return tuple(notes)
