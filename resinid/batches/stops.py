"""Which items stop a bag by what they alone show, whatever its marks and its other items say.

A posterior over the whole bag explains a strange item away: among sixty marks of one resin a
piece that fits another was more likely measured wrongly. That it may be so is no leave to
heat it. Such an item is named, to be measured again or taken out.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.scoring.contradiction import contradicting, trusting
from resinid.scoring.posterior import posterior

if TYPE_CHECKING:
    from resinid.arrays import Array
    from resinid.batches.item_evidence import ItemGroup
    from resinid.batches.mix_part import MixPart
    from resinid.batches.mixing_rules import Rules

__all__ = ["FOUND", "TAKE_OUT", "by_itself", "stopping"]

FOUND: Final = 0.5
"""Chance from which an item counts as found to be a resin (cautious choice)."""

SUSPECTED: Final = 0.15
"""Chance of a kind that must not be heated from which a measured item stops a bag by itself, unless it
is what the bag is marked as. A piece of polyethylene or polypropylene that was floated in water and in
40 % ethanol and nothing else has 8 to 12 %, one that was tested hot as well below 2 %; one of 1.40 g/cm3
62 %, one that sinks in saturated salt 49 % (this project's choice between these)."""

EXCLUDED: Final = 20.0
"""Odds of all other resins against what a bag is marked as from which a measured item is not that
(this project's choice)."""

AGAIN: Final = "measure it again or take it out"
TAKE_OUT: Final = f"{AGAIN}, and look at more of the bag"


def by_itself(part: MixPart, group: ItemGroup, rules: Rules) -> list[Array]:
    """Return the chances of what an item is, by kind and whatever else is in the bag, under each prior."""
    model = rules.model
    share = model.kind_gathering.sum(axis=0)
    weighed = [group.kinds * view.prior[model.kind_owner] * share for view in part.seen_fully]
    return [each / each.sum() for each in weighed]


def stopping(part: MixPart, rules: Rules) -> tuple[str, ...]:
    """Return which items stop a bag by what they alone show, and why."""
    out: dict[str, str] = {}
    for group in part.posterior.groups:
        chances = max(by_itself(part, group, rules), key=lambda each: float(each @ rules.barred_kinds))
        if float(chances @ rules.barred_kinds) > FOUND:
            why = f"is by itself most likely {_worst(chances, rules)}, which must not be heated; {TAKE_OUT}"
            out.setdefault(group.what, f"{group.name} {why}")
    marked = _marked(part, rules)
    for group in part.measured:
        why = (
            _hazardous(part, group, rules, marked)
            or _excluded(part, group, rules, marked)
            or _contradicting(part, group, rules)
        )
        if why:
            out.setdefault(group.what, f"{group.name} {why}: {AGAIN}")
    return tuple(out.values())


def _worst(chances: Array, rules: Rules) -> str:
    kind = int((chances * rules.barred_kinds).argmax())
    name = rules.model.candidates[int(rules.model.kind_owner[kind])]
    return f"flame-retarded {name}" if rules.model.retarded[kind] else name


def _marked(part: MixPart, rules: Rules) -> list[int]:
    """Return the places of the resins that a bag is marked as: of counted marks, if most items have one."""
    counted = sum(count for _, count in part.batch.marked)
    return [rules.index(name) for name, _ in part.batch.marked] if 2 * counted > part.batch.items else []


def _hazardous(part: MixPart, group: ItemGroup, rules: Rules, marked: list[int]) -> str:
    """Return why an item may be hazardous by itself, by what was measured alone; empty where it need not be feared."""
    chances = max(by_itself(part, group, rules), key=lambda each: float(each @ rules.barred_kinds))
    hazard = float(chances @ rules.barred_kinds)
    if hazard <= SUSPECTED or (hazard <= FOUND and _explained(part, group, rules, marked)):
        return ""
    what = f"be {_worst(chances, rules)} or another resin that must not be heated ({hazard:.0%})"
    return f"may by itself, by what was measured alone, {what}"


def _contradicting(part: MixPart, group: ItemGroup, rules: Rules) -> str:
    """Return why an item's readings stop a bag: trusted in turn they speak for a hazard, or for what does not mix."""
    in_doubt = contradicting(rules.model, group.terms, rules.cautious)
    if not in_doubt:
        return ""
    model = rules.model
    evidence = model.evidence(group.terms)
    prior = np.max([view.prior for view in part.seen_fully], axis=0)[model.kind_owner]
    trusted = [posterior(prior, trusting(evidence.kinds, evidence.kind_outlier[index])) for index in in_doubt]
    hazard = max(float(chances @ rules.barred_kinds) for chances in trusted)
    leaders = {int(model.by_candidate(chances).argmax()) for chances in trusted}
    one_family = all(rules.family(one)[other] for one in leaders for other in leaders if one < rules.barred.size - 1)
    return "" if hazard <= SUSPECTED and one_family else "has readings that contradict each other"


def _explained(part: MixPart, group: ItemGroup, rules: Rules, marked: list[int]) -> bool:
    """Return whether what an item shows is as likely of what the bag is marked as as of what must not be heated."""
    if not marked:
        return False
    model = rules.model
    share = model.kind_gathering.sum(axis=0) * rules.barred_kinds
    weights = [view.prior[model.kind_owner] * share for view in part.seen_fully]
    of_hazards = max(float(weight @ group.kinds / weight.sum()) for weight in weights)
    return float(group.resins[marked].max()) >= of_hazards


def _excluded(part: MixPart, group: ItemGroup, rules: Rules, marked: list[int]) -> str:
    """Return why an item is not what the bag is marked as, nor what that may be taken for without harm."""
    if not marked:
        return ""
    alike = np.any([rules.family(resin) for resin in marked], axis=0)
    odds = max(float(view.prior @ group.resins) for view in part.seen_fully) / float(group.resins[alike].max())
    if odds <= EXCLUDED:
        return ""
    names = " or ".join(rules.model.candidates[resin] for resin in marked)
    return f"is by itself, by what was measured alone, hardly {names}, as the bag is marked ({odds:.0f} to 1 against)"
