"""The one public entry: observations in, ranked resins out."""

from __future__ import annotations

import functools
import warnings
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Final, cast

import numpy as np

from resinid.door.fields import build
from resinid.errors import Fault, Faults, InputError, MethodWarning, PlugInError, ResinidError
from resinid.methods.guard import term_of
from resinid.methods.registry import allowed, find_test
from resinid.result import Result
from resinid.safety import DANGER_LIMIT, HeatRule, clearing, danger_limit_of, forbidding
from resinid.scoring.engine import Model
from resinid.scoring.integrals import TINY
from resinid.scoring.observed import name_of
from resinid.scoring.prior import prior_of
from resinid.table.table import Table, default_table

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.methods.contract import Method, Observation
    from resinid.scoring.engine import Evidence

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
    InputError
        Every fault of the readings.

    Examples
    --------
    >>> observe("float", liquid="water", outcome="sinks").describe()
    'sinks in water (0.9982 g/cm3)'
    """
    return build(allowed(find_test(test, methods), allow), fields)


def identify(
    observations: Iterable[Observation | Mapping[str, object]],
    *,
    piece: str = "",
    prior: str | Mapping[str, float] = "default",
    table: Table | None = None,
    methods: Iterable[Method] = (),
    allow: Iterable[str] = (),
    danger_limit: float = DANGER_LIMIT,
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

    Returns
    -------
    Result

    Raises
    ------
    InputError
        Every fault of every observation, each with its place.
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
        raise InputError([Fault("piece", f"{piece!r:.100} is not a text")])
    made = _observations(observations, tuple(methods), tuple(allow))
    chosen = default_table() if table is None else table
    model = model_of(chosen)
    before = prior_for(chosen, prior)
    made, evidence, left_out = _evidence(model, made)
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
        unstated=tuple((name_of(what), model.unstated(what)) for what in dict.fromkeys(o.observes for o in made)),
        heat=_heat_rule(chosen).judge(
            after,
            limit,
            tested=_tested(model, made, before, after),
            measured=any(map(clearing, made)),
            forbidden=forbidding(made),
        ),
        sources=_sources(model, made, ranked[: int((after >= CITED).sum())]),
        version=_version(),
        table=chosen.digest,
        left_out=left_out,
    )


def _tested(model: Model, made: Sequence[Observation], before: Array, after: Array) -> Array:
    """Return the probabilities by those observations alone that may clear a piece for heating."""
    own = [observation for observation in made if clearing(observation)]
    if len(own) == len(made):
        return after
    return _posterior(before, model.evidence([term_of(observation) for observation in own]).log)


def _evidence(
    model: Model, made: tuple[Observation, ...]
) -> tuple[tuple[Observation, ...], Evidence, tuple[tuple[str, str], ...]]:
    """Return the evidence, leaving out what a failing plug-in made: which are used, and which are not and why."""
    left_out: list[tuple[str, str]] = []
    while True:
        try:
            return made, model.evidence([term_of(observation) for observation in made]), tuple(left_out)
        except PlugInError as error:
            gone = [observation for observation in made if type(observation) is error.kind]
            made = tuple(observation for observation in made if type(observation) is not error.kind)
            if not gone:
                raise
            left_out += [(observation.test, str(error)) for observation in gone]
            warnings.warn(f"left out: {error}", MethodWarning, stacklevel=3)


def _observations(given: object, methods: tuple[Method, ...], allow: tuple[str, ...]) -> tuple[Observation, ...]:
    faults = Faults()
    made: list[Observation] = []
    if isinstance(given, (str, bytes, Mapping)) or not isinstance(given, Iterable):
        raise InputError([Fault("observations", f"{given!r:.100} is not a list of observations")])
    for index, entry in enumerate(given, start=1):
        if index > MOST_OBSERVATIONS:
            faults.add(f"observation[{index}]", f"is one more than the {MOST_OBSERVATIONS} allowed for one piece")
            break
        try:
            made.append(_observation(entry, methods, allow))
        except InputError as error:
            faults.extend(error.faults, under=f"observation[{index}]")
        except ResinidError as error:
            faults.add(f"observation[{index}]", str(error))
    faults.check()
    return tuple(made)


def _observation(entry: object, methods: tuple[Method, ...], allow: tuple[str, ...]) -> Observation:
    if hasattr(entry, "term"):
        return cast("Observation", entry)
    if not isinstance(entry, Mapping):
        raise InputError([Fault("", f"{entry!r:.100} is neither an observation nor a mapping with the key 'test'")])
    fields = dict(entry)
    test = fields.pop("test", None)
    if not isinstance(test, str):
        raise InputError([Fault("test", "is missing; name the test, for example test = 'float'")])
    return build(allowed(find_test(test, methods), allow), fields)


def _posterior(prior: Array, log_evidence: Array) -> Array:
    shifted = np.exp(log_evidence - log_evidence.max(axis=-1, keepdims=True)) * prior
    out: Array = shifted / shifted.sum(axis=-1, keepdims=True)
    return out


def _sources(model: Model, made: Sequence[Observation], leading: Sequence[int]) -> tuple[str, ...]:
    found: set[str] = set()
    for name in {observation.observes for observation in made}:
        found.update(*[model.sources(name, index) for index in leading])
    for observation in made:
        found.update(getattr(getattr(observation, "liquid", None), "sources", ()))
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


@functools.cache
def _version() -> str:
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("resinid")
    except PackageNotFoundError:
        return "unknown"
