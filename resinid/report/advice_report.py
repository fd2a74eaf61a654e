"""What to do next, as parts of a report."""

from __future__ import annotations

import textwrap
from typing import TYPE_CHECKING, Final

from resinid.planning.question import ASKED
from resinid.report.piece_report import heat_part, version_line
from resinid.report.sections import FOLDED, Items, Line, Report, Section, Table
from resinid.report.text import percent

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.heating.verdict import Heat
    from resinid.planning.advice import Advice, Suggestion

__all__ = [
    "SETTLED",
    "advice_report",
    "held_back_line",
    "standing_lines",
    "steps_part",
    "suggestion_parts",
    "suggestion_report",
    "verdict_line",
    "withheld",
    "withheld_part",
]

SHOWN: Final = 5
"""Answers, tests and outcomes listed."""

HOT_PLATE: Final = "hot plate"
"""Hazard of the plans that heat a speck of the piece."""

SETTLED: Final = "settled"
"""Verdict of an advice whose question is settled."""

SPECK_ONLY: Final = "Only the speck that the test asks for: the piece itself must not be heated."


def standing_lines(advice: Advice) -> tuple[Line, ...]:
    """Return the question and the leading answers."""
    if advice.question == "heat":
        asked = Line(f"{ASKED['heat']} {advice.result.heat.headline}.", kind="name")
        return asked, Line(f"It is {advice.result.headline}.")
    answers = ", ".join(f"{name} {percent(chance)}" for name, chance in advice.answers[:SHOWN])
    return (Line(f"{ASKED.get(advice.question, 'Which answer?')} {answers}", kind="name"),)


def verdict_line(advice: Advice) -> Line:
    """Return the verdict on going on, and why."""
    return Line(f"{advice.reason}.", f"{advice.verdict.capitalize()}: ")


def steps_part(found: Suggestion, heat: Heat | None = None) -> Items:
    """Return how to do a test: bath to mix, steps, caution; and that a hot test is no leave to heat the piece."""
    plan = found.plan
    steps: list[str | Line] = [*plan.steps]
    if plan.recipe is not None:
        steps.insert(0, f"Mix {plan.recipe.volume:.0f} mL: {' into '.join(map(str, plan.recipe.parts))}.")
    if plan.caution:
        steps.append(Line(plan.caution, "Caution: "))
    if plan.hazard == HOT_PLATE and heat is not None and not heat.allowed:
        steps.append(Line("", SPECK_ONLY))
    return Items(tuple(steps))


def suggestion_parts(found: Suggestion, lead: str = "", advice: Advice | None = None) -> tuple[Line, Items]:
    """Return a test as a person does it, after a word or number."""
    plan = found.plan
    does = "leaves it settled" if advice is not None and advice.verdict == SETTLED else "settles it"
    told = f"{does} in {100 * found.settles:.0f} % of cases, {found.bits:.2f} bits, about {plan.minutes:g} min"
    name = Line(f"{plan.label} ({told})", lead, "name" if advice is None else "")
    return name, steps_part(found, advice.result.heat if advice is not None else None)


def foreseen_table(found: Suggestion) -> Table:
    """Return what a test may show, and what would then be most probable."""
    rows = [
        (textwrap.shorten(seen.says, 44, placeholder="..."), percent(seen.probability),
         f"{seen.answer} {percent(seen.then)}")
        for seen in found.outcomes[:SHOWN]
    ]  # fmt: skip
    return Table("What it may show", ("it may show", "chance", "then most probable"), rows, (1,))


def suggestion_report(found: Suggestion) -> Report:
    """Return a test that could be done next."""
    return Report("Test to do next", (*suggestion_parts(found), foreseen_table(found)))


def advice_report(advice: Advice, top: int = SHOWN) -> Report:
    """Return the advice on what to do next: what is known, what to do, what else, what not."""
    best = None if advice.best is None or (advice.question == "heat" and advice.verdict == SETTLED) else advice.best
    heat = heat_part(advice.result.heat, advice.result.observations)
    asked = standing_lines(advice)[-1]
    test: tuple[Section | Table, ...] = ()
    if best is not None:
        head = ("keeps" if advice.verdict == SETTLED else "settles", "min", "bits", "test")
        rows = [
            (f"{100 * found.settles:.0f} %", f"{found.plan.minutes:g}", f"{found.bits:.2f}", found.plan.label)
            for found in advice.suggestions[: max(top, 1)]
        ]
        lead = "Most telling: " if advice.stop else "Next: "
        test = (
            Section("", suggestion_parts(best, lead, advice)),
            foreseen_table(best),
            Table("Tests that can be offered, best first", head, rows, range(3)),
        )
    return Report(
        "What to do next",
        (
            heat,
            asked,
            verdict_line(advice),
            *test,
            withheld_part(advice, "--full says why"),
            held_back_line(advice),
            version_line(advice.result),
        ),
    )


def withheld(pairs: Iterable[tuple[str, str]]) -> tuple[str, ...]:
    """Return what is not offered and why, joined where the reason is the same."""
    return tuple(f"{labels}: {why}." for labels, why in _once(pairs))


def withheld_part(advice: Advice, more: str) -> Section | None:
    """Return what is not offered and why; in brief how many tests, the commonest reason, and how to see ``more``."""
    number = len(advice.withheld)
    if not number:
        return None
    common = max(_once(advice.withheld), key=lambda pair: pair[0].count("; "))
    short = textwrap.shorten(common[1].partition(";")[0], 60, placeholder="...")
    brief = f"Not offered: {'1 test is' if number == 1 else f'{number} tests are'} held back ({short}); {more}."
    return Section(f"Not offered ({number})", (Items(withheld(advice.withheld)),), FOLDED, brief)


def held_back_line(advice: Advice) -> Line | None:
    """Return which test would tell most if its danger were allowed; None where none would."""
    if not advice.held_back or advice.verdict == SETTLED:
        return None
    best = advice.held_back[0]
    told = f"settles it in {100 * best.settles:.0f} % of cases, {best.bits:.2f} bits"
    allow = f'--allow "{best.plan.hazard}"' if " " in best.plan.hazard else f"--allow {best.plan.hazard}"
    return Line(f"Of these, most would be told by: {best.plan.label} ({told}). {allow} offers it, with its caution.")


def _once(pairs: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Join the labels that are withheld for the same reason."""
    by_reason: dict[str, list[str]] = {}
    for label, why in pairs:
        by_reason.setdefault(why, []).append(label)
    return [("; ".join(labels), why) for why, labels in by_reason.items()]
