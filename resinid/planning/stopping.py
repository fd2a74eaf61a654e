"""When to stop: the answer is settled, no test can settle it, or no test is worth its while.

What all available tests together can tell is at most what the properties they look
at would tell if known exactly: each outcome depends on the piece through those alone
(data-processing inequality, Cover & Thomas, section 2.8). That bound is averaged here
over pieces drawn from what is known, always the same ones.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.heating.evidence import clearing, forbidding
from resinid.planning.information import entropy
from resinid.scoring.integrals import TINY

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.arrays import Array
    from resinid.identification.result import Result
    from resinid.planning.advice import Suggestion
    from resinid.planning.heat_goal import HeatGoal
    from resinid.planning.piece_posterior import PiecePosterior
    from resinid.planning.question import Question
    from resinid.scoring.properties import Observable


__all__ = ["RARELY", "WORTH", "WithinReach", "information_limit", "settled_by", "verdict"]

PIECES: Final = 400
"""Pieces drawn for the bound; its standard error is then below 0.025 in a chance."""

RARELY: Final = 0.05
"""Chance of settling the question below which it is said that no test can (common practice, no source)."""

WORTH: Final = 0.02
"""[bit] Expected information below which a test is not worth doing (common practice, no source)."""


NAMED: Final = 3
"""Tests named that would settle whether a piece may be heated."""


@dataclass(frozen=True, slots=True)
class WithinReach:
    """What the available tests can tell at most.

    Parameters
    ----------
    bits : float
        Information about the question, on average [bit].
    settles : float
        Chance that the question would be settled.
    """

    bits: float
    settles: float


def information_limit(
    known: PiecePosterior, question: Question, properties: Sequence[Observable], goal: HeatGoal | None = None
) -> WithinReach:
    """Return what exact knowledge of some properties would tell, on average over pieces."""
    rng = np.random.default_rng(0)
    drawn = rng.choice(known.variants.size, size=PIECES, p=known.variants)
    different, of = np.unique(drawn, return_inverse=True)
    likely = np.tile(known.variants[:, None], PIECES)
    for name in properties:
        weights = known.weights(name)
        reached = np.cumsum(weights[different], axis=1)
        # Each row from its number to the next, so that one search finds the nodes of all pieces.
        reached /= reached[:, -1:]
        reached += np.arange(different.size)[:, None]
        nodes = reached.ravel().searchsorted(of + rng.random(PIECES)) - of * weights.shape[1]
        likely *= np.maximum(weights[:, np.clip(nodes, 0, weights.shape[1] - 1)], TINY)
    share = (likely / likely.sum(axis=0)).T
    answers = question.gather(known.by_resin(share))
    now = float(entropy(question.gather(known.resins)))
    left = now - float(entropy(answers).mean())
    settles = goal.reachable(share) if goal is not None else float(question.settled(answers).mean())
    return WithinReach(min(max(left, 0.0), now), settles)


def settled_by(result: Result, suggestions: Sequence[Suggestion]) -> tuple[tuple[str, float], ...]:
    """Return the tests that would most likely settle whether a piece may be heated, and how likely each does.

    Where none is likely to, they are the first of those offered. None where it may be heated already,
    or where something was found that forbids it, which no other test lifts.
    """
    if result.heat.allowed or forbidding(result.observations):
        return ()
    ranked = sorted(suggestions, key=lambda found: -found.settles if found.settles >= RARELY else 0.0)
    return tuple((found.plan.label, found.settles) for found in ranked[:NAMED])


def verdict(
    question: Question,
    answers: Array,
    suggestions: Sequence[Suggestion],
    limit: WithinReach,
    *,
    withheld: Sequence[tuple[str, str]],
    goal: HeatGoal | None = None,
) -> tuple[str, str]:
    """Return the verdict and its reason in a sentence."""
    leader = int(answers.argmax())
    name, chance = question.answers[leader], float(answers[leader])
    if goal.settled if goal is not None else bool(question.settled(answers)):
        asked = f"{name} has {chance:.1%}, and {question.enough[leader]:.0%} is asked for"
        return "settled", asked if goal is None else goal.reason
    later = f"; not offered: {withheld[0][0]} ({withheld[0][1]})" if withheld else ""
    if not suggestions:
        return "cannot settle", f"no test can be offered with what is at hand{later}"
    unknown = float(entropy(answers))
    if limit.settles < RARELY and max(found.settles for found in suggestions) < RARELY:
        why = (
            f"even if every property that the available tests look at were known exactly, the answer would settle in "
            f"only {limit.settles:.0%} of cases; they can tell {limit.bits:.2f} of the {unknown:.2f} bits not known"
        )
        return "cannot settle", f"{why}{later}"
    # A mark or an article may tell much of the name, but gives no leave.
    able = [
        each.bits for each in suggestions if goal is None or clearing(type(each.plan.outcomes[0]), goal.setting.trusted)
    ]
    best = max(able, default=0.0)
    surest = max(suggestions, key=lambda found: found.settles)
    if best < WORTH and (goal is None or surest.settles < RARELY):
        return "not worth it", f"the most telling test is expected to tell only {best:.3f} bits{later}"
    if goal is None:
        what = f"{name} leads with {chance:.1%}; the available tests can tell at most {limit.bits:.2f} bits more"
    elif suggestions[0].settles < RARELY:
        what = f"no single test is likely to settle it; several may, in up to {100 * limit.settles:.0f} % of cases"
    else:
        what = f"{suggestions[0].plan.label} brings a sure verdict in {100 * suggestions[0].settles:.0f} % of cases"
    return "go on", what
