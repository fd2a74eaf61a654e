"""A melt plan: as parts of a report, and as one page to print that is filled in as a lot record."""

from __future__ import annotations

import textwrap
from dataclasses import replace
from typing import TYPE_CHECKING, Final

from resinid.heating.verdict import LOCAL
from resinid.melting.advice import TILE, drying_words, release_of
from resinid.melting.hot_time import LONGEST_ANY
from resinid.report.bag_report import FAR, compatibility_parts, danger_words, hazard_line
from resinid.report.page_fit import fitted_page
from resinid.report.sections import FOLDED, PAGE, Items, Line, Report, Section, Table, listed, sources_part
from resinid.report.text import lot_words, percent, share_words, span

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.batches.hazards import HazardNote
    from resinid.melting.steps import MeltPlan, Steps
    from resinid.report.sections import Part

__all__ = ["plan_report", "plan_sheet"]

TONNE: Final = 9.81
"""[kN] Weight of a tonne."""

HOURS: Final = 180.0
"""[min] From which a time is told in hours."""

LEAST: Final = 0.05
"""[kW] Less is not told."""

HOT_PLATE: Final = ("hot plate",)
"""What the cautions of every hot plate are about."""

RULES: Final = frozenset({"rules differ from place to place"})
"""Caution of every hot plate that the last line says in short."""

RECORD: Final = (
    "plate no., date",
    "grams, of which lots",
    "dried",
    "set °C, in at",
    "through at, middle °C",
    "load",
    "opened at, middle °C",
    "thick, passed, by",
)
"""Columns of the table that is filled in by hand."""

ROWS: Final = 4

LOT: Final = 60
"""[characters] A lot is cut to this."""

LEGIBLE: Final = 0.75
"""Share of the full size down to which the work is told in words as well: 6.8 pt in print."""


def plan_report(found: MeltPlan, *, full: bool = True) -> Report:
    """Return a melt plan, or why there is none.

    In short it is one screen of 25 lines for what is ordinary: what is done, and the cautions. Limits
    and cautions are never cut.
    """
    verdict, steps = found.verdict, found.steps
    if steps is None:
        problem = Line(f"No plan: {found.problem}") if found.problem else None
        return Report("Melt plan", (*compatibility_parts(verdict, full=full), problem))
    mix = share_words(verdict.batches, verdict.shares) if len(verdict.batches) > 1 else verdict.batches[0]
    guessed = " (an estimate: nobody published this pair)"
    danger = f"danger {percent(verdict.danger)} (at most {percent(verdict.danger_limit)})"
    if verdict.charge:
        _, pieces, chance = max(verdict.charge, key=lambda each: each[2])
        danger += f", in {pieces} pieces {percent(chance)}"
    head = f"MELT PLAN for {mix}: {verdict.verdict}{guessed if verdict.estimate else ''}; {danger}"
    rows = _facts(steps)
    work = Section("", (
        Line(head, kind="name"), _in_order(rows[:4]), _ways(steps),
        _in_order([*rows[4:], *_beware(found, full=full)]), Line(LOCAL),
    ))  # fmt: skip
    stages = tuple(listed(stage.name.capitalize(), stage.lines) for stage in steps.order)
    said = {line for stage in steps.order for line in stage.lines} | set(verdict.limits)
    powers = (
        f"{way.way}: about {way.power:.1f} kW go into a solid charge on average; losses come on top"
        for way in steps.heating
        if way.power >= LEAST
    )
    notes = Items((*powers, *(note for note in steps.notes if note not in said)))
    return Report(
        "Melt plan",
        (
            work,
            Section("Why it may be melted", compatibility_parts(verdict), FOLDED),
            Section("The work in its order", stages, FOLDED, "--full has reasons, the work in its order and sources."),
            Section("Notes", (notes,), FOLDED),
            replace(sources_part(steps.sources, "Sources of the plan"), brief=""),
        ),
    )


def _facts(steps: Steps) -> list[tuple[str, str]]:
    """Return what a plan says, each with a word for what it is about; the ways to heat are a table of their own."""
    window, charge, mass = steps.window, steps.charge, steps.mass
    plate = steps.heating[0].source
    parts = ", ".join(f"{name} {grams:.0f} g" for name, grams in charge.grams)
    of_each = f": {parts}" if len(charge.grams) > 1 else ""
    found = [
        ("weigh", f"{mass.typical:.0f} g ({mass.low:.0f} to {mass.high:.0f}) for {_slab_words(steps)}{of_each}"),
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


def _slab_words(steps: Steps) -> str:
    """Return the size of the slab and what it is made in."""
    given = steps.given
    size = f"{steps.volume:g} cm3 of cold part, {steps.thickness:g} mm thick"
    if given.length is not None and given.width is not None:
        size = f"{given.length:g} x {given.width:g} x {steps.thickness:g} mm"
    return size + (f" in {given.material} of {given.wall:g} mm" if given.material else "")


def _ways(steps: Steps) -> Table:
    """Return the ways to heat the slab through."""
    head = ("by", "min, solid", "from", "to", "min, loose", "borne", "fits up to")
    rows = []
    for way in steps.heating:
        times = ("never" if t is None else f"{t:.0f}" for t in (way.minutes, way.shortest, way.longest, way.loose))
        used = f"{100 * way.loose_used:.0f} %" if way.loose is not None else "all"
        rows.append((way.way, *times, used, f"{way.thickest:.0f} mm"))
    title = f"To melt {steps.thickness:g} mm through, at {steps.heating[0].source:.0f} °C"
    return Table(title, head, rows, range(1, len(head)))


def _in_order(rows: Sequence[tuple[str, str]]) -> Table:
    return Table("In the order of the work", ("step", "what to do"), rows, plain=True)


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


def _own_cautions(found: MeltPlan) -> tuple[HazardNote, ...]:
    """Return the cautions that do not stand among the limits already."""
    verdict = found.verdict
    return tuple(note for note in verdict.cautions if not any(note.hazard in limit for limit in verdict.limits))


def _beware(found: MeltPlan, *, full: bool) -> list[tuple[str, str]]:
    """Return a mix's limits, hazards and cautions, and what every hot plate asks for."""
    verdict, bounds = found.verdict, found.steps.bounds if found.steps is not None else ()
    told = [note for note in verdict.hazards if note.probability >= verdict.danger_limit / FAR]
    # The share of a caution is no chance of harm, and would read as one.
    own = [replace(note, probability=1.0) for note in _own_cautions(found) if note.resins != HOT_PLATE]
    every = [note.caution for note in verdict.cautions if note.resins == HOT_PLATE and note.hazard not in RULES]
    return [
        *(("limit", limit) for limit in (*bounds, *_together(verdict.limits))),
        *(("danger", hazard_line(note, full=full)) for note in told),
        *(("caution", hazard_line(note, full=full)) for note in own),
        *((("always", "; ".join(every)),) if every else ()),
    ]


def _together(limits: Sequence[str]) -> list[str]:
    """Return limits, one line for those that say the same of several bags."""
    names: dict[str, list[str]] = {}
    for limit in limits:
        name, _, rest = limit.partition(": ")
        names.setdefault(rest, []).append(name)
    return [f"{', '.join(listed)}: {rest}" if rest else listed[0] for rest, listed in names.items()]


def plan_sheet(found: MeltPlan, *, lot: str = "", date: str = "") -> str:
    """Return a melt plan as one page of HTML that loads nothing, with a table to fill in: the record of a lot.

    Parameters
    ----------
    found : MeltPlan
        Where it has no steps the page says why, and has no table.
    lot, date : str, optional
        As they are to stand on it; a blank to write on where not given.

    Examples
    --------
    >>> import resinid
    >>> cap = [{"test": "softening", "temperature": "131 ± 2 degC"}]
    >>> caps = resinid.Batch.of("caps", marked={"PE-HD": 60}, pieces=[cap] * 3)
    >>> page = plan_sheet(resinid.melt_plan(caps, mould="300x300x10 mm"), lot="KL-7")
    >>> "Record" in page, "KL-7" in page
    (True, True)
    """
    verdict, steps = found.verdict, found.steps
    names = textwrap.shorten(", ".join(verdict.batches), 80, placeholder="...")
    bounds = (*(steps.bounds if steps is not None else ()), *verdict.limits)
    head = (
        Line(lot_words(lot, date, LOT)),
        Section(
            "",
            (
                Line(f", because {verdict.deciding}. {danger_words(verdict)}", verdict.verdict),
                Line(f"No plan: {found.problem}") if found.problem else None,
                Items(tuple(bounds if verdict.allowed else verdict.refusals)),
            ),
            "heat" if steps is not None else "heat stop",
        ),
    )
    said = (replace(note, probability=1.0) for note in _own_cautions(found))
    cautions = Section("Cautions", (Items((*(hazard_line(note, full=False) for note in said), LOCAL)),), PAGE)
    short: tuple[Part, ...] = (*head, cautions)
    whole = short
    if steps is not None:
        work = tuple(Line("; ".join(stage.lines), f"{stage.name}: ", "small") for stage in steps.order)
        blank = Table("To fill in, a row for each plate", RECORD, [("\u00a0",) * len(RECORD)] * ROWS)
        facts, record = (_in_order(_facts(steps)), _ways(steps)), Section("Record", (blank,), PAGE)
        short = (*head, *facts, cautions, record)
        whole = (*head, *facts, Section("The work", work, PAGE), cautions, record)
    return fitted_page(f"Melt plan: {names}", f"Melt plan: {names}", [whole, short], LEGIBLE)
