"""Which items stop a bag by what they alone show, whatever its marks and its other items say.

A posterior over the whole bag explains a strange item away: among sixty marks of one resin a
piece that fits another was more likely measured wrongly. That it may be so is no leave to
heat it. Such an item is named, to be measured again or taken out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from resinid.arrays import Array
    from resinid.batches.items import Item
    from resinid.batches.mix_part import MixPart
    from resinid.batches.mixing_rules import Rules

__all__ = ["FOUND", "TAKE_OUT", "by_itself", "stopping"]

FOUND: Final = 0.5
"""Chance from which an item counts as found to be a resin (cautious choice)."""

SUSPECTED: Final = 0.15
"""Chance of a resin that must not be heated from which a measured item stops a bag by itself, unless it
is what the bag is marked as. A piece of polyethylene or polypropylene that was floated in water and in
40 % ethanol and nothing else has 8 to 12 %, one that was tested hot as well below 2 %; one of 1.40 g/cm3
62 %, one that sinks in saturated salt 49 % (this project's choice between these)."""

EXCLUDED: Final = 20.0
"""Odds of all other resins against what a bag is marked as from which a measured item is not that
(this project's choice)."""

AGAIN: Final = "measure it again or take it out"
TAKE_OUT: Final = f"{AGAIN}, and look at more of the bag"


def by_itself(part: MixPart, likelihood: Array) -> list[Array]:
    """Return the chances of what an item is, whatever else is in the bag, under each prior."""
    weighed = [likelihood * view.prior for view in part.views]
    return [each / each.sum() for each in weighed]


def stopping(part: MixPart, rules: Rules) -> tuple[str, ...]:
    """Return which items stop a bag by what they alone show, and why."""
    out: dict[str, str] = {}
    for group in part.posterior.groups:
        chances = max(by_itself(part, group.likelihood), key=lambda each: float(each @ rules.barred))
        if float(chances @ rules.barred) > FOUND:
            resin = rules.model.candidates[int((chances * rules.barred).argmax())]
            why = f"is by itself most likely {resin}, which must not be heated; {TAKE_OUT}"
            out.setdefault(group.what, f"{group.what} {why}")
    marked = _marked(part, rules)
    for item in part.items:
        why = _hazardous(part, item, rules, marked) or _excluded(part, item, rules, marked)
        if why:
            out.setdefault(item.what, f"{item.what} {why}: {AGAIN}")
    return tuple(out.values())


def _marked(part: MixPart, rules: Rules) -> list[int]:
    """Return the places of the resins that a bag is marked as: of counted marks, if most items have one."""
    counted = sum(count for _, count in part.batch.marked)
    return [rules.index(name) for name, _ in part.batch.marked] if 2 * counted > part.batch.items else []


def _hazardous(part: MixPart, item: Item, rules: Rules, marked: list[int]) -> str:
    """Return why an item may be hazardous by itself, by what was measured alone; empty where it need not be feared."""
    chances = max(by_itself(part, item.likelihood), key=lambda each: float(each @ rules.barred))
    hazard = float(chances @ rules.barred)
    if hazard <= SUSPECTED or (hazard <= FOUND and _explained(part, item, rules, marked)):
        return ""
    resin = rules.model.candidates[int((chances * rules.barred).argmax())]
    return (
        f"may by itself, by what was measured alone, be {resin} or another resin that must not be heated ({hazard:.0%})"
    )


def _explained(part: MixPart, item: Item, rules: Rules, marked: list[int]) -> bool:
    """Return whether what an item shows is as likely of what the bag is marked as as of what must not be heated."""
    if not marked:
        return False
    of_hazards = max(
        float(view.prior * rules.barred @ item.likelihood / (view.prior @ rules.barred)) for view in part.views
    )
    return float(item.likelihood[marked].max()) >= of_hazards


def _excluded(part: MixPart, item: Item, rules: Rules, marked: list[int]) -> str:
    """Return why an item is not what the bag is marked as, nor what that may be taken for without harm."""
    if not marked:
        return ""
    alike = np.any([rules.family(resin) for resin in marked], axis=0)
    odds = max(float(view.prior @ item.likelihood) for view in part.views) / float(item.likelihood[alike].max())
    if odds <= EXCLUDED:
        return ""
    names = " or ".join(rules.model.candidates[resin] for resin in marked)
    return f"is by itself, by what was measured alone, hardly {names}, as the bag is marked ({odds:.0f} to 1 against)"
