"""What the command line prints of plans, recipes and ladders: plain text that fits 80 columns."""

from __future__ import annotations

import math
import textwrap
from typing import TYPE_CHECKING, Final

from resinid.planning.question import ASKED
from resinid.report.cautions import reasons_beside
from resinid.report.piece_html import HOT_PLATE, SETTLED, SPECK_ONLY, telling
from resinid.report.piece_text import cautions_text, columns
from resinid.report.text import percent, wrapped

if TYPE_CHECKING:
    from resinid.liquids.correcting import Correction
    from resinid.liquids.mixing import Recipe
    from resinid.planning.advice import Advice, Suggestion
    from resinid.planning.ladder import Ladder

__all__ = [
    "advice_text",
    "correction_text",
    "held_back_text",
    "ladder_text",
    "oil_order",
    "recipe_text",
    "rounding_text",
    "standing_text",
    "suggestion_text",
    "withheld_count",
    "withheld_text",
]

SHOWN: Final = 5


def standing_text(advice: Advice) -> str:
    """Return the question and the leading answers on one or two lines."""
    answers = ", ".join(f"{name} {percent(chance)}" for name, chance in advice.answers[:SHOWN])
    if advice.question == "heat":
        asked = wrapped(f"{ASKED['heat']} {advice.result.heat.headline}.")
        return f"{asked}\n{wrapped(f'It is {advice.result.headline}.')}"
    return wrapped(f"{ASKED.get(advice.question, 'Which answer?')} {answers}")


def suggestion_text(found: Suggestion, first: str, advice: Advice) -> str:
    """Return a test as a person does it, after a word or number: what, how, what to mix, what to beware of.

    A hot test is no leave to heat the piece, which is said where it may not be heated.
    """
    plan = found.plan
    lines = [
        wrapped(f"{plan.label} ({telling(found, settled=advice.verdict == SETTLED)})", first, "  "),
        *(wrapped(step, "  ", "    ") for step in plan.steps),
    ]
    if plan.recipe is not None:
        lines.append(wrapped(f"Mix {plan.recipe.volume:.0f} mL: {_parts(plan.recipe)}.", "  ", "    "))
    if plan.caution:
        lines.append(wrapped(f"Caution: {plan.caution}", "  ", "    "))
    if plan.hazard == HOT_PLATE and not advice.result.heat.allowed:
        lines.append(wrapped(SPECK_ONLY, "  ", "    "))
    return "\n".join(lines)


def advice_text(advice: Advice, top: int, *, full: bool = False) -> str:
    """Return a whole advice: what is known, what to do, what else, what not; of that only how many if not ``full``."""
    heat = advice.result.heat
    known = [wrapped(f"Heating: {heat.headline}."), *(wrapped(why, "  - ", "    ") for why in reasons_beside(heat))]
    known.append(wrapped(f"It is {advice.result.headline}.") if advice.question == "heat" else standing_text(advice))
    parts = ["\n".join(known), wrapped(f"{advice.verdict.capitalize()}: {advice.reason}.")]
    if advice.best is not None and not (advice.question == "heat" and advice.verdict == SETTLED):
        parts.append(suggestion_text(advice.best, "Most telling: " if advice.stop else "Next: ", advice))
        foreseen = [
            (seen.says, percent(seen.probability), f"{seen.answer} {percent(seen.then)}")
            for seen in advice.best.outcomes
        ]
        parts.append(columns(("it may show", "chance", "then most probable"), _short(foreseen), right=[1]))
        rows = [
            (f"{100 * found.settles:.0f} %", f"{found.plan.minutes:g}", f"{found.bits:.2f}", found.plan.label)
            for found in advice.suggestions[: max(top, 1)]
        ]
        head = ("keeps" if advice.verdict == SETTLED else "settles", "min", "bits", "test")
        parts.append(columns(head, rows, right=range(3)))
    parts += withheld_text(advice) if full else withheld_count(advice, "--full says why")
    parts += held_back_text(advice)
    parts.append(cautions_text(advice.result))
    return "\n\n".join(parts)


def withheld_text(advice: Advice) -> list[str]:
    """Return what is not offered and why, one paragraph for each reason."""
    return [wrapped(f"Not offered: {label}: {why}.") for label, why in _once(advice.withheld)]


def withheld_count(advice: Advice, more: str) -> list[str]:
    """Return on a line how many tests are not offered, the commonest reason, and how to see the rest."""
    if not advice.withheld:
        return []
    reasons = sorted(_once(advice.withheld), key=lambda pair: -pair[0].count("; "))
    short = textwrap.shorten(reasons[0][1].partition(";")[0], 60, placeholder="...")
    number = len(advice.withheld)
    what = "1 test is" if number == 1 else f"{number} tests are"
    return [wrapped(f"Not offered: {what} held back ({short}); {more}.")]


def held_back_text(advice: Advice) -> list[str]:
    """Return which test would tell most if its danger were allowed, in a paragraph; nothing where none would."""
    if not advice.held_back or advice.verdict == SETTLED:
        return []
    best = advice.held_back[0]
    told = f"settles it in {100 * best.settles:.0f} % of cases, {best.bits:.2f} bits"
    allow = f'--allow "{best.plan.hazard}"' if " " in best.plan.hazard else f"--allow {best.plan.hazard}"
    return [
        wrapped(f"Of these, most would be told by: {best.plan.label} ({told}). {allow} offers it, with its caution.")
    ]


def _short(rows: list[tuple[str, str, str]]) -> list[tuple[str, str, str]]:
    return [(textwrap.shorten(says, 44, placeholder="..."), chance, then) for says, chance, then in rows[:SHOWN]]


def _once(withheld: tuple[tuple[str, str], ...]) -> list[tuple[str, str]]:
    """Join the labels that are withheld for the same reason."""
    by_reason: dict[str, list[str]] = {}
    for label, why in withheld:
        by_reason.setdefault(why, []).append(label)
    return [("; ".join(labels), why) for why, labels in by_reason.items()]


def _parts(recipe: Recipe) -> str:
    return " into ".join(str(part) for part in recipe.parts)


def recipe_text(recipe: Recipe) -> str:
    """Return a recipe: what to mix, what it gives, what to beware of."""
    bath = recipe.liquid
    lines = [
        f"{recipe.volume:g} mL of {bath.density:.4f} ± {bath.u:.4f} g/cm3 at {bath.temperature:g} °C:",
        *(f"  {part}" for part in recipe.parts),
    ]
    if len(recipe.parts) > 1 and recipe.parts[0].millilitres is not None:
        poured = sum(part.millilitres or 0.0 for part in recipe.parts)
        lines.append(wrapped(f"Volumes do not add up: {poured:.0f} mL poured together give {recipe.volume:.0f} mL."))
    lines.append(
        wrapped(
            "Measure the bath once it has settled; if it is high or low, give its density as --measured for what to "
            "add. The ± is one standard uncertainty of recipe, scale, label, temperature and rounding: rounded so, the "
            f"bath is {rounding_text(recipe)}."
        )
    )
    lines += _beware(recipe)
    lines.append(wrapped(f"Sources: {', '.join(bath.sources)}"))
    return "\n".join(lines)


def rounding_text(recipe: Recipe) -> str:
    """Return by how much the amounts as printed miss the density."""
    off = abs(recipe.rounding)
    if off < 5e-5:
        return "off by less than 0.0001 g/cm3"
    return f"{off:.4f} g/cm3 {'denser' if recipe.rounding > 0 else 'lighter'}"


def _beware(recipe: Recipe) -> list[str]:
    lines = []
    if math.isfinite(recipe.flash) and "can be lit from about" not in recipe.liquid.caution.partition(". ")[0]:
        lines.append(wrapped(f"Its vapour can be lit from about {recipe.flash:.0f} °C on."))
    if recipe.liquid.caution:
        lines.append(wrapped(f"Caution: {recipe.liquid.caution}"))
    return lines


def correction_text(found: Correction) -> str:
    """Return what to add to a jug, and what to beware of."""
    target = found.bath.liquid.density
    if found.add is None:
        said = f"It has {target:g} g/cm3 already."
    else:
        said = (
            f"Add {found.add}; that makes about {found.volume:.0f} mL of {target:g} g/cm3. Stir, wait, measure again."
        )
    return "\n".join([wrapped(said), *_beware(found.bath)])


def oil_order(found: Ladder, index: int) -> str:
    """Return when the oil of a ladder is used, by the number of its bath: last, and only for one fraction."""
    plain = [number for number, rung in enumerate(found.rungs, start=1) if not rung.liquid.oily]
    below, above = [n for n in plain if n < index], [n for n in plain if n > index]
    which = f"what floats in bath {above[0]}" if above else f"what sinks in bath {below[-1]}" if below else "the pieces"
    return f"Last of all, when every other bath is done: put {which} into it, then wash all of that with detergent."


def ladder_text(found: Ladder) -> str:
    """Return the baths of a ladder and where each resin ends."""
    lines = [
        wrapped(
            f"Lightest bath first; skim off what floats, pass on what sinks. The fraction tells {found.bits:.2f} of "
            f"{found.unknown:.2f} bits."
        )
    ]
    for index, rung in enumerate(found.rungs, start=1):
        lines.append(f"{index}. {rung.liquid.density:.4f} ± {rung.liquid.u:.4f} g/cm3, {rung.liquid.label}")
        if rung.liquid.oily:
            lines.append(wrapped(oil_order(found, index), "     ", "     "))
        if rung.recipe is not None:
            lines.append(wrapped(f"{rung.recipe.volume:.0f} mL: {_parts(rung.recipe)}", "     ", "     "))
    head = ("resin", *(f"in {index}" for index in range(1, len(found.rungs) + 1)), "sinks")
    rows = [(resin, *(f"{share:.0%}" for share in row)) for resin, row in zip(found.resins, found.shares, strict=True)]
    lines.append(columns(head, rows, right=range(1, len(head))))
    cautions = dict.fromkeys(rung.liquid.caution for rung in found.rungs if rung.liquid.caution)
    lines += [wrapped(f"Caution: {caution}") for caution in cautions]
    if found.withheld:
        lines.append(wrapped(f"Not offered: {found.withheld}."))
    return "\n".join(lines)
