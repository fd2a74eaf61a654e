"""Liquids, recipes, corrections and ladders of baths, as parts of a report."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from resinid.report.sections import Items, Line, Report, Table, sources_part

if TYPE_CHECKING:
    from resinid.liquids.correcting import Correction
    from resinid.liquids.liquid import Liquid
    from resinid.liquids.mixing import Recipe
    from resinid.planning.ladder import Ladder

__all__ = ["correction_report", "ladder_report", "liquid_report", "recipe_report"]


def _density(liquid: Liquid) -> str:
    return f"{liquid.density:.4f} ± {liquid.u:.4f} g/cm3 at {liquid.temperature:g} °C"


def _cautions(flash: float | None, caution: str) -> tuple[Line | None, ...]:
    """Return from where on a vapour can be lit, unless the caution begins with it, and the caution."""
    said = flash is None or not math.isfinite(flash) or "can be lit from about" in caution.partition(". ")[0]
    lit = None if said else Line(f"Its vapour can be lit from about {flash:.0f} °C on.")
    return lit, Line(caution, "Caution: ") if caution else None


def liquid_report(liquid: Liquid) -> Report:
    """Return a liquid's density, how it was found and what to beware of."""
    return Report(
        "Liquid",
        (
            Line(f"{liquid.label or 'liquid'}: {_density(liquid)}", kind="name"),
            Line(liquid.how) if liquid.how else None,
            *_cautions(liquid.flash, liquid.caution),
            sources_part(liquid.sources),
        ),
    )


def _rounding_words(recipe: Recipe) -> str:
    """Return by how much the amounts as printed miss the density."""
    off = abs(recipe.rounding)
    if off < 5e-5:
        return "off by less than 0.0001 g/cm3"
    return f"{off:.4f} g/cm3 {'denser' if recipe.rounding > 0 else 'lighter'}"


def recipe_report(recipe: Recipe) -> Report:
    """Return what to mix, what it gives, and what to beware of."""
    bath, volumes = recipe.liquid, None
    if len(recipe.parts) > 1 and recipe.parts[0].millilitres is not None:
        poured = sum(part.millilitres or 0.0 for part in recipe.parts)
        volumes = Line(f"Volumes do not add up: {poured:.0f} mL poured together give {recipe.volume:.0f} mL.")
    return Report(
        "Recipe of a bath",
        (
            Line(f"{recipe.volume:g} mL of {_density(bath)}:", kind="name"),
            Items(tuple(map(str, recipe.parts))),
            volumes,
            Line(
                "Measure the bath once it has settled; if it is high or low, give its density as --measured for what "
                "to add. The ± is one standard uncertainty of recipe, scale, label, temperature and rounding: rounded "
                f"so, the bath is {_rounding_words(recipe)}."
            ),
            *_cautions(recipe.flash, bath.caution),
            sources_part(bath.sources),
        ),
    )


def correction_report(found: Correction) -> Report:
    """Return what to add to a jug, and what to beware of."""
    target = f"{found.bath.liquid.density:g} g/cm3"
    said: tuple[Line, ...] = (Line(f"It has {target} already.", kind="name"),)
    if found.add is not None:
        makes = Line(f"That makes about {found.volume:.0f} mL of {target}. Stir, wait, measure again.")
        said = Line(f"Add {found.add}.", kind="name"), makes
    return Report("Correction of a bath", (*said, *_cautions(found.bath.flash, found.bath.liquid.caution)))


def _oil_order(found: Ladder, index: int) -> str:
    """Return when the oil of a ladder is used, by the number of its bath: last, and only for one fraction."""
    plain = [number for number, rung in enumerate(found.rungs, start=1) if not rung.liquid.oily]
    below, above = [n for n in plain if n < index], [n for n in plain if n > index]
    which = f"what floats in bath {above[0]}" if above else f"what sinks in bath {below[-1]}" if below else "the pieces"
    return f"Last of all, when every other bath is done: put {which} into it, then wash all of that with detergent."


def ladder_report(found: Ladder) -> Report:
    """Return the baths of a ladder and where each resin ends."""
    baths = []
    for number, rung in enumerate(found.rungs, start=1):
        liquid = rung.liquid
        mix = _oil_order(found, number) if liquid.oily else "stands ready"
        if rung.recipe is not None:
            mix = f"{rung.recipe.volume:.0f} mL: {' into '.join(map(str, rung.recipe.parts))}"
        baths.append((f"{number}", f"{liquid.density:.4f}", f"{liquid.u:.4f}", f"{liquid.label}: {mix}"))
    ends = [(resin, *(f"{share:.0%}" for share in row)) for resin, row in zip(found.resins, found.shares, strict=True)]
    head = ("resin", *(f"in {number}" for number in range(1, len(found.rungs) + 1)), "sinks")
    cautions = dict.fromkeys(rung.liquid.caution for rung in found.rungs if rung.liquid.caution)
    return Report(
        "Ladder of baths",
        (
            Line(
                f"{', '.join(found.resins)}: the fraction tells {found.bits:.2f} of {found.unknown:.2f} bits",
                kind="name",
            ),
            Table(
                "Baths, lightest first: skim off what floats, pass on what sinks",
                ("bath", "[g/cm3]", "±", "what to mix"),
                baths,
                (1, 2),
            ),
            Table("Where the pieces of each resin end", head, ends, range(1, len(head))),
            *(Line(caution, "Caution: ") for caution in cautions),
            Line(f"Not offered: {found.withheld}.") if found.withheld else None,
        ),
    )
