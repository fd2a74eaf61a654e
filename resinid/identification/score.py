"""What some observations tell of one piece: evidence, the views of it that heating is judged by, the verdict."""

from __future__ import annotations

import functools
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from resinid.errors import MethodWarning, PlugInError
from resinid.heating.evidence import clearing, forbidding
from resinid.heating.rule import HeatRule, View
from resinid.heating.verdict import BESIDES, MARKED
from resinid.methods._guard import describe, kind_name, term_of
from resinid.scoring.contradiction import contradicting, trusting
from resinid.scoring.engine import Model
from resinid.scoring.integrals import TINY
from resinid.scoring.posterior import posterior
from resinid.scoring.prior import prior_of
from resinid.scoring.properties import property_name

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence

    from resinid.arrays import Array
    from resinid.heating.verdict import Heat
    from resinid.methods.contract import Observation
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.engine import Evidence
    from resinid.scoring.properties import Observable


__all__ = ["ScoredPiece", "Setting", "heat_of", "heat_rule_of", "model_of", "prior_for", "score_again", "score_piece"]


@dataclass(frozen=True, slots=True)
class Setting:
    """By what a piece is scored and judged.

    Parameters
    ----------
    model : Model
    rule : HeatRule
    prior : numpy.ndarray
        Shape (resins + 1,).
    limit : float
        Heating is refused where what must not be heated is more probable than this.
    trusted : tuple of type
        Tests of plug-ins that may clear a piece for heating.
    """

    model: Model
    rule: HeatRule
    prior: Array
    limit: float
    trusted: tuple[type, ...] = ()

    @classmethod
    def of(
        cls, reference: ReferenceTable, prior: str | Mapping[str, float], limit: float, trusted: tuple[type, ...] = ()
    ) -> Setting:
        """Return the setting for a reference table and a prior."""
        return cls(model_of(reference), heat_rule_of(reference), prior_for(reference, prior), limit, trusted)


@dataclass(frozen=True, slots=True)
class ScoredPiece:
    """What scoring gave: the observations used, evidence, views for the verdict, and resins without data."""

    made: tuple[Observation, ...]
    observed: tuple[Observable, ...]
    evidence: Evidence
    views: tuple[View, ...]
    no_data: tuple[tuple[str, tuple[str, ...]], ...]

    def alone(self, setting: Setting) -> Array:
        """Return the log of the factor by which each observation by itself changes each candidate's probability."""
        prior = setting.prior
        return np.log(np.maximum(posterior(prior, self.evidence.alone), TINY)) - np.log(prior)

    def heat(self, setting: Setting, forbidden: tuple[str, ...]) -> Heat:
        """Return the verdict on heating.

        ``forbidden`` holds the reasons observed that forbid it, see
        :func:`resinid.heating.evidence.forbidding`; none for most pieces.
        """
        return setting.rule.judge(
            self.views,
            setting.limit,
            prior=setting.prior,
            measured=any(clearing(each, setting.trusted) for each in self.made),
            forbidden=forbidden,
        )


def score_piece(setting: Setting, made: tuple[Observation, ...]) -> tuple[ScoredPiece, tuple[tuple[str, str], ...]]:
    """Return what the observations tell, leaving out what a failing plug-in made, and which those are and why."""
    left_out: list[tuple[str, str]] = []
    while True:
        try:
            return _scored(setting, made, alone=True), tuple(left_out)
        except PlugInError as error:
            gone = [observation for observation in made if type(observation) is error.kind]
            made = tuple(observation for observation in made if type(observation) is not error.kind)
            if not gone:
                raise
            left_out += [(kind_name(type(observation)), str(error)) for observation in gone]
            warnings.warn(f"left out: {error}", MethodWarning, stacklevel=3)


def heat_of(setting: Setting, made: tuple[Observation, ...]) -> Heat:
    """Return the verdict on a piece of which some observations were made, as :func:`identify` gives it."""
    return _scored(setting, made).heat(setting, forbidding(made))


def score_again(setting: Setting, made: tuple[Observation, ...]) -> tuple[dict[str, float], Heat]:
    """Return the probabilities by candidate, and the verdict, that an answer should have."""
    scored = _scored(setting, made)
    after = posterior(setting.prior, scored.evidence.log)
    return dict(zip(setting.model.candidates, after.tolist(), strict=True)), scored.heat(setting, forbidding(made))


def _scored(setting: Setting, made: tuple[Observation, ...], *, alone: bool = False) -> ScoredPiece:
    model, prior = setting.model, setting.prior[setting.model.kind_owner]
    terms = [term_of(observation) for observation in made]
    evidence = model.evidence(terms, alone=alone)
    views = [View(posterior(prior, evidence.kinds))]
    views += _trusting(made, contradicting(model, terms, setting.rule.cautious, evidence), evidence, prior)
    # By those alone that may clear a piece for heating, and by one of the others besides, which no other may lift.
    own = [index for index, observation in enumerate(made) if clearing(observation, setting.trusted)]
    others = [index for index in range(len(made)) if index not in own]
    for kept in _kept_besides(others):
        indices = [index for index in range(len(made)) if index in own or index in kept]
        some, of_some = [made[index] for index in indices], [terms[index] for index in indices]
        fewer = model.evidence(of_some)
        what = BESIDES.format(describe(made[kept[0]])) if kept else MARKED
        views.append(View(posterior(prior, fewer.kinds), what))
        views += _trusting(some, contradicting(model, of_some, setting.rule.cautious, fewer), fewer, prior)
    observed = tuple(dict.fromkeys(term.observes for term in terms))
    no_data = tuple((property_name(what), model.no_data(what)) for what in observed)
    return ScoredPiece(made, observed, evidence, tuple(views), no_data)


def _kept_besides(others: Sequence[int]) -> list[tuple[int, ...]]:
    """Return sets of the observations that clear nothing, each to be kept beside those that may clear.

    The empty set, and where there are two or more, a set of each alone.
    """
    if not others:
        return []
    return [(), *((index,) for index in others)] if len(others) > 1 else [()]


def _trusting(
    made: Sequence[Observation], in_doubt: tuple[int, ...], evidence: Evidence, before: Array
) -> Iterator[View]:
    """Yield the answer with each of the readings that contradict each other taken for right."""
    for index in in_doubt:
        log = trusting(evidence.kinds, evidence.kind_outlier[index])
        what = f"if {describe(made[index])!r} is right, which another reading contradicts: measure again"
        yield View(posterior(before, log), what)


@functools.lru_cache(maxsize=8)
def model_of(reference: ReferenceTable) -> Model:
    """Return the table made ready for scoring, made once."""
    return Model(reference)


@functools.lru_cache(maxsize=8)
def heat_rule_of(reference: ReferenceTable) -> HeatRule:
    """Return the table's hazards made ready to judge, made once."""
    return HeatRule(model_of(reference))


def prior_for(reference: ReferenceTable, prior: str | Mapping[str, float]) -> Array:
    """Return prior probabilities as :func:`resinid.scoring.prior.prior_of` does, a named one made once."""
    return _named_prior(reference, prior) if isinstance(prior, str) else prior_of(reference, prior)


@functools.lru_cache(maxsize=64)
def _named_prior(reference: ReferenceTable, name: str) -> Array:
    out = prior_of(reference, name)
    out.flags.writeable = False
    return out
