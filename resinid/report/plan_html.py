"""A melt plan as HTML: a card for a notebook, and one page to print that is filled in as a lot record."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Final

from resinid.heating.verdict import LOCAL
from resinid.report.bag_html import titled, verdict_parts
from resinid.report.markup import bullets, card, el, fold, grid, line, page_of
from resinid.report.page_fit import fit
from resinid.report.plan_facts import HEAD, facts, heating_row, heating_title
from resinid.report.style import SHEET, STYLE
from resinid.report.text import clean, percent

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from resinid.batches.hazards import HazardNote
    from resinid.melting.steps import MeltPlan, Steps

__all__ = ["melt_plan_html", "plan_sheet"]

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

LEGIBLE: Final = 0.75
"""Share of the full size down to which the work is told in words as well: 6.8 pt in print."""


def melt_plan_html(found: MeltPlan) -> str:
    """Return a melt plan for a notebook, or why there is none."""
    problem = line(f"No plan: {found.problem}") if found.problem else None
    if found.steps is None:
        return card("Melt plan", *verdict_parts(found.verdict), problem)
    steps = found.steps
    stages = [part for stage in steps.order for part in titled(stage.name.capitalize(), stage.lines)]
    return card(
        "Melt plan",
        *verdict_parts(found.verdict),
        line("Melt plan", class_="name"),
        _facts(steps),
        _ways(steps),
        fold("The work in its order", *stages),
        *titled("Notes", (*steps.bounds, *steps.notes)),
        fold(f"Sources of the plan ({len(steps.sources)})", line(", ".join(steps.sources) or "none")),
    )


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
    verdict = found.verdict
    names = textwrap.shorten(clean(", ".join(verdict.batches)), 80, placeholder="...")
    blank = "______________"
    head = [
        el("h1", f"Melt plan: {names}"),
        line(f"lot: {textwrap.shorten(clean(lot), 60, placeholder='...') or blank}   date: {clean(date) or blank}"),
        el(
            "div",
            line(el("strong", verdict.verdict), f", because {verdict.deciding}. ", _danger(found)),
            line(f"No plan: {found.problem}") if found.problem else None,
            bullets((*_bounds(found), *verdict.limits)) if verdict.allowed else bullets(verdict.refusals),
            class_="heat" if found.steps is not None else "heat stop",
        ),
    ]
    cautions = el("section", el("h2", "Cautions"), bullets([*_cautions(found), LOCAL]))
    for whole in (True, False):
        work = _work(found.steps, whole=whole) if found.steps is not None else []
        parts = [*head, *work, cautions, *(_record() if found.steps is not None else ())]
        size = fit(parts)
        if size >= LEGIBLE:
            break
    main = el("main", *parts, class_="resinid", style=f"--fit:{size:.2f}")
    return page_of(f"Melt plan: {names}", STYLE + SHEET, main)


def _facts(steps: Steps) -> Element | None:
    return grid("In the order of the work", ("step", "what to do"), facts(steps))


def _ways(steps: Steps) -> Element | None:
    return grid(heating_title(steps), HEAD, [heating_row(way) for way in steps.heating], numbers=range(1, len(HEAD)))


def _bounds(found: MeltPlan) -> tuple[str, ...]:
    return found.steps.bounds if found.steps is not None else ()


def _danger(found: MeltPlan) -> str:
    return f"Danger {percent(found.verdict.danger)}; at most {percent(found.verdict.danger_limit)} is borne."


def _cautions(found: MeltPlan) -> list[str]:
    """Return the cautions once each, those that stand among the limits already left out."""
    limits = found.verdict.limits
    return [_said(note) for note in found.verdict.cautions if not any(note.hazard in limit for limit in limits)]


def _said(note: HazardNote) -> str:
    onset = f", from about {note.onset:g} °C" if note.onset is not None else ""
    return f"{' with '.join(note.resins)}: {note.hazard}{onset}: {note.caution}"


def _work(steps: Steps, *, whole: bool) -> list[Element]:
    """Return what to do; where the page has no room for all of it, only what has a number."""
    work = [line(el("strong", f"{stage.name}: "), "; ".join(stage.lines), class_="small") for stage in steps.order]
    parts = (_facts(steps), _ways(steps), el("section", el("h2", "The work"), *work) if whole else None)
    return [part for part in parts if part is not None]


def _record() -> list[Element]:
    table = grid("To fill in, a row for each plate", RECORD, [("\u00a0",) * len(RECORD)] * ROWS)
    return [el("section", el("h2", "Record"), table)]
