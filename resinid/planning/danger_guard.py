"""Which tests that heat or burn the piece may be offered, given what it may be."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from resinid.heating.verdict import MOST_BORNE
from resinid.identification.score import heat_rule_of, model_of
from resinid.methods.dangers import BURN, HOT_PLATE

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.arrays import Array
    from resinid.heating.rule import HeatRule
    from resinid.methods.test_plan import TestPlan
    from resinid.reference.table import ReferenceTable


__all__ = ["DangerGuard"]

LIKELIER: Final = 0.5
"""Chance of resins that must not be heated from which no plate is offered, allowed or not (cautious choice)."""


class DangerGuard:
    """Decides which dangerous plans may be offered, given what is known."""

    def __init__(
        self,
        seen: Sequence[Array],
        reference: ReferenceTable,
        prior: Array,
        *,
        allowed: Sequence[str],
        limit: float,
        found: tuple[str, ...],
    ) -> None:
        never = {symbol for hazard in reference.hazards for symbol in hazard.never_with}
        rule, candidates = heat_rule_of(reference), model_of(reference).candidates
        barred = dict(zip(candidates, rule.barred.tolist(), strict=True))
        # A caller's prior may raise what is feared, never lower it.
        feared = max(
            (view for chances in seen for view in (chances, _cautiously(chances, rule, prior))),
            key=lambda chances: float(chances @ rule.barred),
        )
        risks = sorted(zip(candidates, feared.tolist(), strict=True), key=lambda pair: -pair[1])
        self._never = [pair for pair in risks if pair[0] in never]
        self._barred = [pair for pair in risks if barred[pair[0]] or pair[0] in never]
        self._allowed, self._limit, self._found = allowed, limit, found

    def forbidden(self, plan: TestPlan) -> bool:
        """Return whether a plan stays forbidden whatever the cold tests say."""
        return plan.hazard not in {"", HOT_PLATE, *self._allowed}

    def why(self, plan: TestPlan) -> str:
        """Return why a plan is not offered; nothing where it is."""
        if self.forbidden(plan):
            return f"{plan.hazard} is dangerous and was not allowed"
        if plan.hazard not in {HOT_PLATE, BURN}:
            return ""
        if self._found:
            return f"do not heat: {self._found[0]}"
        if plan.hazard == HOT_PLATE and HOT_PLATE in self._allowed:
            return _while(self._barred, LIKELIER)
        return self._unlit()

    def could(self, plan: TestPlan) -> bool:
        """Return whether a plan would be offered if its danger, which is not, were allowed."""
        return self.forbidden(plan) and not self._found and not (plan.hazard == BURN and self._unlit())

    def _unlit(self) -> str:
        return _while(self._barred, MOST_BORNE) or _while(self._never, self._limit)


def _cautiously(by_resin: Array, rule: HeatRule, prior: Array) -> Array:
    weighed = by_resin * rule.cautious / prior
    out: Array = weighed / weighed.sum()
    return out


def _while(risks: Sequence[tuple[str, float]], limit: float) -> str:
    """Say that nothing is heated while the piece may be one of these, or nothing where all together are unlikely."""
    # A table that names no such resin says nothing of what must not be heated.
    if risks and sum(chance for _, chance in risks) < limit:
        return ""
    worst = ", ".join(f"{name} {chance:.1%}" for name, chance in risks[:2]) or "what no hazard of the table names"
    total = sum(chance for _, chance in risks)
    return (
        f"do not heat while the piece may be {worst} or another such resin, {total:.1%} in all; below {limit:.0%} is "
        "asked for"
    )
