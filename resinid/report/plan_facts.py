"""A melt plan in short phrases, in the order of the work: the same on the terminal, in a notebook and on a sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from resinid.melting.advice import TILE, drying_words, release_of
from resinid.melting.hot_time import LONGEST_ANY
from resinid.report.text import span

if TYPE_CHECKING:
    from resinid.melting.steps import Heating, Steps

__all__ = ["HEAD", "facts", "heating_row", "heating_title", "slab_words"]

HEAD: Final = ("by", "min, solid", "from", "to", "min, loose", "borne", "fits up to")
"""Of the table of ways to heat."""

TONNE: Final = 9.81
"""[kN] Weight of a tonne."""

HOURS: Final = 180.0
"""[min] From which a time is told in hours."""


def facts(steps: Steps) -> list[tuple[str, str]]:
    """Return what a plan says, each with a word for what it is about; the ways to heat are a table of their own."""
    window, charge, mass = steps.window, steps.charge, steps.mass
    plate = steps.heating[0].source
    parts = ", ".join(f"{name} {grams:.0f} g" for name, grams in charge.grams)
    of_each = f": {parts}" if len(charge.grams) > 1 else ""
    found = [
        ("weigh", f"{mass.typical:.0f} g ({mass.low:.0f} to {mass.high:.0f}) for {slab_words(steps)}{of_each}"),
        ("fill", _filling(steps)),
        ("dry", drying_words([resin for resin, _ in steps.resins], steps.drying)),
        (
            "melt at",
            (
                f"{plate:.0f} °C, never above {window.high:.0f} °C; flows from {steps.melted:.0f} °C; {steps.bears[1]} "
                f"hot for {_time(min(steps.bears[0], LONGEST_ANY))} at most"
            ),
        ),
        ("press", f"{steps.pressure:g} MPa: {steps.force:.2g} kN ({steps.force / TONNE:.2g} t)" + _melt(steps)),
        ("cool", _cooling(steps)),
        ("release", release_of(plate)),
        ("trial", _trial(steps)),
    ]
    if steps.shrinkage and steps.oversize:
        found.insert(6, ("shrinks", _shrinking(steps)))
    return found


def slab_words(steps: Steps) -> str:
    """Return the size of the slab and what it is made in."""
    given = steps.given
    size = f"{steps.volume:g} cm3 of cold part, {steps.thickness:g} mm thick"
    if given.length is not None and given.width is not None:
        size = f"{given.length:g} x {given.width:g} x {steps.thickness:g} mm"
    return size + (f" in {given.material} of {given.wall:g} mm" if given.material else "")


def heating_title(steps: Steps) -> str:
    """Return the title of the table of ways to heat."""
    return f"To melt {steps.thickness:g} mm through, at {steps.heating[0].source:.0f} °C"


def heating_row(way: Heating) -> tuple[str, ...]:
    """Return a way to heat as a row of that table."""
    times = ("never" if t is None else f"{t:.0f}" for t in (way.minutes, way.shortest, way.longest, way.loose))
    used = f"{100 * way.loose_used:.0f} %" if way.loose is not None else "all"
    return (way.way, *times, used, f"{way.thickest:.0f} mm")


def _filling(steps: Steps) -> str:
    charge = steps.charge
    high = f"{charge.form} {charge.loose:.0f} mm high, melt {charge.melt:.0f} mm"
    if charge.depth is not None:
        if charge.fillings is None:
            return f"{high}: it runs over a mould {charge.depth:g} mm deep"
        return f"{high}: {charge.fillings} filling{'s' * (charge.fillings > 1)} of a mould {charge.depth:g} mm deep"
    one, *more = charge.walls
    twice = f", {more[0]:.0f} mm for 2" if more else ""
    return f"{high}; depth {one:.0f} mm for 1 filling{twice}"


def _cooling(steps: Steps) -> str:
    ways = ", ".join(f"{way.way} {_time(way.minutes)}" for way in steps.cooling)
    return f"under load to below {steps.opened:.0f} °C in the middle: {ways}"


def _shrinking(steps: Steps) -> str:
    shrinks, over, given = steps.shrinkage, steps.oversize, steps.given
    if shrinks is None or over is None:
        return ""
    said = f"{span(shrinks.low, shrinks.high, '.1f')} %, about {shrinks.typical:.1f}: "
    if given.length is None or given.width is None:
        return f"{said}mould {over.typical:.4f} times as long ({over.low:.4f} to {over.high:.4f})"
    left, more = 1.0 - shrinks.typical / 100.0, over.typical
    return (
        f"{said}comes out {given.length * left:.0f} x {given.width * left:.0f} mm; cut the mould to "
        f"{given.length * more:.0f} x {given.width * more:.0f} mm for {given.length:g} x {given.width:g} mm"
    )


def _trial(steps: Steps) -> str:
    """Return the mass of a trial tile, scaled from the slab's, and what it must pass in short."""
    grams = TILE[0] * TILE[1] * TILE[2] / 1e3 * steps.mass.typical / steps.volume
    size = " x ".join(f"{side:.0f}" for side in TILE)
    return f"a tile of {size} mm, {grams:.0f} g: no smell, browning, bubbles, layers"


def _melt(steps: Steps) -> str:
    return f"; {steps.stiffness}" if steps.stiffness else ""


def _time(minutes: float | None) -> str:
    if minutes is None:
        return "never"
    return f"{minutes / 60.0:.0f} h" if minutes >= HOURS else f"{minutes:.0f} min"
