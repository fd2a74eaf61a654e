"""What some observations tell of one piece: evidence, the views of it that heating is judged by, the verdict."""

from __future__ import annotations

import functools
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING

from resinid.errors import MethodWarning, PlugInError
from resinid.methods.guard import term_of
from resinid.methods.outside import test_of
from resinid.methods.sayings import said_of
from resinid.safety import MARKED, HeatRule, View, clearing, forbidding
from resinid.scoring.contradiction import contradicting, posterior, trusting
from resinid.scoring.engine import Model
from resinid.scoring.observed import name_of
from resinid.scoring.prior import prior_of

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    import numpy as np
    from numpy.typing import NDArray

    from resinid.methods.contract import Observation
    from resinid.safety import Heat
    from resinid.scoring.engine import Evidence
    from resinid.scoring.observed import Observable
    from resinid.table.table import Table

    Array = NDArray[np.float64]

__all__ = ["ScoredPiece", "heat_of", "heat_rule_of", "model_of", "prior_for", "score_piece"]


@dataclass(frozen=True, slots=True)
class ScoredPiece:
    """All that is asked of the observations' own methods: which are used, what they tell, of which resins nothing."""

    made: tuple[Observation, ...]
    observed: tuple[Observable, ...]
    evidence: Evidence
    views: tuple[View, ...]
    unstated: tuple[tuple[str, tuple[str, ...]], ...]


def score_piece(
    model: Model, made: tuple[Observation, ...], before: Array, cautious: Array
) -> tuple[ScoredPiece, tuple[tuple[str, str], ...]]:
    """Return what the observations tell, leaving out what a failing plug-in made, and which those are and why."""
    left_out: list[tuple[str, str]] = []
    while True:
        try:
            return scored_once(model, made, before, cautious), tuple(left_out)
        except PlugInError as error:
            gone = [observation for observation in made if type(observation) is error.kind]
            made = tuple(observation for observation in made if type(observation) is not error.kind)
            if not gone:
                raise
            left_out += [(test_of(type(observation)), str(error)) for observation in gone]
            warnings.warn(f"left out: {error}", MethodWarning, stacklevel=4)


def scored_once(model: Model, made: tuple[Observation, ...], before: Array, cautious: Array) -> ScoredPiece:
    terms = [term_of(observation) for observation in made]
    evidence = model.evidence(terms)
    views = list(_trusting(made, contradicting(model, terms, cautious), evidence, before))
    # By those alone that may clear a piece for heating.
    own = [index for index, observation in enumerate(made) if clearing(observation)]
    if len(own) < len(made):
        some, of_some = [made[index] for index in own], [terms[index] for index in own]
        alone = model.evidence(of_some)
        views.insert(0, View(posterior(before, alone.log), MARKED))
        views += _trusting(some, contradicting(model, of_some, cautious), alone, before)
    observed = tuple(dict.fromkeys(term.observes for term in terms))
    unstated = tuple((name_of(what), model.unstated(what)) for what in observed)
    return ScoredPiece(made, observed, evidence, tuple(views), unstated)


def heat_of(model: Model, rule: HeatRule, made: tuple[Observation, ...], before: Array, limit: float) -> Heat:
    """Return the verdict on a piece of which some observations were made, as :func:`identify` gives it."""
    scored = scored_once(model, made, before, rule.cautious)
    return rule.judge(
        posterior(before, scored.evidence.log),
        limit,
        prior=before,
        views=scored.views,
        measured=any(map(clearing, made)),
        forbidden=forbidding(made),
    )


def _trusting(
    made: Sequence[Observation], in_doubt: tuple[int, ...], evidence: Evidence, before: Array
) -> Iterator[View]:
    """Yield the answer with each of the readings that contradict each other taken for right."""
    for index in in_doubt:
        log = trusting(evidence.log, evidence.mishap[index])
        what = f"if {said_of(made[index])!r} is right, which another reading contradicts: measure again"
        yield View(posterior(before, log), what, names=True)


@functools.lru_cache(maxsize=8)
def model_of(table: Table) -> Model:
    """Return the table made ready for scoring, made once."""
    return Model(table)


@functools.lru_cache(maxsize=8)
def heat_rule_of(table: Table) -> HeatRule:
    """Return the table's hazards made ready to judge, made once."""
    return HeatRule(table)


def prior_for(table: Table, prior: str | Mapping[str, float]) -> Array:
    """Return prior probabilities as :func:`resinid.scoring.prior.prior_of` does, a named one made once."""
    return _named_prior(table, prior) if isinstance(prior, str) else prior_of(table, prior)


@functools.lru_cache(maxsize=64)
def _named_prior(table: Table, name: str) -> Array:
    out = prior_of(table, name)
    out.flags.writeable = False
    return out


def score_again(
    made: tuple[Observation, ...], prior: Mapping[str, float], table: Table, limit: float
) -> tuple[dict[str, float], Heat]:
    """Return the probabilities and the verdict that an answer should have, by candidate."""
    model, rule, before = model_of(table), heat_rule_of(table), prior_for(table, prior)
    scored, _ = score_piece(model, made, before, rule.cautious)
    after = posterior(before, scored.evidence.log)
    heat = rule.judge(
        after,
        limit,
        prior=before,
        views=scored.views,
        measured=any(map(clearing, made)),
        forbidden=forbidding(made),
    )
    return dict(zip(model.candidates, after.tolist(), strict=True)), heat
