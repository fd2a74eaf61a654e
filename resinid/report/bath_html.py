"""Liquids, recipes, corrections and ladders of baths, as HTML for a notebook."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from resinid.liquids.amounts import grams_shown, millilitres_shown
from resinid.report.markup import bullets, card, el, fold, grid, line
from resinid.report.planning_text import oil_order, rounding_text

if TYPE_CHECKING:
    from xml.etree.ElementTree import Element

    from resinid.liquids.correcting import Correction
    from resinid.liquids.liquid import Liquid
    from resinid.liquids.mixing import Ingredient, Recipe
    from resinid.planning.ladder import Ladder

__all__ = ["correction_html", "ladder_html", "liquid_html", "recipe_html"]


def _density(liquid: Liquid) -> str:
    return f"{liquid.density:.4f} ± {liquid.u:.4f} g/cm³ at {liquid.temperature:g} °C"


def _caution(text: str) -> Element | None:
    return line(el("strong", "Caution: "), text) if text else None


def _amount(part: Ingredient) -> tuple[str, str, str]:
    poured = "" if part.millilitres is None else millilitres_shown(part.millilitres, part.cylinder)
    return part.name, grams_shown(part.grams, part.scale), poured


def liquid_html(liquid: Liquid) -> str:
    """Return a liquid for a notebook: density, how it was found, what to beware of."""
    return card(
        "Liquid",
        line(f"{liquid.label or 'liquid'}: {_density(liquid)}", class_="name"),
        line(liquid.how) if liquid.how else None,
        _caution(liquid.caution),
        fold(f"Sources ({len(liquid.sources)})", line(", ".join(liquid.sources) or "none")),
    )


def recipe_html(recipe: Recipe) -> str:
    """Return a recipe for a notebook: what to mix, what it gives, what to beware of."""
    bath = recipe.liquid
    return card(
        "Recipe of a bath",
        line(f"{recipe.volume:g} mL of {_density(bath)}", class_="name"),
        grid("Put together", ("what", "mass", "volume"), map(_amount, recipe.parts), numbers=(1, 2)),
        line(
            "The ± is one standard uncertainty of recipe, scale, label, temperature and rounding: rounded so, the bath "
            f"is {rounding_text(recipe)}. Measure the settled bath."
        ),
        *_beware(recipe),
        fold(f"Sources ({len(bath.sources)})", line(", ".join(bath.sources) or "none")),
    )


def correction_html(found: Correction) -> str:
    """Return for a notebook what to add to a jug."""
    if found.add is None:
        said = [line("The jug has the wanted density already.", class_="name")]
    else:
        said = [
            line(f"Add {found.add}", class_="name"),
            line(f"That makes about {found.volume:.0f} mL. Stir, wait, measure again."),
        ]
    return card("Correction of a bath", *said, *_beware(found.bath))


def _beware(bath: Recipe) -> list[Element | None]:
    lit = f"Its vapour can be lit from about {bath.flash:.0f} °C on."
    return [line(lit) if math.isfinite(bath.flash) else None, _caution(bath.liquid.caution)]


def _ready(found: Ladder, number: int) -> str:
    return oil_order(found, number) if found.rungs[number - 1].liquid.oily else "stands ready"


def ladder_html(found: Ladder) -> str:
    """Return the baths of a ladder for a notebook, and where each resin ends."""
    baths = grid(
        "Baths, lightest first: skim off what floats, pass on what sinks",
        ("bath", "density [g/cm³]", "±", "what", "mix"),
        [
            (
                f"{number}",
                f"{rung.liquid.density:.4f}",
                f"{rung.liquid.u:.4f}",
                rung.liquid.label,
                " into ".join(map(str, rung.recipe.parts)) if rung.recipe else _ready(found, number),
            )
            for number, rung in enumerate(found.rungs, start=1)
        ],
        numbers=(1, 2),
    )
    ends = grid(
        "Where the pieces of each resin end",
        ("resin", *(f"floats in {number}" for number in range(1, len(found.rungs) + 1)), "sinks in all"),
        [(resin, *(f"{share:.0%}" for share in row)) for resin, row in zip(found.resins, found.shares, strict=True)],
        numbers=range(1, len(found.rungs) + 2),
    )
    cautions = dict.fromkeys(rung.liquid.caution for rung in found.rungs if rung.liquid.caution)
    return card(
        "Ladder of baths",
        line(
            f"{', '.join(found.resins)}: the fraction tells {found.bits:.2f} of {found.unknown:.2f} bits", class_="name"
        ),
        baths,
        ends,
        bullets(f"Caution: {caution}" for caution in cautions),
        line(f"Not offered: {found.withheld}.") if found.withheld else None,
    )
