"""The one public entry: observations in, ranked resins out."""

from __future__ import annotations

import warnings
from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Final, cast

import numpy as np

from resinid.errors import Fault, Faults, InputError, MethodError, MethodWarning, PlugInError, ResinidError, safe_repr
from resinid.heating.evidence import forbidding
from resinid.heating.verdict import DANGER_LIMIT, danger_limit_of
from resinid.identification.group import Group
from resinid.identification.result import Result
from resinid.identification.score import ScoredPiece, Setting, score_piece
from resinid.io.arguments import as_tuple, check_prior, input_error
from resinid.methods._guard import build_observation, check_ready_made, kind_name, liquid_of
from resinid.methods.dangers import allowed_dangers
from resinid.methods.implied import with_implied
from resinid.methods.registry import allowed, find_test, trusted_tests
from resinid.methods.shapes import as_shaped
from resinid.reference.table import ReferenceTable, reference_or_default
from resinid.scoring.integrals import TINY
from resinid.scoring.posterior import posterior
from resinid.version import package_version

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.methods.contract import Method, Observation
    from resinid.scoring.engine import Model


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
        raise input_error("test", f"{safe_repr(test)} is not the name of a test; write for example 'float'")
    extra = as_tuple("methods", methods, "METHOD")
    known = find_test(test, extra)
    return build_observation(allowed(known, allowed_dangers(allow, extra)), fields)


def identify(
    observations: Iterable[Observation | Mapping[str, object]],
    *,
    piece: str = "",
    prior: str | Mapping[str, float] = "default",
    reference: ReferenceTable | None = None,
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
    reference : ReferenceTable, optional
        Reference table; the package's own where not given.
    methods : iterable of Method, optional
        Methods to use besides the installed ones.
    allow : iterable of str, optional
        Dangers allowed, as for :func:`observe`; observations made already need none.
    danger_limit : float, optional
        Probability of what must not be heated above which no leave to heat is given, at most 0.05; 0.01 where
        not given, a cautious choice of this project.
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
        raise InputError([Fault("piece", f"{safe_repr(piece)} is not a text")])
    check_prior(prior)
    methods = as_tuple("methods", methods, "METHOD")
    allow = allowed_dangers(allow, methods)
    given, failed = _observations(observations, methods, allow)
    chosen = reference_or_default(reference)
    setting = Setting.of(chosen, prior, limit, trusted_tests(trusted, methods))
    model, before = setting.model, setting.prior
    scored, left_out = score_piece(setting, given)
    made, evidence = scored.made, scored.evidence
    chances = posterior(before, np.vstack([evidence.log, evidence.without]))
    after, without = chances[0], chances[1:]
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
        log_factors=tuple(map(tuple, factors[:, order].tolist())),
        log_alone=tuple(map(tuple, scored.alone(setting)[:, order].tolist())),
        outlier=tuple(evidence.outlier[:, leader].tolist()),
        variants=model.variants_of(leader, evidence),
        no_data=scored.no_data,
        # Whatever fails of a plug-in, what it found that forbids heating stands.
        heat=scored.heat(setting, forbidding(given)),
        sources=_sources(model, scored, ranked[: int((after >= CITED).sum())]),
        version=package_version(),
        reference_digest=chosen.digest,
        left_out=(*failed, *left_out),
        danger_limit=limit,
        group=_group(chosen, model.candidates[leader], dict(zip(model.candidates, after.tolist(), strict=True))),
    )


def _group(reference: ReferenceTable, leader: str, chances: Mapping[str, float]) -> Group | None:
    """Return the melt group of the leading resin."""
    for group in reference.melt_groups:
        if leader in group.members:
            return Group(group.name, group.members, min(sum(chances[member] for member in group.members), 1.0))
    return None


def _observations(
    given: object, methods: tuple[Method, ...], allow: tuple[str, ...]
) -> tuple[tuple[Observation, ...], tuple[tuple[str, str], ...]]:
    """Return the observations, and which tests a failing plug-in could not make, and why."""
    faults = Faults()
    made: list[Observation] = []
    failed: list[tuple[str, str]] = []
    if isinstance(given, (str, bytes, Mapping)) or not isinstance(given, Iterable):
        raise InputError([Fault("observations", f"{safe_repr(given)} is not a list of observations")])
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
    return with_implied(as_shaped(tuple(made))), tuple(failed)


def _observation(entry: object, methods: tuple[Method, ...], allow: tuple[str, ...]) -> Observation:
    if hasattr(type(entry), "term"):
        check_ready_made(entry)
        return cast("Observation", entry)
    if not isinstance(entry, Mapping):
        raise InputError([Fault("", f"{safe_repr(entry)} is neither an observation nor a mapping with the key 'test'")])
    fields = dict(entry)
    test = fields.pop("test", None)
    if not isinstance(test, str):
        raise InputError([Fault("test", "is missing; name the test, for example test = 'float'")])
    return build_observation(allowed(find_test(test, methods), allow), fields)


def _sources(model: Model, scored: ScoredPiece, leading: Sequence[int]) -> tuple[str, ...]:
    found: set[str] = set()
    for name in scored.observed:
        found.update(*[model.sources(name, index) for index in leading])
    for observation in scored.made:
        liquid = liquid_of(observation)
        found.update(liquid.sources if liquid else ())
    return tuple(sorted(found))
