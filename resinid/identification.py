"""The one public entry: observations in, ranked resins out."""

from __future__ import annotations

import functools
import warnings
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, cast

import numpy as np

from resinid.door.arguments import check_prior, chosen_of, refuse
from resinid.errors import Fault, Faults, InputError, MethodError, MethodWarning, PlugInError, ResinidError, shown
from resinid.methods._guard import build_observation, check_ready_made, kind_name, liquid_of, term_of
from resinid.methods.dangers import allowed_of
from resinid.methods.registry import allowed, find_test, trusted_tests
from resinid.result import Result
from resinid.safety import DANGER_LIMIT, HeatRule, clearing, danger_limit_of, forbidding
from resinid.scoring.engine import Model
from resinid.scoring.integrals import TINY
from resinid.scoring.observed import name_of
from resinid.scoring.prior import prior_of
from resinid.table.table import Table, table_or_own
from resinid.version import package_version

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.methods.contract import Method, Observation
    from resinid.scoring.engine import Evidence
    from resinid.scoring.observed import Observable

    Array = NDArray[np.float64]

__all__ = ["identify", "observe"]

MOST_OBSERVATIONS: Final = 100
"""More observations of one piece than this are taken for a slip."""

CITED: Final = 0.01
"""Sources are listed for resins with at least this probability."""


def observe(
    test: str, /, *, methods: Iterable[Method] = (), allow: Iterable[str] = (), **fields: object
) -> Observation:
    """Make one observation from what a person wrote.

    Parameters
    ----------
    test : str
        Name of the test, such as ``"float"`` or ``"weighing"``.
    methods : iterable of Method, optional
        Methods to use besides the installed ones.
    allow : iterable of str, optional
        Dangers allowed, such as ``"burn"``; tests that have one are off otherwise.
    **fields
        Readings of that test; quantities as texts with units or pint quantities.

    Returns
    -------
    Observation

    Raises
    ------
    UnknownNameError
        No method offers that test.
    NotAllowedError
        The test is off until its danger is allowed.
    MethodError
        One of ``methods`` does not keep the contract, or a plug-in failed at making its test.
    InputError
        Every fault of the readings; or an argument of the wrong kind.

    Examples
    --------
    >>> observe("float", liquid="water", outcome="sinks").describe()
    'sinks in water (0.9982 g/cm3)'
    """
    if not isinstance(test, str):
        raise refuse("test", f"{shown(test)} is not the name of a test; write for example 'float'")
    extra = chosen_of("methods", methods, "METHOD")
    known = find_test(test, extra)
    return build_observation(allowed(known, allowed_of(allow, extra)), fields)


def identify(
    observations: Iterable[Observation | Mapping[str, object]],
    *,
    piece: str = "",
    prior: str | Mapping[str, float] = "default",
    table: Table | None = None,
    methods: Iterable[Method] = (),
    allow: Iterable[str] = (),
    danger_limit: float = DANGER_LIMIT,
    trusted: Iterable[str] = (),
) -> Result:
    """Rank the resins a piece may be, from what was observed of it.

    Parameters
    ----------
    observations : iterable of Observation or mapping
        Made with :func:`observe`, or mappings with the key ``test`` and the
        readings of that test.
    piece : str, optional
        What to call the piece.
    prior : str or mapping, optional
        ``"default"``, ``"uniform"``, a waste or production split in the table, or
        weights by resin; see :func:`resinid.scoring.prior.prior_of` for what the
        default is and why.
    table : Table, optional
        Reference table; the package's own where not given.
    methods : iterable of Method, optional
        Methods to use besides the installed ones.
    allow : iterable of str, optional
        Dangers allowed, as for :func:`observe`; observations made already need none.
    danger_limit : float, optional
        Probability of a resin that must not be heated above which the advice is
        "do not heat", at most 0.05; 0.01 where not given, a cautious choice of this project.
    trusted : iterable of str, optional
        Names of plug-in methods, or of their tests, that may clear the piece for heating.
        Those not named still move the ranking and may forbid heating, but lift no danger.

    Returns
    -------
    Result

    Raises
    ------
    InputError
        Every fault of every observation, each with its place; or an argument of the wrong kind.
    UnknownNameError
        No prior is called that.
    MethodError
        One of ``methods`` does not keep the contract.
    RangeError
        A danger limit that is no number from 0 to 0.05.

    Warns
    -----
    MethodWarning
        A plug-in failed; its observations were left out, as ``left_out`` of the answer says.

    Examples
    --------
    >>> answer = identify(
    ...     [
    ...         {"test": "float", "liquid": "water", "outcome": "floats"},
    ...         {"test": "float", "liquid": "ethanol 40 %v/v at 20 degC", "outcome": "sinks"},
    ...     ]
    ... )
    >>> answer.leader
    'PE-HD'
    """
    limit = danger_limit_of(danger_limit)
    if not isinstance(piece, str):
        raise InputError([Fault("piece", f"{shown(piece)} is not a text")])
    check_prior(prior)
    methods = chosen_of("methods", methods, "METHOD")
    allow = allowed_of(allow, methods)
    given, failed = _observations(observations, methods, allow)
    chosen = table_or_own(table)
    model = model_of(chosen)
    before = prior_for(chosen, prior)
    trust = trusted_tests(trusted, methods)
    scored, left_out = _scored(model, given, before, trust)
    made, evidence = scored.made, scored.evidence
    after = _posterior(before, evidence.log)
    without = _posterior(before, evidence.without)
    order = np.argsort(-after, kind="stable")
    leader = int(order[0])
    factors = np.log(np.maximum(after, TINY)) - np.log(np.maximum(without, TINY))
    ranked = order.tolist()
    return Result(
        piece=piece,
        resins=tuple([model.candidates[index] for index in ranked]),
        probability=tuple(after[order].tolist()),
        prior=tuple(before[order].tolist()),
        observations=made,
        factors=tuple(map(tuple, factors[:, order].tolist())),
        mishap=tuple(evidence.mishap[:, leader].tolist()),
        variants=model.variants_of(leader, evidence),
        unstated=scored.unstated,
        heat=_heat_rule(chosen).judge(
            after,
            limit,
            tested=scored.tested,
            measured=any(clearing(observation, trust) for observation in made),
            # Whatever fails of a plug-in, what it found that forbids heating stands.
            forbidden=forbidding(given),
        ),
        sources=_sources(model, scored, ranked[: int((after >= CITED).sum())]),
        version=package_version(),
        table=chosen.digest,
        left_out=(*failed, *left_out),
    )


@dataclass(frozen=True, slots=True)
class _Scored:
    """All that is asked of the observations' own methods: which are used, what they tell, of which resins nothing."""

    made: tuple[Observation, ...]
    observed: tuple[Observable, ...]
    evidence: Evidence
    tested: Array
    unstated: tuple[tuple[str, tuple[str, ...]], ...]


def _scored(
    model: Model, made: tuple[Observation, ...], before: Array, trust: tuple[type, ...]
) -> tuple[_Scored, tuple[tuple[str, str], ...]]:
    """Return what the observations tell, leaving out what a failing plug-in made, and which those are and why."""
    left_out: list[tuple[str, str]] = []
    while True:
        try:
            return _asked(model, made, before, trust), tuple(left_out)
        except PlugInError as error:
            gone = [observation for observation in made if type(observation) is error.kind]
            made = tuple(observation for observation in made if type(observation) is not error.kind)
            if not gone:
                raise
            left_out += [(kind_name(type(observation)), str(error)) for observation in gone]
            warnings.warn(f"left out: {error}", MethodWarning, stacklevel=3)


def _asked(model: Model, made: tuple[Observation, ...], before: Array, trust: tuple[type, ...]) -> _Scored:
    terms = [term_of(observation) for observation in made]
    evidence = model.evidence(terms)
    # By those alone that may clear a piece for heating.
    own = [term for term, observation in zip(terms, made, strict=True) if clearing(observation, trust)]
    tested = evidence.log if len(own) == len(made) else model.evidence(own).log
    observed = tuple(dict.fromkeys(term.observes for term in terms))
    unstated = tuple((name_of(what), model.unstated(what)) for what in observed)
    return _Scored(made, observed, evidence, _posterior(before, tested), unstated)


def _observations(
    given: object, methods: tuple[Method, ...], allow: tuple[str, ...]
) -> tuple[tuple[Observation, ...], tuple[tuple[str, str], ...]]:
    """Return the observations, and which tests a failing plug-in could not make, and why."""
    faults = Faults()
    made: list[Observation] = []
    failed: list[tuple[str, str]] = []
    if isinstance(given, (str, bytes, Mapping)) or not isinstance(given, Iterable):
        raise InputError([Fault("observations", f"{shown(given)} is not a list of observations")])
    for index, entry in enumerate(given, start=1):
        if index > MOST_OBSERVATIONS:
            faults.add(f"observation[{index}]", f"is one more than the {MOST_OBSERVATIONS} allowed for one piece")
            break
        try:
            made.append(_observation(entry, methods, allow))
        except InputError as error:
            faults.extend(error.faults, under=f"observation[{index}]")
        except ResinidError as error:
            if isinstance(error, PlugInError) and error.kind is not None:
                failed.append((kind_name(error.kind), str(error)))
                continue
            if isinstance(error, MethodError) and not isinstance(error, PlugInError):
                # One of ``methods`` is none, which is no fault of an observation.
                raise
            faults.add(f"observation[{index}]", str(error))
    faults.check()
    for _, why in failed:
        warnings.warn(f"left out: {why}", MethodWarning, stacklevel=3)
    return tuple(made), tuple(failed)


def _observation(entry: object, methods: tuple[Method, ...], allow: tuple[str, ...]) -> Observation:
    if hasattr(type(entry), "term"):
        check_ready_made(entry)
        return cast("Observation", entry)
    if not isinstance(entry, Mapping):
        raise InputError([Fault("", f"{shown(entry)} is neither an observation nor a mapping with the key 'test'")])
    fields = dict(entry)
    test = fields.pop("test", None)
    if not isinstance(test, str):
        raise InputError([Fault("test", "is missing; name the test, for example test = 'float'")])
    return build_observation(allowed(find_test(test, methods), allow), fields)


def _posterior(prior: Array, log_evidence: Array) -> Array:
    shifted = np.exp(log_evidence - log_evidence.max(axis=-1, keepdims=True)) * prior
    out: Array = shifted / shifted.sum(axis=-1, keepdims=True)
    return out


def _sources(model: Model, scored: _Scored, leading: Sequence[int]) -> tuple[str, ...]:
    found: set[str] = set()
    for name in scored.observed:
        found.update(*[model.sources(name, index) for index in leading])
    for observation in scored.made:
        liquid = liquid_of(observation)
        found.update(liquid.sources if liquid else ())
    return tuple(sorted(found))


@functools.lru_cache(maxsize=8)
def model_of(table: Table) -> Model:
    """Return the table made ready for scoring, made once."""
    return Model(table)


@functools.lru_cache(maxsize=8)
def _heat_rule(table: Table) -> HeatRule:
    return HeatRule(table)


def prior_for(table: Table, prior: str | Mapping[str, float]) -> Array:
    """Return prior probabilities as :func:`resinid.scoring.prior.prior_of` does, a named one made once."""
    return _named_prior(table, prior) if isinstance(prior, str) else prior_of(table, prior)


@functools.lru_cache(maxsize=64)
def _named_prior(table: Table, name: str) -> Array:
    out = prior_of(table, name)
    out.flags.writeable = False
    return out
