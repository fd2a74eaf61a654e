"""Whether two batches are the same resin, and the same grade."""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any, Final

from resinid.batches.bag import as_batches
from resinid.batches.bag_entries import PROCESSES
from resinid.batches.bag_posterior import CONCENTRATION, evidence_of, posterior_of
from resinid.batches.melt_flow import Flow, flow_of, same_condition
from resinid.batches.mixing_rules import mixing_rules
from resinid.io.arguments import as_float
from resinid.notebook import Answer
from resinid.reference.table import ReferenceTable, reference_or_default

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.batches.bag import Batch

__all__ = ["BatchComparison", "same_resin"]

MISTAKEN: Final = 0.1
"""Chance that how an item was made is told wrongly (common practice, no source)."""

MOST: Final = 700.0
"""Log Bayes factors are cut to this, so that they stay finite as plain numbers."""


@dataclass(frozen=True, slots=True)
class BatchComparison(Answer):
    """How far the evidence speaks for two batches being the same.

    Parameters
    ----------
    batches : tuple of str
    log_bayes_factor_resin : float
        Natural log of the Bayes factor that both were filled from one stock (one
        composition) against two unrelated ones.
    log_bayes_factor_grade : float
        The same for one grade: one stock, one process and one melt flow rate.
    same_main_probability : float
        Chance that both have the same main resin.
    exact : bool
        Always true: nothing is sampled.
    basis : tuple of str
        What the grade was judged by besides the resin.
    """

    batches: tuple[str, str]
    log_bayes_factor_resin: float
    log_bayes_factor_grade: float
    same_main_probability: float
    exact: bool
    basis: tuple[str, ...]

    @property
    def bayes_factor_resin(self) -> float:
        """Bayes factor for one stock."""
        return math.exp(max(-MOST, min(self.log_bayes_factor_resin, MOST)))

    @property
    def bayes_factor_grade(self) -> float:
        """Bayes factor for one grade."""
        return math.exp(max(-MOST, min(self.log_bayes_factor_grade, MOST)))

    def to_dict(self) -> dict[str, Any]:
        """Return it as JSON types."""
        return {
            **asdict(self),
            "bayes_factor_resin": self.bayes_factor_resin,
            "bayes_factor_grade": self.bayes_factor_grade,
        }


def same_resin(
    first: Batch,
    second: Batch,
    *,
    prior: str | Mapping[str, float] = "default",
    reference: ReferenceTable | None = None,
    concentration: float = CONCENTRATION,
) -> BatchComparison:
    """Weigh whether two batches are of the same resin and of the same grade.

    Parameters
    ----------
    first, second : Batch
    prior : str or mapping, optional
    reference : ReferenceTable, optional
    concentration : float, optional
        As for :func:`resinid.batch_composition`.

    Returns
    -------
    BatchComparison

    Raises
    ------
    InputError
        What is no batch, prior or table; a piece that is marked with an unknown resin.
    UnknownNameError
        No prior is called that.
    RangeError
        A concentration outside 0.001 to 1000.

    Notes
    -----
    Resin: ``P(both | one composition) / (P(first) P(second))``, the compositions integrated
    out (:mod:`resinid.batches.bag_posterior`).

    Grade: that, times the ratio of densities of the two melt flow rates if they are one and if
    they are unrelated draws from what the resin's goods are like, where both are measured at one
    condition; times the ratio of the chances of the two stated processes, each told wrongly one
    time in ten.

    Examples
    --------
    >>> from resinid.batches.bag import Batch
    >>> caps = Batch.of("caps", marked={"PE-HD": 5}, process="injection moulding")
    >>> bottles = Batch.of("bottles", marked={"PE-HD": 5}, process="blow moulding")
    >>> found = same_resin(caps, bottles)
    >>> found.bayes_factor_resin > 3, found.bayes_factor_grade < found.bayes_factor_resin
    (True, True)
    """
    chosen = reference_or_default(reference)
    as_batches([first, second])
    # In one order, so that the answer cannot depend on which batch is named first.
    one, other = sorted((first, second), key=lambda batch: batch.stream)
    a, b = (posterior_of(batch, chosen, prior, concentration) for batch in (one, other))
    (pooled,) = evidence_of((*a.groups, *b.groups), mixing_rules(chosen), [a.prior], as_float(concentration))
    log_resin = pooled.log_evidence - a.log_evidence - b.log_evidence
    log_flow, basis = _flow(one, other, chosen, int(a.mean().argmax()), int(b.mean().argmax()))
    log_process = _process(one.process, other.process)
    if log_process:
        basis = (*basis, "process")
    return BatchComparison(
        batches=(first.name, second.name),
        log_bayes_factor_resin=log_resin,
        log_bayes_factor_grade=log_resin + log_flow + log_process,
        same_main_probability=float(a.main_probability() @ b.main_probability()),
        exact=True,
        basis=basis,
    )


def _process(first: str, second: str) -> float:
    """Return the log ratio of the chances of two stated processes, if one and if unrelated."""
    unknown = PROCESSES[0]
    if unknown in {first, second}:
        return 0.0
    others = len(PROCESSES) - 2
    told = {True: 1.0 - MISTAKEN, False: MISTAKEN / others}
    known = PROCESSES[1:]
    if_one = math.fsum(told[first == true] * told[second == true] for true in known) / len(known)
    return math.log(if_one * len(known) ** 2)


def _flow(one: Batch, other: Batch, reference: ReferenceTable, a: int, b: int) -> tuple[float, tuple[str, ...]]:
    """Return the log ratio of densities of two measured rates, if one and if unrelated."""
    if one.mfr is None or other.mfr is None or a != b or a >= len(reference.symbols):
        return 0.0, ()
    resin = mixing_rules(reference).model.candidates[a]
    first, second = flow_of(one, resin, reference), flow_of(other, resin, reference)
    goods = flow_of(type(one)(one.name), resin, reference)
    if first is None or second is None or goods is None or not same_condition(first.condition, second.condition):
        return 0.0, ()
    return _density_ratio(first, second, goods), ("melt flow rate",)


def _density_ratio(first: Flow, second: Flow, goods: Flow) -> float:
    """Return the log density ratio of two readings of a normal quantity: one value against two."""
    x, y = first.mean - goods.mean, second.mean - goods.mean
    shared = goods.sd**2
    var_x, var_y = shared + first.sd**2, shared + second.sd**2
    determinant = var_x * var_y - shared**2
    together = -0.5 * math.log(determinant) - 0.5 * (var_y * x * x - 2 * shared * x * y + var_x * y * y) / determinant
    apart = -0.5 * math.log(var_x * var_y) - 0.5 * (x * x / var_x + y * y / var_y)
    return together - apart
