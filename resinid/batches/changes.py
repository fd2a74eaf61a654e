"""What would change a verdict: other shares, or a test."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
from scipy.special import softmax

from resinid.batches.hazards import forbidding_reasons, total_danger
from resinid.batches.minority_share import just
from resinid.batches.mix_flow import even_flow
from resinid.batches.outcome import chances_of, judged
from resinid.heating.verdict import DANGER_LIMIT, MOST_BORNE
from resinid.io.build import build
from resinid.io.liquid_parser import parse_liquid
from resinid.liquids.flash import may_be_lit
from resinid.methods._guard import term_of
from resinid.methods.registry import find_test

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.arrays import Array
    from resinid.batches.mix import Mix
    from resinid.batches.mix_part import MixPart

__all__ = ["Change", "Gain", "changes", "gains"]

STEPS: Final = 12
"""Shares tried to either side before the change is narrowed down."""

SMALL: Final = (0.02, 0.01, 0.005, 0.002)
"""Shares tried close to the ends, where little may be tolerated."""

NARROWED: Final = 7
"""Halvings after that."""

PLAUSIBLE: Final = 0.005
"""Resins expected below this share do not count in what a test may show."""

MOST_TESTS: Final = 5

COLD: Final[tuple[tuple[str, Mapping[str, object], tuple[str, ...]], ...]] = (
    ("float", {"liquid": "water"}, ("floats", "sinks")),
    ("float", {"liquid": "ethanol 40 %v/v"}, ("floats", "sinks")),
    ("float", {"liquid": "ethanol 55 %v/v"}, ("floats", "sinks")),
    ("float", {"liquid": "table salt 110 g/kg water"}, ("floats", "sinks")),
    ("float", {"liquid": "table salt saturated"}, ("floats", "sinks")),
    ("feel", {}, ("limp", "flexible", "semi-rigid", "rigid")),
    ("snap", {}, ("snaps", "creases", "springs back")),
    ("whitening", {}, ("none", "slight", "strong")),
)
"""Tests without heat: name, fixed fields, and the values of the field ``outcome``."""

HOT: Final = (110.0, 120.0, 130.0, 145.0, 160.0, 180.0, 200.0, 220.0)
"""[degC] A speck on a hot plate is tried at these, only once the cold tests have made PVC and acetal unlikely."""

LIT: Final = (
    "such a bath may be lit: only outdoors or under extraction, covered, with no flame, switch or hot plate near, "
    "as local codes say"
)
"""Caution of baths whose vapour may be lit."""

SPECK: Final = "a speck only, with extraction, after the cold tests"
TESTER: Final = "needs a melt flow tester and some grams of melt: only for stock that may be heated"


@dataclass(frozen=True, slots=True)
class Change:
    """The nearest share of a batch in the mix at which the verdict would become another."""

    batch: str
    share: float
    verdict: str


@dataclass(frozen=True, slots=True)
class Gain:
    """How far a test of a batch is expected to move the chances of the four outcomes (0 to 1)."""

    batch: str
    test: str
    gain: float
    caution: str


def _verdict(mix: Mix, weights: tuple[float, ...]) -> str:
    return judged((*chances_of(mix, mix.shares(weights), weights), 0.0))


def changes(mix: Mix) -> tuple[Change, ...]:
    """Return for each batch the nearest share at which the verdict changes, the others in proportion.

    Only for a mix that may be heated: no shares make a dangerous one harmless.
    """
    now = _verdict(mix, mix.weights)
    out: list[Change] = []
    # Of two batches one's share settles the other's.
    for place, part in enumerate(mix.parts[: 1 if len(mix.parts) == 2 else None]):
        near = [found for end in (0.0, 1.0) for found in [_towards(mix, place, end, now)] if found]
        if near:
            share, verdict = min(near, key=lambda found: abs(found[0] - mix.weights[place]))
            out.append(Change(part.batch.name, share, verdict))
            if len(mix.parts) == 2:
                out.append(Change(mix.parts[1].batch.name, 1.0 - share, verdict))
    return tuple(out)


def _towards(mix: Mix, place: int, end: float, now: str) -> tuple[float, str] | None:
    start = mix.weights[place]
    before = start
    coarse = np.linspace(start, end, STEPS + 1)[1:-1].tolist()
    inward = 1.0 if end == 0.0 else -1.0
    for step in (*coarse, *(end + inward * small for small in SMALL if small < abs(start - end) / STEPS)):
        if _verdict(mix, _with(mix.weights, place, step)) != now:
            same, other = before, step
            for _ in range(NARROWED):
                middle = 0.5 * (same + other)
                if _verdict(mix, _with(mix.weights, place, middle)) == now:
                    same = middle
                else:
                    other = middle
            return other, _verdict(mix, _with(mix.weights, place, other))
        before = step
    return None


def _with(weights: tuple[float, ...], place: int, share: float) -> tuple[float, ...]:
    rest = 1.0 - weights[place]
    return tuple(share if k == place else w * (1.0 - share) / rest for k, w in enumerate(weights))


def gains(mix: Mix) -> tuple[Gain, ...]:
    """Return the tests expected to move the chances most, best first.

    For each batch, what its main resin may be is weighed with what the verdict would be for
    each, and every test by how far, on average over what it may show, it would move the
    chances (half the sum of the absolute changes).
    """
    out: list[Gain] = []
    for place, part in enumerate(mix.parts):
        mean = part.mean
        plausible = np.flatnonzero(mean >= PLAUSIBLE)
        now = mean[plausible] / mean[plausible].sum()
        outcomes = np.array([_if_pure(mix, place, int(resin)) for resin in plausible])
        expected = now @ outcomes
        for test, fields, shown, caution in _tests(mix, part):
            chance = _chances(mix, test, shown)[:, plausible]
            after = chance * now
            whole = after.sum(axis=1, keepdims=True)
            moved = 0.5 * np.abs((after / whole) @ outcomes - expected).sum(axis=1)
            said = " ".join([test, *(str(value) for value in fields.values())])
            out.append(Gain(part.batch.name, said, float((whole[:, 0] * moved).sum()), caution))
    if len(mix.parts) > 1:
        even = float(even_flow(mix).mean())
        out += [
            Gain(part.batch.name, "melt flow rate", 2.0 * even * (1.0 - even), TESTER)
            for part in mix.parts
            if part.flow is not None and part.flow.basis != "measured" and even < 1.0
        ]
    best = sorted(out, key=lambda gain: (-round(gain.gain, 9), gain.batch, gain.test))
    return tuple(gain for gain in best[:MOST_TESTS] if gain.gain > 1e-3)


def _if_pure(mix: Mix, place: int, resin: int) -> Array:
    """Return the chances of the four outcomes if one batch were of one resin only."""
    rest = [part.mean for part in mix.parts]
    rest[place] = np.eye(rest[place].size)[resin]
    shares = np.sum([w * mean for w, mean in zip(mix.weights, rest, strict=True)], axis=0)[None, :]
    alone = [mean * mix.rules.barred for mean in rest]
    danger = total_danger(mix, [just(mean, mix.rules.clashing) for mean in rest], alone)
    return np.append(chances_of(mix, shares) * (1.0 - danger), danger)


_Test = tuple[str, "Mapping[str, object]", "tuple[dict[str, object], ...]", str]


def _tests(mix: Mix, part: MixPart) -> list[_Test]:
    found: list[_Test] = [
        (
            name,
            fields,
            tuple({**fields, "outcome": outcome} for outcome in outcomes),
            LIT if "liquid" in fields and may_be_lit(parse_liquid(fields["liquid"])) else "",
        )
        for name, fields, outcomes in COLD
    ]
    if _may_be_tried_hot(mix, part):
        for value in HOT:
            at = f"{value:g} ± 3 degC"
            found.append(("hot_plate", {"at": at}, ({"not_melted_at": at}, {"melted_at": at}), SPECK))
    return found


def _may_be_tried_hot(mix: Mix, part: MixPart) -> bool:
    """Return whether a speck of a batch may go on a hot plate: as for one piece, and nothing found forbids it."""
    rules = mix.rules
    never = {symbol for hazard in rules.model.reference.hazards for symbol in hazard.never_with}
    named = np.array([name in never for name in rules.model.candidates], dtype=np.float64)
    limits = ((named, DANGER_LIMIT), (np.maximum(named, rules.barred), MOST_BORNE))
    means = [view.mean() for view in part.seen_fully]
    unlikely = all(float(mean @ which) < limit for which, limit in limits for mean in means)
    return unlikely and not forbidding_reasons(part) and not part.stops


def _chances(mix: Mix, test: str, shown: tuple[dict[str, object], ...]) -> Array:
    """Return the chance of each thing a test may show, for each resin."""
    model = mix.rules.model
    made = [build(find_test(test, ()), entries) for entries in shown]
    logs = np.array([model.evidence([term_of(observation)]).log for observation in made])
    out: Array = softmax(logs, axis=0)
    return out
