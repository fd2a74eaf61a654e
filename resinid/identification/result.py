"""The answer: a ranking of resins with what moved it, as a frozen value."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

from resinid.errors import UnknownNameError, safe_repr
from resinid.heating.verdict import DANGER_LIMIT, Heat
from resinid.identification.read_back import read_fields, scored_again
from resinid.io.arguments import as_tuple
from resinid.io.build import unbuild
from resinid.io.close_words import did_you_mean
from resinid.methods._guard import describe
from resinid.methods.registry import trusted_tests
from resinid.notebook import Answer
from resinid.reference.table import reference_or_default
from resinid.version import JSON_FORMAT

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    import pandas as pd

    from resinid.identification.group import Group
    from resinid.methods.contract import Method, Observation
    from resinid.reference.table import ReferenceTable

__all__ = ["Result"]

DISAGREES: Final = 0.5
"""An observation disagrees with the leading resin when it was more likely botched than not."""


SURE: Final = 0.90
"""Probability from which on a resin or a melt group is the headline (this project's choice)."""

NAMED: Final = 3
"""Resins named where none of them is sure."""


@dataclass(frozen=True, slots=True)
class Result(Answer, Mapping[str, float]):
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
    log_alone : tuple of tuple of float
        As ``log_factors``, of each observation by itself: tests that agree tell much of the same, so that
        each adds little to the others. Empty where a text was read back that does not say.
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
    log_alone: tuple[tuple[float, ...], ...] = ()

    def __repr__(self) -> str:
        about = f"{self.piece}: " if self.piece else ""
        return f"<Result {about}{self.headline}; heating: {self.heat.headline}>"

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

    def __iter__(self) -> Iterator[str]:
        """Go over the resins, most probable first."""
        return iter(self.resins)

    def __len__(self) -> int:
        return len(self.resins)

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
            probability given the others, by the name of its test (``float``, and ``float#2`` for the
            second), and by itself, as ``float alone``.
        """
        import pandas as pd

        columns: dict[str, Any] = {
            "resin": list(self.resins),
            "probability": list(self.probability),
            "prior": list(self.prior),
        }
        done: dict[str, int] = {}
        for index, row in enumerate(self.log_factors):
            test = self.observations[index].test
            done[test] = done.get(test, 0) + 1
            name = test if done[test] == 1 else f"{test}#{done[test]}"
            columns[name] = [math.exp(value) for value in row]
            if self.log_alone:
                columns[f"{name} alone"] = [math.exp(value) for value in self.log_alone[index]]
        return pd.DataFrame(columns)

    def to_dict(self) -> dict[str, Any]:
        """Return the whole result as JSON types; :meth:`from_json` makes an equal one of :meth:`to_json`.

        ``heat.settled_by`` is null in what :func:`resinid.identify` returns: it ranks resins and knows
        no tests to do. :func:`resinid.next_tests` with the question "heat", as the command line asks
        it, fills it in.
        """
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
                    "log_factor_alone": dict(zip(self.resins, alone, strict=True)) if self.log_alone else None,
                    "outlier_if_leader_right": chance,
                    "disagrees": chance > DISAGREES,
                }
                for observation, row, alone, chance in zip(
                    self.observations, self.log_factors, self.log_alone or self.log_factors, self.outlier, strict=True
                )
            ],
            "variants": dict(self.variants),
            "no_data": {name: list(resins) for name, resins in self.no_data},
            "heat": {**self.heat.to_dict(), "settled_by": self.heat.to_dict()["settled_by"] or None},
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
        fields = read_fields(text, extra)
        fields["heat"] = scored_again(fields, reference_or_default(reference), trusted_tests(trusted, extra))
        return cls(**fields)
