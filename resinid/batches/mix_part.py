"""One batch as part of a mix: what it consists of, how dangerous that is, and draws of it and of its melt flow rate."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.batches.bag_posterior import CONCENTRATION, views_of
from resinid.batches.melt_flow import Flow, flow_of, same_condition
from resinid.batches.minority_share import Expected, expected, lesser_of
from resinid.batches.mixing_rules import Rules, mixing_rules
from resinid.batches.stops import stopping

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.arrays import Array
    from resinid.batches.bag import Batch
    from resinid.batches.bag_shares import BagPosterior
    from resinid.batches.item_evidence import ItemGroup
    from resinid.reference.table import ReferenceTable

__all__ = ["DRAWS", "MixPart", "danger_by_resin", "danger_of", "mix_part"]

DRAWS: Final = 400
"""Draws over which an answer is averaged; the standard error of a chance is then at most 0.025."""

NOTICED: Final = 0.05
"""Expected share from which a resin counts in how a bag's melt flows (common practice, no source)."""

UNLIKELY: Final = 1e-5
"""Main kinds of less probability are left out of what may meet."""

MEASURED: Final = "by what was measured alone"


@dataclass(frozen=True, slots=True)
class MixPart:
    """One batch of a mix: its posterior, and draws of its shares and of its melt flow rate.

    ``stream`` is the batch's own number; ``views`` are those under the caller's prior and under the cautious
    one, by all that was seen and by what was measured alone; ``posterior`` and all drawn from it are the first;
    ``worst`` is what is expected of it in the view in which most of it is dangerous, ``worst_view`` that view,
    and ``seen`` says which that is, where it is not that of everything that was seen; ``stops`` says which
    items stop the bag by what they alone show, and why.
    """

    batch: Batch
    stream: int
    posterior: BagPosterior
    views: tuple[BagPosterior, ...]
    worst: Expected
    worst_view: BagPosterior
    seen: str
    shares: Array
    main: int
    flow: Flow | None
    log_rate: Array
    stops: tuple[str, ...] = ()

    @property
    def mean(self) -> Array:
        """Expected shares."""
        return self.posterior.mean()

    @property
    def seen_fully(self) -> tuple[BagPosterior, ...]:
        """The posterior by all that was seen, under either prior."""
        return self.views[:2]

    @property
    def measured(self) -> tuple[ItemGroup, ...]:
        """Items of which something was measured, by that alone."""
        return tuple(group for group in self.views[-1].groups if group.measured)


def mix_part(
    batch: Batch,
    reference: ReferenceTable,
    prior: str | Mapping[str, float] = "default",
    concentration: float = CONCENTRATION,
) -> MixPart:
    """Return a batch with its draws, which depend on that batch only."""
    rules = mixing_rules(reference)
    views = views_of(batch, reference, prior, concentration, measured=True)
    posterior = views[0]
    ways = [(view, "" if place < 2 else MEASURED) for place, view in enumerate(views)]
    view, seen = max(ways, key=lambda way: danger_of(way[0], rules, batch.holds))
    worst = expected(view.by_resin, view.weights, rules.clashing)
    if batch.holds == 1:  # one item has nothing to meet
        worst = replace(worst, lesser=np.zeros_like(worst.lesser))
    main = int(posterior.mean().argmax())
    flow = _flow(batch, posterior.mean(), main, rules) if main < len(reference.symbols) else None
    stream = batch.stream
    standard = np.random.default_rng((stream, 1)).standard_normal(DRAWS)
    log_rate = flow.mean + flow.sd * standard if flow else standard
    draws = posterior.draws(DRAWS, stream)
    if batch.holds is not None and posterior.groups:
        draws = _with_known(draws, posterior, batch, stream)
    part = MixPart(batch, stream, posterior, views, worst, view, seen, draws, main, flow, log_rate)
    return replace(part, stops=stopping(part, rules))


def _flow(batch: Batch, mean: Array, main: int, rules: Rules) -> Flow | None:
    """Return how runny the melt of a batch is: measured, or that of the resins of one family in it, by its shares."""
    reference = rules.model.reference
    own = flow_of(batch, rules.model.candidates[main], reference)
    if own is None or batch.mfr is not None:
        return own
    family = [k for k in np.flatnonzero(rules.family(main)[:-1]).tolist() if mean[k] >= NOTICED]
    flows = [(mean[k], flow_of(batch, rules.model.candidates[k], reference)) for k in family]
    parts = [(share, flow) for share, flow in flows if flow and same_condition(flow.condition, own.condition)]
    if len(parts) < 2:
        return own
    total = sum(share for share, _ in parts)
    middle = sum(share * flow.mean for share, flow in parts) / total
    sd = math.sqrt(sum(share * flow.sd**2 for share, flow in parts) / total)
    names = " and ".join(rules.model.candidates[k] for k in family)
    sources = tuple(sorted({key for _, flow in parts for key in flow.sources}))
    return Flow(float(middle), sd, own.condition, f"{own.basis}, by its shares of {names}", sources)


def _with_known(draws: Array, posterior: BagPosterior, batch: Batch, stream: int) -> Array:
    """Return draws of the shares of a bag of which a known part was looked at: items read alike are alike."""
    rng = np.random.default_rng((stream, 2))
    whole = float(max(batch.holds or 0, posterior.count))
    out = draws * (1.0 - posterior.count / whole)
    for group, chances in zip(posterior.groups, posterior.items, strict=True):
        edges = np.cumsum(np.bincount(posterior.owner, weights=chances))
        picked = np.searchsorted(edges, rng.random(len(draws)) * edges[-1])
        out[np.arange(len(draws)), np.minimum(picked, edges.size - 1)] += group.count / whole
    return out


def danger_by_resin(view: BagPosterior, holds: int | None = None) -> Array:
    """Return the chance that the next piece of a bag is of a resin that must not be heated, shape (resins + 1,).

    Where it is known how many items the bag holds, those that were looked at count as what they are. No answer
    is below that for the item which is most likely such.
    """
    by_kind = view.kinds() * view.barred
    looked_at = view.count
    if holds is not None and holds >= looked_at > 0:
        counts = np.array([group.count for group in view.groups], dtype=np.float64)
        known = counts @ view.items * view.barred
        by_kind = (known + (holds - looked_at) * by_kind) / holds
    out = np.bincount(view.owner, weights=by_kind).astype(np.float64)
    if view.groups:
        worst = view.items[int((view.items @ view.barred).argmax())] * view.barred
        if float(worst.sum()) > float(out.sum()):
            out = np.bincount(view.owner, weights=worst).astype(np.float64)
    return out


def danger_of(view: BagPosterior, rules: Rules, holds: int | None = None) -> float:
    """Return the danger of a bag by itself: of what must not be heated, and of resins that must not meet."""
    if holds == 1:
        return float(danger_by_resin(view, holds).sum())
    first, second = rules.clashing
    safe = (rules.barred[first] == 0.0) & (rules.barred[second] == 0.0)
    likely = view.weights > UNLIKELY
    meeting = lesser_of(view.by_resin[likely], view.weights[likely], (first[safe], second[safe]))
    return float(danger_by_resin(view, holds).sum() + meeting.sum())
