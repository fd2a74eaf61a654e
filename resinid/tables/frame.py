"""A DataFrame of pieces in, a DataFrame of probabilities out."""

from __future__ import annotations

import threading
import warnings
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any, Final, Literal

import numpy as np
import pandas as pd

from resinid.errors import Fault, Faults, InputError, MethodWarning, safe_repr
from resinid.heating.evidence import clearing
from resinid.heating.verdict import DANGER_LIMIT, danger_limit_of
from resinid.identification.score import Setting, heat_of, model_of
from resinid.io.arguments import as_tuple, check_counts, check_prior
from resinid.methods.dangers import allowed_dangers
from resinid.methods.registry import trusted_tests
from resinid.reference.table import ReferenceTable, reference_or_default
from resinid.tables.buffers import Buffers
from resinid.tables.columns import ColumnPlan, plan_columns
from resinid.tables.pieces import Scored, score

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping, Sequence

    from numpy.typing import NDArray

    from resinid.methods.contract import Method

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

__all__ = ["UNIT", "check_whole", "columns_of", "identify_table"]

UNIT: Final = 125_000
"""Rows scored together, counted from the first row. Fixed, so that the answer is the
same to the last bit whatever the number of workers."""

RANKED: Final = (("resin", "text"), ("probability", "number"))
"""What is said of each of the first resins, and whether in words or numbers."""

MOST_FAULTS: Final = 20
"""Faulty rows named when a table is refused as a whole."""


def identify_table(
    frame: pd.DataFrame,
    *,
    top: int | None = None,
    errors: Literal["report", "raise"] = "report",
    prior: str | Mapping[str, float] = "default",
    reference: ReferenceTable | None = None,
    methods: Iterable[Method] = (),
    allow: Iterable[str] = (),
    workers: int = 1,
    danger_limit: float = DANGER_LIMIT,
    trusted: Iterable[str] = (),
) -> pd.DataFrame:
    """Rank the resins of many pieces; the same answer as :func:`resinid.identify` gives each.

    Parameters
    ----------
    frame : pandas.DataFrame
        One row a piece. Columns are ``test.field``, for a reading
        ``test.field [unit]`` with its standard uncertainty in
        ``test.field_u [unit]``, and ``test#2.field`` for a test done again; empty
        cells are tests not done. Columns without a dot are left alone, but one that has a
        unit in brackets or is called as a test is refused: it was meant as a reading.
    top : int, optional
        Return only that many resins a piece, as ``resin_1``, ``probability_1`` and
        so on. Where not given, one column a resin, and ``none of these``.
    errors : {"report", "raise"}, optional
        Whether a row that cannot be used is reported in the column ``error``, its
        probabilities NaN, or stops the whole.
    prior, table, methods, allow, danger_limit, trusted
        As for :func:`resinid.identify`.
    workers : int, optional
        Threads to use. The result does not depend on it.

    Returns
    -------
    pandas.DataFrame
        Index as ``frame``. The column ``do_not_heat`` is true unless nothing found
        forbids heating; ``error`` says why a row could not be used. Where a plug-in
        failed, ``attrs["left_out"]`` says which test is not in the answer, and why.

    Raises
    ------
    InputError
        Headers that name no test, field or unit; with ``errors="raise"``, rows that
        cannot be used, with their index.
    RangeError
        A danger limit that is no number from 0 to 0.05.

    Warns
    -----
    MethodWarning
        A plug-in failed; its tests were left out for all rows of the units it failed in.

    Examples
    --------
    >>> pieces = pd.DataFrame(
    ...     {
    ...         "density.density [g/cm3]": [0.955, 1.20],
    ...         "density.density_u [g/cm3]": [0.003, 0.005],
    ...         "softening.temperature [degC]": [131.0, 155.0],
    ...         "softening.temperature_u [degC]": [2.0, 2.0],
    ...     }
    ... )
    >>> identify_table(pieces, top=1)["resin_1"].tolist()
    ['PE-HD', 'PC']
    """
    _check(frame, errors)
    check_whole(top=top, workers=workers)
    check_prior(prior)
    methods = as_tuple("methods", methods, "METHOD")
    allow = allowed_dangers(allow, methods)
    trust = trusted_tests(trusted, methods)
    setting = Setting.of(reference_or_default(reference), prior, danger_limit_of(danger_limit), trust)
    plan = plan_columns(frame.columns, methods, allow)
    # What must not be heated has to be unlikely without marks and the like as well, and with one of several alone.
    own = tuple(done for done in plan.tests if clearing(done.kind, trust))
    others = tuple(done for done in plan.tests if done not in own)
    clear = [ColumnPlan(own)] * bool(others)
    clear += [ColumnPlan((*own, other)) for other in others] if len(others) > 1 else []
    probability = np.empty((len(frame), len(setting.model.candidates)))
    barred = np.empty(len(frame), dtype=bool)
    left_out: dict[str, str] = {}
    starts = range(0, len(frame), UNIT)
    local = threading.local()

    def one(first: int) -> dict[int, str]:
        """Score one unit into its place; return its errors by row of the whole table."""
        unit = slice(first, first + UNIT)
        buffers: Buffers = local.__dict__.setdefault("buffers", Buffers())
        probability[unit], allowed, found = _scored(frame.iloc[unit], plan, clear, setting, buffers)
        barred[unit] = ~allowed
        left_out.update(found.left_out)
        return {first + row: message for row, message in found.errors.items()}

    if workers > 1 and len(starts) > 1:
        with ThreadPoolExecutor(workers) as pool:
            found = list(pool.map(one, starts))
    else:
        found = [one(first) for first in starts]
    for why in left_out.values():
        warnings.warn(f"left out of the whole table: {why}", MethodWarning, stacklevel=2)
    faulty = {row: message for part in found for row, message in part.items()}
    if errors == "raise":
        _refuse(frame, faulty)
    candidates = setting.model.candidates
    if top is None:
        out = pd.DataFrame(probability, index=frame.index, columns=list(candidates), copy=False)
    else:
        out = _top(probability, frame.index, candidates, min(top, len(candidates)))
    out["do_not_heat"] = barred
    messages = np.full(len(frame), None, dtype=object)
    messages[list(faulty)] = list(faulty.values())
    out["error"] = pd.Series(messages, index=frame.index, dtype=object)
    if left_out:
        out.attrs["left_out"] = left_out
    return out


def _scored(
    frame: pd.DataFrame, plan: ColumnPlan, clear: Sequence[ColumnPlan], setting: Setting, buffers: Buffers
) -> tuple[Array, Mask, Scored]:
    """Return the probabilities of some pieces, which of them may be melted, and what else is to be said of them."""
    model, rule, limit = setting.model, setting.rule, setting.limit
    before = setting.prior[model.kind_owner]
    by_kind = np.empty((len(frame), model.kind_owner.size))
    found = score(frame, plan, model, before, by_kind, buffers=buffers, trusted=setting.trusted)
    fits = rule.fits(by_kind, limit, prior=setting.prior)
    tested = np.empty_like(by_kind) if clear else by_kind
    for some in clear:
        again = score(frame, some, model, before, tested, buffers=buffers)
        found.left_out.update(again.left_out)
        # Some temperature has to suit both.
        fits &= rule.fits(tested, limit, prior=setting.prior)
    allowed: Mask = found.measured & ~found.forbidden & fits.any(axis=1)
    # The few whose readings may contradict each other are judged one by one.
    for row in np.flatnonzero(found.in_doubt(model, rule.cautious, allowed)).tolist():
        allowed[row] = heat_of(setting, found.observations(row)).allowed
    return model.by_candidate(by_kind), allowed, found


def check_whole(*, top: object, **needed: object) -> None:
    """Refuse counts that are no whole numbers from 1, all together; only ``top`` need not be given.

    Examples
    --------
    >>> check_whole(top=None, workers=None)
    Traceback (most recent call last):
        ...
    resinid.errors.InputError: workers: is None; give a whole number from 1
    """
    faults = Faults()
    for place, count in {"top": top, **needed}.items():
        if count is None and place != "top":
            faults.add(place, "is None; give a whole number from 1")
            continue
        try:
            check_counts(**{place: count})
        except InputError as error:
            faults.extend(error.faults)
    faults.check()


def columns_of(top: int | None, reference: ReferenceTable) -> dict[str, str]:
    """Return the columns of an answer, and whether they hold text, numbers or truth values.

    Examples
    --------
    >>> from resinid import default_reference
    >>> columns_of(1, default_reference())
    {'resin_1': 'text', 'probability_1': 'number', 'do_not_heat': 'truth', 'error': 'text'}
    """
    candidates = model_of(reference).candidates
    if top is None:
        ranked = dict.fromkeys(candidates, "number")
    else:
        places = range(1, min(top, len(candidates)) + 1)
        ranked = {f"{name}_{place}": kind for place in places for name, kind in RANKED}
    return {**ranked, "do_not_heat": "truth", "error": "text"}


def _check(frame: object, errors: object) -> None:
    faults = Faults()
    if not isinstance(frame, pd.DataFrame):
        what = f"is a {type(frame).__name__}, not a pandas DataFrame; make one with pandas.DataFrame(...)"
        faults.add("frame", what)
    if not (isinstance(errors, str) and errors in {"report", "raise"}):
        faults.add("errors", f"{safe_repr(errors)} is not one of: report, raise")
    faults.check()


def _refuse(frame: pd.DataFrame, faulty: Mapping[int, str]) -> None:
    faults = [Fault(f"row {frame.index[row]!r}", message) for row, message in faulty.items()]
    if faults:
        more = len(faults) - MOST_FAULTS
        raise InputError(faults[:MOST_FAULTS] + ([Fault("", f"and {more} more rows")] if more > 0 else []))


def _top(probability: Array, index: pd.Index[Any], candidates: tuple[str, ...], top: int) -> pd.DataFrame:
    names = np.array([*candidates, None], dtype=object)
    unusable = np.isnan(probability[:, 0])
    rest = np.nan_to_num(probability, nan=-1.0)
    every = np.arange(len(rest))
    columns: dict[str, Any] = {}
    for rank in range(1, top + 1):
        # Ties go to the earlier candidate, as in the one-piece ranking.
        best = rest.argmax(axis=1)
        rest[every, best] = -1.0
        columns[f"resin_{rank}"] = names[np.where(unusable, len(candidates), best)]
        columns[f"probability_{rank}"] = probability[every, best]
    return pd.DataFrame(columns, index=index)
