"""A melt plan for the terminal: one screen first, the rest where asked for."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

from resinid.heating.verdict import LOCAL
from resinid.report.batch_text import FAR, bullets_of, hazard_line, sources_line, verdict_text
from resinid.report.piece_text import columns
from resinid.report.plan_facts import HEAD, facts, heating_row, heating_title
from resinid.report.text import percent, wrapped

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.melting.steps import MeltPlan, Steps

__all__ = ["plan_text"]

LABEL: Final = 8
"""[characters] Of the column that says what a line is about."""

LEAST: Final = 0.05
"""[kW] Less is not told."""

RULES: Final = frozenset({"rules differ from place to place"})
"""Caution of every hot plate that the last line says in short."""


def plan_text(found: MeltPlan, *, full: bool = False) -> str:
    """Return a melt plan, or why there is none.

    In short it is one screen of 25 lines for what is ordinary: what is done, and the cautions. Limits
    and cautions are never cut.
    """
    if found.steps is None:
        why = f"\n\n{wrapped('No plan: ' + found.problem)}" if found.problem else ""
        return verdict_text(found.verdict, full=full) + why
    steps = found.steps
    lines = [_headline(found), *(_fact(label, text) for label, text in facts(steps))]
    lines.insert(5, _table(steps))
    lines += _cautions(found, full=full)
    if not full:
        return "\n".join([*lines, wrapped(f"--full has reasons, the work in its order and sources. {LOCAL}", "", "")])
    parts = ["\n".join(lines), verdict_text(found.verdict, full=True)]
    parts += ["\n".join([f"{stage.name.capitalize()}:", *bullets_of(stage.lines)]) for stage in steps.order]
    said = {line for stage in steps.order for line in stage.lines} | set(found.verdict.limits)
    notes = [note for note in steps.notes if note not in said]
    parts.append("\n".join(["Notes:", *bullets_of([*_powers(steps), *notes])]))
    parts.append(sources_line("Sources of the plan", steps.sources, full=True))
    return "\n\n".join(parts)


def _headline(found: MeltPlan) -> str:
    verdict = found.verdict
    mix = ", ".join(f"{name} {share:.0%}" for name, share in zip(verdict.batches, verdict.shares, strict=True))
    guessed = " (an estimate: nobody published this pair)" if verdict.estimate else ""
    danger = f"danger {percent(verdict.danger)}, at most {percent(verdict.danger_limit)} is borne"
    return wrapped(f"MELT PLAN for {mix}: {verdict.verdict}{guessed}; {danger}")


def _fact(label: str, text: str) -> str:
    return wrapped(text, f"{label:<{LABEL}}", " " * LABEL)


def _table(steps: Steps) -> str:
    rows = [heating_row(way) for way in steps.heating]
    return f"{heating_title(steps)}:\n" + columns(HEAD, rows, right=range(1, len(HEAD)))


def _cautions(found: MeltPlan, *, full: bool) -> list[str]:
    """Return hazards of a mix, its limits, and what every hot plate asks for."""
    verdict = found.verdict
    told = [note for note in verdict.hazards if note.probability >= verdict.danger_limit / FAR]
    own = [note for note in verdict.cautions if note.resins != ("hot plate",)]
    own = [note for note in own if not any(note.hazard in limit for limit in verdict.limits)]
    bounds = found.steps.bounds if found.steps is not None else ()
    lines = [_fact("limit", limit) for limit in (*bounds, *_together(verdict.limits))]
    lines += [_fact("danger", hazard_line(note, full=full)) for note in told]
    # Their share is no chance of harm, and would read as one.
    lines += [_fact("caution", hazard_line(replace(note, probability=1.0), full=full)) for note in own]
    every = [note.caution for note in verdict.cautions if note.resins == ("hot plate",) and note.hazard not in RULES]
    return [*lines, _fact("always", "; ".join(every))] if every else lines


def _together(limits: Sequence[str]) -> list[str]:
    """Return limits, one line for those that say the same of several bags."""
    names: dict[str, list[str]] = {}
    for limit in limits:
        name, _, rest = limit.partition(": ")
        names.setdefault(rest, []).append(name)
    return [f"{', '.join(listed)}: {rest}" if rest else listed[0] for rest, listed in names.items()]


def _powers(steps: Steps) -> list[str]:
    return [
        f"{way.way}: about {way.power:.1f} kW go into a solid charge on average; losses come on top"
        for way in steps.heating
        if way.power >= LEAST
    ]
