"""A result read back from JSON: its fields checked, and its verdict worked out again."""

from __future__ import annotations

import json
import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final, TypedDict, cast

import numpy as np

from resinid.errors import Fault, Faults, InputError, ResinidError, UnknownNameError, safe_repr
from resinid.heating.verdict import DO_NOT_HEAT, NO_BAR, NOT_YET, PRECAUTIONS, Heat, danger_limit_of
from resinid.identification.group import Group
from resinid.identification.score import Setting, heat_rule_of, model_of, score_again
from resinid.methods._guard import build_observation
from resinid.methods.registry import find_test
from resinid.version import JSON_FORMAT

if TYPE_CHECKING:
    from resinid.methods.contract import Method, Observation
    from resinid.reference.table import ReferenceTable

__all__ = ["ResultFields", "read_fields", "scored_again"]

ROUNDING: Final = 1e-9
"""By how much a sum of shares may pass one."""

SAME: Final = 1e-9
"""Probabilities that differ by no more are the same."""

HISTORY: Final = "this answer was read back and is history"

_DERIVED: Final = frozenset({"test", "says", "log_factor", "log_factor_alone", "outlier_if_leader_right", "disagrees"})
"""What is written of an observation besides its own fields."""


class ResultFields(TypedDict):
    """The fields of a :class:`resinid.Result`."""

    piece: str
    resins: tuple[str, ...]
    probability: tuple[float, ...]
    prior: tuple[float, ...]
    observations: tuple[Observation, ...]
    log_factors: tuple[tuple[float, ...], ...]
    outlier: tuple[float, ...]
    variants: tuple[tuple[str, float], ...]
    no_data: tuple[tuple[str, tuple[str, ...]], ...]
    heat: Heat
    sources: tuple[str, ...]
    version: str
    reference_digest: str
    left_out: tuple[tuple[str, str], ...]
    danger_limit: float
    group: Group | None
    log_alone: tuple[tuple[float, ...], ...]


def read_fields(text: str, methods: tuple[Method, ...]) -> ResultFields:
    """Return the fields of the result that was written as JSON.

    Parameters
    ----------
    text : str
    methods : tuple of Method
        Methods whose tests occur in it besides the installed ones.

    Raises
    ------
    InputError
        It is not the JSON of a result.
    """
    try:
        data = json.loads(text)
        if data["format"] != JSON_FORMAT:
            raise InputError([Fault("format", f"is {safe_repr(data['format'], 50)}; this version reads {JSON_FORMAT}")])
        fields = ResultFields(
            piece=data["piece"],
            resins=tuple(row["resin"] for row in data["ranking"]),
            probability=tuple(row["probability"] for row in data["ranking"]),
            prior=tuple(row["prior"] for row in data["ranking"]),
            observations=tuple(_observation(*row, methods) for row in enumerate(data["observations"], start=1)),
            log_factors=tuple(_in_order(row["log_factor"], data["ranking"]) for row in data["observations"]),
            outlier=tuple(row["outlier_if_leader_right"] for row in data["observations"]),
            variants=tuple(data["variants"].items()),
            no_data=tuple((name, _list(data["no_data"], name)) for name in data["no_data"]),
            heat=_heat(data["heat"]),
            sources=_list(data, "sources"),
            version=data["version"],
            reference_digest=data["reference_digest"],
            left_out=tuple((row["test"], row["why"]) for row in data.get("left_out", ())),
            danger_limit=danger_limit_of(data["danger_limit"]),
            group=None if data["group"] is None else _group(data["group"]),
            log_alone=_alone(data),
        )
    except (ValueError, LookupError, TypeError, AttributeError, RecursionError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError(
            [Fault("", f"this is not the JSON of a result ({type(error).__name__}: {error!s:.200})")]
        ) from error
    _check(fields)
    return fields


def _observation(number: int, row: dict[str, Any], methods: tuple[Method, ...]) -> Observation:
    faults = Faults()
    try:
        return build_observation(find_test(row["test"], methods), {key: row[key] for key in row if key not in _DERIVED})
    except UnknownNameError as error:
        faults.add(f"observation[{number}].test", str(error))
    except InputError as error:
        faults.extend(error.faults, under=f"observation[{number}]")
    raise InputError(faults)


def _heat(data: dict[str, Any]) -> Heat:
    hazard = data.get("hazard", 1.0)
    if not _share(hazard):
        raise InputError([Fault("heat.hazard", "is not a number from 0 to 1")])
    settled_by = tuple((row["test"], row["chance"]) for row in data.get("settled_by") or ())
    if not all(isinstance(test, str) and _share(chance) for test, chance in settled_by):
        raise InputError([Fault("heat.settled_by", "is not of tests, each with a chance from 0 to 1")])
    reasons, cautions = _list(data, "reasons"), _list(data, "cautions")
    return Heat(data["verdict"], reasons, cautions, hazard=hazard, settled_by=settled_by)


def _group(data: dict[str, Any]) -> Group:
    if not (isinstance(data["name"], str) and _share(data["probability"])):
        raise InputError([Fault("group", "is not a name, its members and a probability from 0 to 1")])
    return Group(data["name"], tuple(map(str, _list(data, "members"))), data["probability"])


def _list(data: dict[str, Any], key: str) -> tuple[Any, ...]:
    if not isinstance(data[key], list):
        raise InputError([Fault(key, f"{safe_repr(data[key])} is not a list")])
    return tuple(data[key])


def _in_order(factors: dict[str, float], ranking: list[dict[str, Any]]) -> tuple[float, ...]:
    return tuple(factors[row["resin"]] for row in ranking)


def _alone(data: dict[str, Any]) -> tuple[tuple[float, ...], ...]:
    """Return what each observation told by itself; nothing where not all say it."""
    rows = [row.get("log_factor_alone") for row in data["observations"]]
    return () if None in rows else tuple(_in_order(row, data["ranking"]) for row in rows)


def _check(result: ResultFields) -> None:
    """Refuse what no answer of this package can be; a text that was tampered with must not pass for one."""
    with Faults() as faults:
        words = (
            result["piece"],
            *result["resins"],
            *result["sources"],
            result["version"],
            result["reference_digest"],
            result["heat"].verdict,
        )
        words += (
            *result["heat"].reasons,
            *result["heat"].cautions,
            *(name for _, names in result["no_data"] for name in names),
            *(word for pair in result["left_out"] for word in pair),
        )
        if not all(isinstance(word, str) for word in words):
            faults.add("", "holds something else where a text belongs")
        elif len(set(result["resins"])) < len(result["resins"]):
            faults.add("ranking.resin", "names one resin twice")
        for place, shares in (("probability", result["probability"]), ("prior", result["prior"])):
            if not all(_share(value) for value in shares) or not math.isclose(math.fsum(shares), 1.0, abs_tol=1e-6):
                faults.add(f"ranking.{place}", "is not of numbers from 0 to 1 that add up to 1")
            elif place == "probability" and list(shares) != sorted(shares, reverse=True):
                faults.add(f"ranking.{place}", "is not in falling order")
        if not all(_finite(value) for row in (*result["log_factors"], *result["log_alone"]) for value in row):
            faults.add("observations.log_factor", "is not of finite numbers")
        if not all(_share(value) for value in (*result["outlier"], *(share for _, share in result["variants"]))):
            faults.add("", "a chance or a variant's share is not a number from 0 to 1")
        if result["heat"].verdict not in (DO_NOT_HEAT, NOT_YET, PRECAUTIONS, NO_BAR):
            faults.add("heat.verdict", f"{safe_repr(result['heat'].verdict)} is no verdict of this package")


def scored_again(result: ResultFields, reference: ReferenceTable, trusted: tuple[type[Observation], ...]) -> Heat:
    """Return the verdict of an answer that was read back: its own if scoring it again gives the same, else history.

    Parameters
    ----------
    result : ResultFields
    reference : ReferenceTable
    trusted : tuple of type
        Tests of plug-ins that may clear a piece for heating.
    """
    if result["left_out"] or result["reference_digest"] != reference.digest:
        why = "a plug-in had failed" if result["left_out"] else "it was worked out by another reference table"
        return _history(result["heat"], why)
    model, rule = model_of(reference), heat_rule_of(reference)
    prior = dict(zip(result["resins"], result["prior"], strict=True))
    if prior.keys() != set(model.candidates) or not min(result["prior"]) > 0.0:
        return _history(result["heat"], "its prior is none of this reference table")
    before = np.array([prior[name] for name in model.candidates])
    try:
        chances, heat = score_again(
            Setting(model, rule, before, result["danger_limit"], trusted), result["observations"]
        )
    except ResinidError as error:
        return _history(result["heat"], str(error))
    stated = dict(zip(result["resins"], result["probability"], strict=True))
    if stated.keys() != chances.keys() or any(abs(stated[name] - chances[name]) > SAME for name in chances):
        return _history(result["heat"], "its observations, scored again, give other probabilities")
    if result["heat"].verdict != heat.verdict:
        return _history(result["heat"], f"scored again, the verdict is: {heat.verdict}")
    # What a number of numpy's lost on the way to JSON may change the last digit.
    stated_hazard = result["heat"].hazard
    hazard = stated_hazard if abs(heat.hazard - stated_hazard) <= SAME else heat.hazard
    return replace(heat, hazard=hazard, settled_by=result["heat"].settled_by)


def _history(heat: Heat, why: str) -> Heat:
    if heat.reasons and heat.reasons[0].startswith(HISTORY):
        return heat
    said = f"{HISTORY}: {why}; the verdict was: {heat.verdict}"
    return Heat(DO_NOT_HEAT, (said, *heat.reasons), heat.cautions)


def _finite(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < math.inf


def _share(value: object) -> bool:
    return _finite(value) and 0 <= cast("float", value) <= 1 + ROUNDING
