"""Several batches put together: draws of the mix's shares and of how well the melts' flows match."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.batches.bag_posterior import CONCENTRATION, BagPosterior, Views, views_of
from resinid.batches.items import Item, items_of
from resinid.batches.melt_flow import LARGEST_RATIO, RULE_ERROR, Flow, flow_of, same_condition
from resinid.batches.minority_share import Expected, expected
from resinid.batches.mix_outcome import tolerated
from resinid.batches.mixing_rules import Rules, mixing_rules
from resinid.reference.rules import Z90

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from resinid.arrays import Array
    from resinid.batches.bag import Batch
    from resinid.reference.table import ReferenceTable

__all__ = ["DRAWS", "FLOW_NOTICE", "MeltFlow", "Mix", "Part", "mix_of", "part_of"]

DRAWS: Final = 400
"""Draws over which an answer is averaged; the standard error of a chance is then at most 0.025."""

ONE_MAKE: Final = "if its items are of one make"
MEASURED: Final = "by what was measured alone"

UNKNOWN: Final = 0.5
"""Chance that two grades flow alike where their rates were measured under different conditions (this project's
choice: nothing is known, and it is not to count as alike)."""

FLOW_NOTICE: Final = 0.05
"""Share of another grade of one resin below which it is not noticed (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class MeltFlow:
    """Melt flow rate of a mix by the log rule [g/10 min]: median and 90 % interval.

    ``valid`` says whether the rates differ by no more than the rule is stated to bear.
    """

    median: float
    low: float
    high: float
    condition: str
    basis: tuple[str, ...]
    ratio: float
    valid: bool


@dataclass(frozen=True, slots=True)
class Part:
    """One batch of a mix: its posterior, and draws of its shares and of its melt flow rate.

    ``views`` are those under the caller's prior and under the cautious one, of which ``posterior`` and
    all drawn from it are the first; ``items`` is what each item shows by itself; ``worst`` is what is
    expected of it in the view in which most of it is dangerous, and ``seen`` says which view that is,
    where it is not that of everything that was seen.
    """

    batch: Batch
    posterior: BagPosterior
    views: tuple[Views, ...]
    items: tuple[Item, ...]
    worst: Expected
    seen: str
    shares: Array
    main: int
    flow: Flow | None
    log_rate: Array

    @property
    def mean(self) -> Array:
        """Expected shares."""
        return self.posterior.mean()

    @property
    def seen_fully(self) -> tuple[BagPosterior, ...]:
        """The posterior by all that was seen, under either prior, of many makes and of one."""
        return tuple(each for view in self.views for each in (view.made, *view.alike))


@dataclass(frozen=True, slots=True)
class Mix:
    """Batches that may be melted together.

    Parameters
    ----------
    parts : tuple of Part
    weights : tuple of float
        Mass shares of the batches; they add up to one.
    rules : Rules
    """

    parts: tuple[Part, ...]
    weights: tuple[float, ...]
    rules: Rules

    def shares(self, weights: Sequence[float] | None = None) -> Array:
        """Return draws of the resins' shares in the mix, shape (draws, resins + 1)."""
        chosen = self.weights if weights is None else weights
        # Sorted, so that the order in which batches are given cannot change a digit.
        terms = sorted(
            ((part.batch.stream, weight * part.shares) for part, weight in zip(self.parts, chosen, strict=True)),
            key=lambda term: term[0],
        )
        total: Array = np.sum([term for _, term in terms], axis=0)
        return total

    def even_flow(self, weights: Sequence[float] | None = None) -> Array:
        """Return for each draw the chance that no two batches of one kind differ too much in flow."""
        chosen = self.weights if weights is None else weights
        out = np.ones(self.parts[0].log_rate.size)
        for (one, w_one), (other, w_other) in itertools.combinations(zip(self.parts, chosen, strict=True), 2):
            if self.comparable(one, other):
                near: Array | float = (np.abs(one.log_rate - other.log_rate) <= math.log(LARGEST_RATIO)).astype(float)
            elif self.at_odds(one, other):
                near = UNKNOWN
            else:
                continue
            unnoticed = float(tolerated(np.array(min(w_one, w_other)), FLOW_NOTICE))
            out *= unnoticed + (1.0 - unnoticed) * near
        return out

    def comparable(self, one: Part, other: Part) -> bool:
        """Return whether two batches' rates can be compared: one kind of resin, one condition."""
        if one.flow is None or other.flow is None:
            return False
        return bool(self.rules.family(one.main)[other.main]) and same_condition(
            one.flow.condition, other.flow.condition
        )

    def at_odds(self, one: Part, other: Part) -> bool:
        """Return whether a rate was measured that cannot be compared with that of its own kind of resin."""
        if one.flow is None or other.flow is None or self.comparable(one, other):
            return False
        measured = "measured" in {one.flow.basis, other.flow.basis}
        return measured and bool(self.rules.family(one.main)[other.main])

    def melt_flow(self) -> MeltFlow | None:
        """Return the mix's melt flow rate; None where the batches' rates cannot be compared."""
        if any(part.flow is None for part in self.parts):
            return None
        if not all(self.comparable(self.parts[0], part) for part in self.parts[1:]):
            return None
        flows = [part.flow for part in self.parts if part.flow is not None]
        mean = math.fsum(weight * flow.mean for weight, flow in zip(self.weights, flows, strict=True))
        ratio = math.exp(max(flow.mean for flow in flows) - min(flow.mean for flow in flows))
        # Equal batches have one rate, not two independent ones: their spreads add.
        spread: dict[int, float] = {}
        for part, weight, flow in zip(self.parts, self.weights, flows, strict=True):
            spread[part.batch.stream] = spread.get(part.batch.stream, 0.0) + weight * flow.sd
        sd = math.hypot(*spread.values(), RULE_ERROR if ratio > 1.0 else 0.0)
        reach = Z90 * sd
        return MeltFlow(
            median=math.exp(mean),
            low=math.exp(mean - reach),
            high=math.exp(mean + reach),
            condition=flows[0].condition,
            basis=tuple(flow.basis for flow in flows),
            ratio=ratio,
            valid=ratio <= LARGEST_RATIO,
        )


def part_of(
    batch: Batch,
    reference: ReferenceTable,
    prior: str | Mapping[str, float] = "default",
    concentration: float = CONCENTRATION,
) -> Part:
    """Return a batch with its draws, which depend on that batch only."""
    rules = mixing_rules(reference)
    views = views_of(batch, reference, prior, concentration, measured=True)
    posterior = views[0].both_ways()
    ways = [(view.made, "") for view in views]
    ways += [(made, ONE_MAKE) for view in views for made in view.alike]
    ways += [(made, MEASURED) for view in views for made in view.measured]
    worst, seen = max(
        ((expected(made.alpha, made.counts.counts, made.counts.weights, rules.clashing), said) for made, said in ways),
        key=lambda found: float(found[0].mean @ rules.barred + found[0].lesser.sum()),
    )
    main = int(posterior.mean().argmax())
    flow = flow_of(batch, rules.model.candidates[main], reference) if main < len(reference.symbols) else None
    standard = np.random.default_rng((batch.stream, 1)).standard_normal(DRAWS)
    log_rate = flow.mean + flow.sd * standard if flow else standard
    draws = posterior.draws(DRAWS, batch.stream)
    items = items_of(batch, rules.model)
    return Part(batch, posterior, views, items, worst, seen, draws, main, flow, log_rate)


def mix_of(parts: Sequence[Part], weights: Sequence[float], reference: ReferenceTable) -> Mix:
    """Return a mix of batches, its weights made to add up to one."""
    total = math.fsum(weights)
    return Mix(tuple(parts), tuple(weight / total for weight in weights), mixing_rules(reference))
