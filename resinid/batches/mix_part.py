"""One batch as part of a mix: draws of what it consists of and of its melt flow rate."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.batches.bag_posterior import CONCENTRATION, BagPosterior, Views, views_of
from resinid.batches.items import Item, items_of
from resinid.batches.melt_flow import Flow, flow_of
from resinid.batches.minority_share import Expected, expected
from resinid.batches.mixing_rules import mixing_rules

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.arrays import Array
    from resinid.batches.bag import Batch
    from resinid.reference.table import ReferenceTable

__all__ = ["DRAWS", "MixPart", "mix_part"]

DRAWS: Final = 400
"""Draws over which an answer is averaged; the standard error of a chance is then at most 0.025."""

ONE_MAKE: Final = "if its items are of one make"
MEASURED: Final = "by what was measured alone"


@dataclass(frozen=True, slots=True)
class MixPart:
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


def mix_part(
    batch: Batch,
    reference: ReferenceTable,
    prior: str | Mapping[str, float] = "default",
    concentration: float = CONCENTRATION,
) -> MixPart:
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
    return MixPart(batch, posterior, views, items, worst, seen, draws, main, flow, log_rate)
