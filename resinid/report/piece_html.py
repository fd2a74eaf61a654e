"""One piece and what to do next, as HTML for a notebook."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from resinid.methods._guard import describe
from resinid.planning.question import ASKED
from resinid.report.cautions import bath_cautions, bearing_on_heat, most_telling, reasons_beside, settling_words
from resinid.report.markup import bullets, card, el, fold, grid, line
from resinid.report.text import factor, percent

if TYPE_CHECKING:
    from collections.abc import Iterable
    from xml.etree.ElementTree import Element

    from resinid.heating.verdict import Heat
    from resinid.identification.result import Result
    from resinid.planning.advice import Advice, Suggestion
    from resinid.report.markup import Child

__all__ = [
    "HOT_PLATE",
    "SETTLED",
    "SPECK_ONLY",
    "advice_html",
    "bar",
    "foreseen_table",
    "heat_box",
    "heat_html",
    "kinds_line",
    "left_out",
    "observations_table",
    "ranking_table",
    "result_html",
    "standing_line",
    "suggestion_html",
    "telling",
]

SHOWN: Final = 8
TESTS: Final = 5
"""Tests listed that may be done next."""

BAR: Final = (90.0, 12.0)
"""[px] Width and height of a bar beside its number."""

HOT_PLATE: Final = "hot plate"
"""Hazard of the plans that heat a speck of the piece."""

SETTLED: Final = "settled"
"""Verdict of an advice whose question is settled."""

SPECK_ONLY: Final = "Only the speck that the test asks for: the piece itself must not be heated."


def bar(share: float) -> Element:
    """Return a bar for a share between 0 and 1; the number stands beside it, so it is hidden from readers."""
    width, height = BAR
    return el(
        "svg",
        el("rect", x=0.5, y=0.5, width=width - 1, height=height - 1, class_="track"),
        el("rect", x=0.5, y=0.5, width=(width - 1) * min(max(share, 0.0), 1.0), height=height - 1, class_="bar"),
        width=width,
        height=height,
        viewBox=f"0 0 {width:g} {height:g}",
        aria_hidden="true",
    )


def heat_box(heat: Heat) -> Element:
    """Return the advice on heating as a box: verdict, reasons, cautions."""
    stop = "" if heat.allowed else " stop"
    return el(
        "div",
        line("Heating: ", el("strong", heat.headline)),
        bullets([*reasons_beside(heat), *filter(None, [settling_words(heat)]), *dict.fromkeys(heat.cautions)]),
        class_=f"heat{stop}",
    )


def heat_html(heat: Heat) -> str:
    """Return the advice on heating for a notebook."""
    return card("Advice on heating", heat_box(heat))


def ranking_table(result: Result, shown: int = SHOWN) -> Element | None:
    """Return the most probable resins with their probabilities after and before."""
    rows: list[tuple[Child, ...]] = [
        (resin, percent(after), bar(after), percent(before))
        for resin, after, before in list(zip(result.resins, result.probability, result.prior, strict=True))[:shown]
    ]
    rest = len(result.resins) - len(rows)
    if rest > 0:
        left, before = sum(result.probability[shown:]), sum(result.prior[shown:])
        rows.append((f"{rest} others", percent(left), bar(left), percent(before)))
    return grid("Most probable resins", ("resin", "probability", "0 to 100 %", "before"), rows, numbers=(1, 3))


def observations_table(result: Result, shown: int = 100) -> Element | None:
    """Return what was observed, whether it agrees, and what it told by itself and in addition to the others.

    Where some are cut off, those that disagree come first, then those that tell most by themselves of
    what may clear a piece; what forbids heating, or needed a danger allowed, is never cut.
    """
    heat = bearing_on_heat(result.observations)
    others = [index for index in most_telling(result) if index not in heat]
    room = max(shown - len(heat), shown // 2)
    kept, cut = sorted([*heat, *others[:room]]), others[room:]
    rows = [
        (
            f"x{index + 1}",
            describe(result.observations[index]),
            f"DISAGREES, {result.outlier[index]:.0%} likely botched" if index in result.disagreeing else "agrees",
            factor(result.log_alone[index][0]) if result.log_alone else "not told",
            factor(result.log_factors[index][0]),
        )
        for index in kept
    ]
    caption = f"By what factor each observation changed the probability of {result.leader}"
    if cut:
        against = sum(index in result.disagreeing for index in cut)
        caption += (
            f"; {len(cut)} more are not shown, {against} of which disagree; all that forbids heating is shown, and "
            "then what tells most"
        )
    head = ("test", "observed", f"with {result.leader} it", "by itself", "in addition")
    return grid(caption, head, rows, numbers=(3, 4))


def left_out(result: Result) -> Element | None:
    """Return which tests were left out and why, where the answer says so."""
    said = result.left_out
    return bullets(f"{test} was left out: {reason}" for test, reason in said)


def result_html(result: Result) -> str:
    """Return the answer for one piece for a notebook; ranking and sources are opened by their titles."""
    title = result.piece or "piece"
    return card(
        f"Answer for {title}",
        line(f"{title}: {result.headline}", class_="name"),
        heat_box(result.heat),
        bullets(f"Bath: {caution}" for caution in bath_cautions(result.observations)),
        observations_table(result, SHOWN) if result.observations else line("No observations: this is the prior."),
        left_out(result),
        fold("Most probable resins", ranking_table(result), kinds_line(result), *no_data_lines(result)),
        fold(f"Sources ({len(result.sources)})", line(", ".join(result.sources) or "none")),
        line(f"resinid {result.version}, table {result.reference_digest[:12]}", class_="soft"),
    )


def kinds_line(result: Result) -> Element | None:
    """Return which variants of the leading resin it may be; None where it has but one."""
    kinds = ", ".join(f"{name} {share:.0%}" for name, share in result.variants[:4] if round(share, 2) > 0)
    return line(f"If {result.leader}: {kinds}.", class_="soft") if len(result.variants) > 1 else None


def no_data_lines(result: Result) -> list[Element]:
    """Return of which resins the table says nothing in what was observed."""
    return [
        line(
            f"No data on {name.replace('_', ' ')} (scored as an unlisted plastic): {', '.join(resins)}.", class_="soft"
        )
        for name, resins in result.no_data
        if resins
    ]


def steps_of(found: Suggestion, heat: Heat | None = None) -> list[Child]:
    """Return how to do a test: bath to mix, steps, caution; and that a hot test is no leave to heat the piece."""
    plan = found.plan
    steps: list[Child] = [*plan.steps]
    if plan.recipe is not None:
        mix = " into ".join(str(part) for part in plan.recipe.parts)
        steps.insert(0, f"Mix {plan.recipe.volume:.0f} mL: {mix}.")
    if plan.caution:
        steps.append(el("span", el("strong", "Caution: "), plan.caution))
    if plan.hazard == HOT_PLATE and heat is not None and not heat.allowed:
        steps.append(el("strong", SPECK_ONLY))
    return steps


def telling(found: Suggestion, *, settled: bool = False) -> str:
    """Return how likely a test settles the question, or leaves it settled, what it tells and how long it takes."""
    does = "leaves it settled" if settled else "settles it"
    return f"{does} in {100 * found.settles:.0f} % of cases, {found.bits:.2f} bits, about {found.plan.minutes:g} min"


def foreseen_table(found: Suggestion, shown: int = SHOWN) -> Element | None:
    """Return what a test may show, and what would then be most probable."""
    rows = [(seen.says, percent(seen.probability), f"{seen.answer} {percent(seen.then)}") for seen in found.outcomes]
    return grid("What it may show", ("it may show", "chance", "then most probable"), rows[:shown], numbers=(1,))


def suggestion_html(found: Suggestion) -> str:
    """Return a test that could be done next for a notebook."""
    return card(
        "Test to do next",
        line(f"{found.plan.label} ({telling(found)})", class_="name"),
        bullets(steps_of(found)),
        foreseen_table(found),
    )


def standing_line(advice: Advice) -> Element:
    """Return the verdict on going on, and why."""
    return line(el("strong", advice.verdict.capitalize()), f": {advice.reason}.")


def advice_html(advice: Advice) -> str:
    """Return the advice on what to do next for a notebook."""
    answers = ", ".join(f"{name} {percent(chance)}" for name, chance in advice.answers[:5])
    best = advice.best
    asked = f"{ASKED.get(advice.question, 'Which answer?')} {answers}"
    if advice.question == "heat":
        asked = f"{ASKED['heat']} It is {advice.result.headline}."
    tests = grid(
        "Tests that can be offered, best first",
        ("test", "leaves it settled" if advice.verdict == SETTLED else "settles", "min", "bits"),
        [
            (found.plan.label, f"{100 * found.settles:.0f} %", f"{found.plan.minutes:g}", f"{found.bits:.2f}")
            for found in advice.suggestions[:TESTS]
        ],
        numbers=(1, 2, 3),
    )
    return card(
        "What to do next",
        line(asked, class_="name"),
        heat_box(advice.result.heat),
        standing_line(advice),
        line(el("strong", "Most telling: " if advice.stop else "Next: "), best.plan.label) if best else None,
        bullets(steps_of(best, advice.result.heat)) if best else None,
        foreseen_table(best) if best else None,
        tests,
        fold(f"Not offered ({len(advice.withheld)})", bullets(withheld(advice.withheld))) if advice.withheld else None,
        line(f"resinid {advice.result.version}, table {advice.result.reference_digest[:12]}", class_="soft"),
    )


def withheld(pairs: Iterable[tuple[str, str]]) -> list[str]:
    """Return what is not offered and why, joined where the reason is the same."""
    by_reason: dict[str, list[str]] = {}
    for label, why in pairs:
        by_reason.setdefault(why, []).append(label)
    return [f"Not offered: {'; '.join(labels)}: {why}." for why, labels in by_reason.items()]
