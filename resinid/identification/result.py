"""The answer: a ranking of resins with what moved it, as a frozen value."""

from __future__ import annotations

import json
import math
from dataclasses import asdict, dataclass, replace
from typing import TYPE_CHECKING, Any, Final, cast

import numpy as np

from resinid.errors import Fault, Faults, InputError, ResinidError, UnknownNameError, safe_repr
from resinid.heating.verdict import DANGER_LIMIT, DO_NOT_HEAT, NO_BAR, NOT_YET, PRECAUTIONS, Heat, danger_limit_of
from resinid.identification.score import Setting, heat_rule_of, model_of, score_again
from resinid.io.arguments import as_tuple
from resinid.io.build import unbuild
from resinid.io.close_words import did_you_mean
from resinid.methods._guard import build_observation, describe
from resinid.methods.registry import find_test, trusted_tests
from resinid.notebook import ShowsItself
from resinid.reference.table import reference_or_default
from resinid.version import JSON_FORMAT

if TYPE_CHECKING:
    from collections.abc import Iterable

    import pandas as pd

    from resinid.methods.contract import Method, Observation
    from resinid.reference.table import ReferenceTable

__all__ = ["Group", "Result"]

DISAGREES: Final = 0.5
"""An observation disagrees with the leading resin when it was more likely botched than not."""


SURE: Final = 0.90
"""Probability from which on a resin or a melt group is the headline (this project's choice)."""

NAMED: Final = 3
"""Resins named where none of them is sure."""

ROUNDING: Final = 1e-9
"""By how much a sum of shares may pass one."""

SAME: Final = 1e-9
"""Probabilities that differ by no more are the same."""

HISTORY: Final = "this answer was read back and is history"


@dataclass(frozen=True, slots=True)
class Group:
    """Resins that melt as one, and the probability that the piece is one of them.

    Parameters
    ----------
    name : str
    members : tuple of str
        Symbols of the resins.
    probability : float
    """

    name: str
    members: tuple[str, ...]
    probability: float


@dataclass(frozen=True, slots=True)
class Result(ShowsItself):
    """The ranked answer for one piece.

    Parameters
    ----------
    piece : str
        What the caller calls the piece.
    resins : tuple of str
        Symbols, most probable first; one of them is ``"none of these"``.
    probability, prior : tuple of float
        After and before the observations, in the order of ``resins``; each sums to 1.
    observations : tuple of Observation
        What was observed.
    log_factors : tuple of tuple of float
        For each observation, the natural log of the factor by which it changed each
        resin's probability, given all the others; in the order of ``resins``.
    outlier : tuple of float
        For each observation, the chance that it was botched if the leading resin is
        right.
    variants : tuple of (str, float)
        Variants of the leading resin with their shares.
    no_data : tuple of (str, tuple of str)
        For each observed property, the resins of which the table says nothing; they
        were scored as an unlisted plastic.
    heat : Heat
        Whether it may be heated.
    sources : tuple of str
        Keys of the sources behind the leading resins' scores and the methods used.
    version, reference_digest : str
        Version of this package and digest of the table.
    left_out : tuple of (str, str)
        Tests whose plug-in failed, and why; they are not among the observations.
    danger_limit : float
        Probability of resins that must not be heated above which nothing is.
    group : Group or None
        The melt group of the leading resin (melt_groups.csv of the reference table); None where it has none.
    """

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
    left_out: tuple[tuple[str, str], ...] = ()
    danger_limit: float = DANGER_LIMIT
    group: Group | None = None

    @property
    def headline(self) -> str:
        """What it is, at the finest level that is sure: the resin, else its melt group, else what is not told apart."""
        leader, chance = self.resins[0], self.probability[0]
        if chance >= SURE:
            return f"{leader} {chance:.1%}"
        if self.group is not None and self.group.probability >= SURE:
            return f"{self.group.name} {self.group.probability:.1%}, most likely {leader} {chance:.1%}"
        named = zip(self.resins[:NAMED], self.probability[:NAMED], strict=True)
        return "not told apart: " + ", ".join(f"{resin} {each:.1%}" for resin, each in named)

    @property
    def leader(self) -> str:
        """The most probable candidate."""
        return self.resins[0]

    def __getitem__(self, resin: str) -> float:
        """Return the probability of a resin by its symbol.

        Raises
        ------
        UnknownNameError
            There is no candidate of that symbol.
        """
        if resin not in self.resins:
            known = ", ".join(sorted(self.resins))
            raise UnknownNameError(
                f"{safe_repr(resin)} is no candidate; known: {known}{did_you_mean(resin, self.resins)}"
            )
        return self.probability[self.resins.index(resin)]

    def __contains__(self, resin: object) -> bool:
        """Return whether there is a candidate of that symbol."""
        return resin in self.resins

    @property
    def disagreeing(self) -> tuple[int, ...]:
        """Indices of the observations that disagree with the leading resin."""
        return tuple(index for index, chance in enumerate(self.outlier) if chance > DISAGREES)

    def to_frame(self) -> pd.DataFrame:
        """Return the ranking as a DataFrame.

        Returns
        -------
        pandas.DataFrame
            One row a resin, most probable first: ``resin``, ``probability``,
            ``prior``, then for each observation the factor by which it changed the
            probability, as ``x1``, ``x2`` and so on.
        """
        import pandas as pd

        columns: dict[str, Any] = {
            "resin": list(self.resins),
            "probability": list(self.probability),
            "prior": list(self.prior),
        }
        for index, row in enumerate(self.log_factors, start=1):
            columns[f"x{index}"] = [math.exp(value) for value in row]
        return pd.DataFrame(columns)

    def to_json(self) -> str:
        """Return the whole result as JSON text, from which :meth:`from_json` makes an equal one."""
        return json.dumps(self.to_dict(), ensure_ascii=False, allow_nan=False)

    def to_dict(self) -> dict[str, Any]:
        """Return the whole result as JSON types."""
        return {
            "format": JSON_FORMAT,
            "piece": self.piece,
            "ranking": [
                {"resin": resin, "probability": probability, "prior": prior}
                for resin, probability, prior in zip(self.resins, self.probability, self.prior, strict=True)
            ],
            "observations": [
                {
                    "test": observation.test,
                    **unbuild(observation),
                    "says": describe(observation),
                    "log_factor": dict(zip(self.resins, row, strict=True)),
                    "outlier_if_leader_right": chance,
                    "disagrees": chance > DISAGREES,
                }
                for observation, row, chance in zip(self.observations, self.log_factors, self.outlier, strict=True)
            ],
            "variants": dict(self.variants),
            "unstated": {name: list(resins) for name, resins in self.no_data},
            "heat": self.heat.to_dict(),
            "headline": self.headline,
            "group": None if self.group is None else {**asdict(self.group), "members": list(self.group.members)},
            "danger_limit": self.danger_limit,
            "sources": list(self.sources),
            "version": self.version,
            "reference_digest": self.reference_digest,
            "left_out": [{"test": test, "why": why} for test, why in self.left_out],
        }

    @classmethod
    def from_json(
        cls,
        text: str,
        *,
        methods: Iterable[Method] = (),
        trusted: Iterable[str] = (),
        reference: ReferenceTable | None = None,
    ) -> Result:
        """Read back what :meth:`to_json` wrote, and score its observations again.

        Where that cannot be done, or differs from what stands there by more than 1e-9, the verdict is
        history: the answer says what it was, and heating is not allowed.

        Parameters
        ----------
        text : str
        methods : iterable of Method, optional
            Methods whose tests occur in it, where they are not installed.
        trusted : iterable of str, optional
            As for :func:`resinid.identify`.
        reference : ReferenceTable, optional
            Reference table by which it was worked out; the package's own where not given.

        Raises
        ------
        InputError
            Not JSON, or not the JSON of a result: shares that are none, a verdict that is unknown, a resin
            twice, a test that no method in use offers.
        MethodError
            One of ``methods`` does not keep the contract, or a plug-in failed at reading its test.
        """
        extra = as_tuple("methods", methods, "METHOD")
        try:
            data = json.loads(text)
            if data["format"] != JSON_FORMAT:
                raise InputError(
                    [Fault("format", f"is {safe_repr(data['format'], 50)}; this version reads {JSON_FORMAT}")]
                )
            made = cls(
                piece=data["piece"],
                resins=tuple(row["resin"] for row in data["ranking"]),
                probability=tuple(row["probability"] for row in data["ranking"]),
                prior=tuple(row["prior"] for row in data["ranking"]),
                observations=tuple(_observation(*row, extra) for row in enumerate(data["observations"], start=1)),
                log_factors=tuple(_in_order(row["log_factor"], data["ranking"]) for row in data["observations"]),
                outlier=tuple(row["outlier_if_leader_right"] for row in data["observations"]),
                variants=tuple(data["variants"].items()),
                no_data=tuple((name, _list(data["unstated"], name)) for name in data["unstated"]),
                heat=_heat(data["heat"]),
                sources=_list(data, "sources"),
                version=data["version"],
                reference_digest=data["reference_digest"],
                left_out=tuple((row["test"], row["why"]) for row in data.get("left_out", ())),
                danger_limit=danger_limit_of(data["danger_limit"]),
                group=None if data["group"] is None else _group(data["group"]),
            )
        except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
            if isinstance(error, InputError):
                raise
            raise InputError(
                [Fault("", f"this is not the JSON of a result ({type(error).__name__}: {error!s:.200})")]
            ) from error
        _check(made)
        return replace(made, heat=_scored_again(made, reference_or_default(reference), trusted_tests(trusted, extra)))


_DERIVED: Final = frozenset({"test", "says", "log_factor", "outlier_if_leader_right", "disagrees"})


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
    return Heat(data["verdict"], _list(data, "reasons"), _list(data, "cautions"), hazard=hazard)


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


def _check(result: Result) -> None:
    """Refuse what no answer of this package can be; a text that was tampered with must not pass for one."""
    with Faults() as faults:
        words = (
            result.piece,
            *result.resins,
            *result.sources,
            result.version,
            result.reference_digest,
            result.heat.verdict,
        )
        words += (
            *result.heat.reasons,
            *result.heat.cautions,
            *(name for _, names in result.no_data for name in names),
            *(word for pair in result.left_out for word in pair),
        )
        if not all(isinstance(word, str) for word in words):
            faults.add("", "holds something else where a text belongs")
        elif len(set(result.resins)) < len(result.resins):
            faults.add("ranking.resin", "names one resin twice")
        for place, shares in (("probability", result.probability), ("prior", result.prior)):
            if not all(_share(value) for value in shares) or not math.isclose(math.fsum(shares), 1.0, abs_tol=1e-6):
                faults.add(f"ranking.{place}", "is not of numbers from 0 to 1 that add up to 1")
            elif place == "probability" and list(shares) != sorted(shares, reverse=True):
                faults.add(f"ranking.{place}", "is not in falling order")
        if not all(_finite(value) for row in result.log_factors for value in row):
            faults.add("observations.log_factor", "is not of finite numbers")
        if not all(_share(value) for value in (*result.outlier, *(share for _, share in result.variants))):
            faults.add("", "a chance or a variant's share is not a number from 0 to 1")
        if result.heat.verdict not in (DO_NOT_HEAT, NOT_YET, PRECAUTIONS, NO_BAR):
            faults.add("heat.verdict", f"{safe_repr(result.heat.verdict)} is no verdict of this package")


def _scored_again(result: Result, reference: ReferenceTable, trusted: tuple[type[Observation], ...]) -> Heat:
    """Return the verdict of an answer that was read back: its own if scoring it again gives the same, else history."""
    if result.left_out or result.reference_digest != reference.digest:
        why = "a plug-in had failed" if result.left_out else "it was worked out by another reference table"
        return _history(result.heat, why)
    model, rule = model_of(reference), heat_rule_of(reference)
    prior = dict(zip(result.resins, result.prior, strict=True))
    if prior.keys() != set(model.candidates) or not min(result.prior) > 0.0:
        return _history(result.heat, "its prior is none of this reference table")
    before = np.array([prior[name] for name in model.candidates])
    try:
        chances, heat = score_again(Setting(model, rule, before, result.danger_limit, trusted), result.observations)
    except ResinidError as error:
        return _history(result.heat, str(error))
    stated = dict(zip(result.resins, result.probability, strict=True))
    if stated.keys() != chances.keys() or any(abs(stated[name] - chances[name]) > SAME for name in chances):
        return _history(result.heat, "its observations, scored again, give other probabilities")
    if result.heat.verdict != heat.verdict:
        return _history(result.heat, f"scored again, the verdict is: {heat.verdict}")
    # What a number of numpy's lost on the way to JSON may change the last digit.
    return replace(heat, hazard=result.heat.hazard) if abs(heat.hazard - result.heat.hazard) <= SAME else heat


def _history(heat: Heat, why: str) -> Heat:
    if heat.reasons and heat.reasons[0].startswith(HISTORY):
        return heat
    said = f"{HISTORY}: {why}; the verdict was: {heat.verdict}"
    return Heat(DO_NOT_HEAT, (said, *heat.reasons), heat.cautions)


def _finite(value: object) -> bool:
    return isinstance(value, (int, float)) and not isinstance(value, bool) and abs(value) < math.inf


def _share(value: object) -> bool:
    return _finite(value) and 0 <= cast("float", value) <= 1 + ROUNDING
