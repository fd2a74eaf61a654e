"""A DataFrame of pieces in, a DataFrame of probabilities out."""

from __future__ import annotations

import threading
import warnings
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Literal, Protocol, overload

import numpy as np
import pandas as pd

from resinid.errors import Fault, Faults, InputError, MethodWarning, TableWarning, safe_repr
from resinid.heating.verdict import DANGER_LIMIT, danger_limit_of
from resinid.identification.score import Setting, model_of
from resinid.io.arguments import as_tuple, check_counts, check_prior
from resinid.methods.dangers import allowed_dangers
from resinid.methods.registry import trusted_tests
from resinid.reference.table import ReferenceTable, reference_or_default
from resinid.tables.answer import TOLD, RankedTable, ranked_columns
from resinid.tables.buffers import Buffers
from resinid.tables.columns import ColumnPlan, plan_columns
from resinid.tables.readings import check_units, tidied
from resinid.tables.told import judged

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import NDArray

    from resinid.methods.contract import Method

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

__all__ = [
    "UNIT",
    "Asked",
    "check_whole",
    "columns_of",
    "identify_table",
    "pandas_frame",
    "ranked",
    "slow_notes",
    "told_once",
]

UNIT: Final = 125_000
"""Rows scored together, counted from the first row. Fixed, so that the answer is the
same to the last bit whatever the number of workers."""

MANY: Final = 1000
"""So much computed one by one is told: it takes 0.3 to 1 s, as long as 100,000 rows of other readings."""

MOST_FAULTS: Final = 20
"""Faulty rows named when a table is refused as a whole."""


class ArrowFrame(Protocol):
    """A frame that others can read by the Arrow C stream interface, as one of Polars or of Arrow itself."""

    def __arrow_c_stream__(self, requested_schema: object | None = None) -> object:
        """Return the stream."""


@overload
def identify_table(
    frame: pd.DataFrame | ArrowFrame,
    *,
    top: None = None,
    errors: Literal["report", "raise"] = "report",
    prior: str | Mapping[str, float] = "default",
    reference: ReferenceTable | None = None,
    methods: Iterable[Method] = (),
    allow: Iterable[str] = (),
    workers: int = 1,
    danger_limit: float = DANGER_LIMIT,
    trusted: Iterable[str] = (),
    prefix: str = "",
    decimal: str = ".",
) -> RankedTable: ...
@overload
def identify_table(
    frame: pd.DataFrame | ArrowFrame,
    *,
    top: int,
    errors: Literal["report", "raise"] = "report",
    prior: str | Mapping[str, float] = "default",
    reference: ReferenceTable | None = None,
    methods: Iterable[Method] = (),
    allow: Iterable[str] = (),
    workers: int = 1,
    danger_limit: float = DANGER_LIMIT,
    trusted: Iterable[str] = (),
    prefix: str = "",
    decimal: str = ".",
) -> pd.DataFrame: ...
def identify_table(
    frame: pd.DataFrame | ArrowFrame,
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
    prefix: str = "",
    decimal: str = ".",
) -> RankedTable | pd.DataFrame:
    """Rank the resins of many pieces; the same answer as :func:`resinid.identify` gives each.

    Parameters
    ----------
    frame : pandas.DataFrame
        One row a piece. Columns are ``test.field [unit]``, ``test.field_u [unit]`` for the standard
        uncertainty of a reading, and ``test#2.field`` for a test done again; where a test needs one field,
        its name is enough, as in ``density [g/cm3]``. A cell may say its uncertainty
        itself (``0.957 ± 0.003``, ``0.957(3)``), and its unit; a text that says none is as good as its last
        digit, a number as is usual (:attr:`resinid.quantities.Quantity.usual`). Empty cells are tests not
        done. Other columns pass by. A frame of Polars or Arrow is read with the extra ``frames``.
    top : int, optional
        Return one flat frame, with that many resins a piece as ``resin_1``, ``probability_1`` and so on.
    errors : {"report", "raise"}, optional
        Whether a row that cannot be used is reported in the column ``error``, its
        probabilities missing, or stops the whole.
    prior, reference, methods, allow, danger_limit, trusted
        As for :func:`resinid.identify`.
    workers : int, optional
        Threads to use. The result does not depend on it.
    prefix : str, optional
        With ``top``, what to put before the name of each column of the answer.
    decimal : str, optional
        What stands before the decimals in cells that are texts, as for ``pandas.read_csv``.

    Returns
    -------
    RankedTable or pandas.DataFrame
        Index as ``frame``. Without ``top`` the probabilities in a frame of their own, and beside it the
        verdicts and the rest; with ``top`` the first resins and the rest in one frame.

    Raises
    ------
    InputError
        Headers that are nearly a reading's, or name no field or unit; with ``errors="raise"``, rows that
        cannot be used, with their index.
    RangeError
        A danger limit that is no number from 0 to 0.05.

    Warns
    -----
    MethodWarning
        A plug-in failed; its tests were left out for all rows of the units it failed in.
    TableWarning
        Columns passed by that look like readings, or numbers were taken to be as good as usual.

    Examples
    --------
    >>> pieces = pd.DataFrame(
    ...     {
    ...         "density [g/cm3]": ["0.955(3)", "1.20 ± 0.005"],
    ...         "softening [degC]": [131.0, 155.0],
    ...         "softening_u [degC]": [2.0, 2.0],
    ...     }
    ... )
    >>> identify_table(pieces, top=1)["resin_1"].tolist()
    ['PE-HD', 'PC']
    """
    check_whole(top=top, workers=workers)
    asked = Asked.of(
        errors=errors,
        prior=prior,
        reference=reference,
        methods=methods,
        allow=allow,
        danger_limit=danger_limit,
        trusted=trusted,
        decimal=decimal,
    )
    whole = pandas_frame(frame)
    plan = asked.planned(whole)
    answer = ranked(whole, plan, asked, workers=workers)
    for note in told_once(plan, answer):
        warnings.warn(note, TableWarning, stacklevel=2)
    for why in (answer.left_out or {}).values():
        warnings.warn(f"left out of the whole table: {why}", MethodWarning, stacklevel=2)
    return answer if top is None else answer.to_frame(top, prefix=prefix)


@dataclass(frozen=True, slots=True)
class Asked:
    """How a table is to be answered, its arguments checked once."""

    setting: Setting
    errors: str
    methods: tuple[Method, ...]
    allow: tuple[str, ...]
    decimal: str

    @classmethod
    def of(
        cls,
        *,
        errors: object,
        prior: str | Mapping[str, float],
        reference: ReferenceTable | None,
        methods: Iterable[Method],
        allow: Iterable[str],
        danger_limit: float,
        trusted: Iterable[str],
        decimal: object,
    ) -> Asked:
        """Check the arguments of :func:`identify_table`."""
        faults = Faults()
        if not (isinstance(errors, str) and errors in {"report", "raise"}):
            faults.add("errors", f"{safe_repr(errors)} is not one of: report, raise")
        if not (isinstance(decimal, str) and decimal in {".", ","}):
            faults.add("decimal", f"{safe_repr(decimal)} is neither a point nor a comma")
        faults.check()
        check_prior(prior)
        given = as_tuple("methods", methods, "METHOD")
        dangers = allowed_dangers(allow, given)
        trust = trusted_tests(trusted, given)
        setting = Setting.of(reference_or_default(reference), prior, danger_limit_of(danger_limit), trust)
        return cls(setting, str(errors), given, dangers, str(decimal))

    def planned(self, frame: pd.DataFrame, kept: Iterable[str] = ()) -> ColumnPlan:
        """Return what the headers of a table say; refuse columns of numbers without a unit."""
        plan = plan_columns(frame.columns, self.methods, self.allow, kept=kept)
        check_units(frame, plan)
        return plan


def told_once(plan: ColumnPlan, answer: RankedTable) -> tuple[str, ...]:
    """Return what a person should know who did not look at the columns."""
    strange = plan.looked_like
    names = ", ".join(repr(name) for name in strange[:MOST_FAULTS]) + (
        " and more" if len(strange) > MOST_FAULTS else ""
    )
    told = [f"columns that name no test were not read: {names}"] if strange else []
    return (*told, *answer.notes, *slow_notes(answer.singly))


def slow_notes(singly: int) -> tuple[str, ...]:
    """Return a note on how much was computed one by one, where that took a second or so.

    Examples
    --------
    >>> slow_notes(12), slow_notes(5000)[0][:50]
    ((), '5000 combinations of readings were computed one by')
    """
    if singly < MANY:
        return ()
    why = "two readings of one property, or one that shares an error with another test"
    return (f"{singly} combinations of readings were computed one by one, about a millisecond each ({why})",)


def ranked(frame: pd.DataFrame, plan: ColumnPlan, asked: Asked, *, workers: int = 1) -> RankedTable:
    """Answer a table whose headers were read.

    Raises
    ------
    InputError
        With ``errors="raise"``, rows that cannot be used.
    """
    setting = asked.setting
    candidates = setting.model.candidates
    probability = np.empty((len(frame), len(candidates)))
    told: list[pd.DataFrame] = []
    left_out: dict[str, str] = {}
    notes: dict[str, None] = {}
    starts = range(0, max(len(frame), 1), UNIT)
    local = threading.local()
    every: list[Buffers] = []

    def one(first: int) -> tuple[dict[str, Any], dict[int, str]]:
        """Score one unit into its place; return its verdicts and the like, and its errors by row of the whole table."""
        unit = slice(first, first + UNIT)
        if "buffers" not in local.__dict__:
            local.buffers = Buffers()
            every.append(local.buffers)
        buffers: Buffers = local.buffers
        tidy = tidied(frame.iloc[unit], plan, asked.decimal)
        some, found = judged(tidy, setting, buffers, probability[unit])
        left_out.update(found.left_out)
        notes.update(dict.fromkeys(tidy.notes))
        return some, {first + row: message for row, message in found.errors.items()}

    if workers > 1 and len(starts) > 1:
        with ThreadPoolExecutor(workers) as pool:
            parts = list(pool.map(one, starts))
    else:
        parts = [one(first) for first in starts]
    if asked.errors == "raise":
        _refuse(frame, {row: message for _, errors in parts for row, message in errors.items()})
    told = [pd.DataFrame(some, copy=False) for some, _ in parts]
    return RankedTable(
        pd.DataFrame(probability, index=frame.index, columns=list(candidates), copy=False),
        (pd.concat(told, ignore_index=True) if len(told) > 1 else told[0]).set_axis(frame.index),
        plan.foreign,
        tuple(notes),
        left_out or None,
        sum(buffers.singly for buffers in every),
    )


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
    """Return the columns of an answer, and whether they hold text, numbers, counts or truth values.

    Examples
    --------
    >>> from resinid import default_reference
    >>> list(columns_of(1, default_reference()))[:4]
    ['resin_1', 'probability_1', 'verdict', 'do_not_heat']
    """
    candidates = model_of(reference).candidates
    if top is None:
        return {**dict.fromkeys(candidates, "number"), **TOLD}
    return {**ranked_columns(min(top, len(candidates))), **TOLD}


def pandas_frame(frame: object) -> pd.DataFrame:
    """Return a frame as pandas has it; one of Polars, Arrow and the like with narwhals, which the extra installs.

    Raises
    ------
    InputError
        It is no frame, or narwhals is not installed.
    """
    if isinstance(frame, pd.DataFrame):
        return frame
    kind = type(frame)
    if not any(hasattr(frame, name) for name in ("__arrow_c_stream__", "__dataframe__")):
        how = "collect() it" if hasattr(frame, "collect") else "make one with pandas.DataFrame(...)"
        what = f"is a {kind.__name__}, not a pandas DataFrame; {how}"
        raise InputError([Fault("frame", what)])
    what = f"is a {kind.__module__.partition('.')[0]} {kind.__name__}"
    try:
        import narwhals
    except ImportError as error:
        how = f"{what}; install resinid[frames], or make a pandas DataFrame of it"
        raise InputError([Fault("frame", how)]) from error
    try:
        found: pd.DataFrame = narwhals.from_native(frame, eager_only=True).to_pandas()  # type: ignore[call-overload]  # because anything may be given
    except (TypeError, ImportError) as error:
        raise InputError([Fault("frame", f"{what}, which could not be read: {error}")]) from error
    return found


def _refuse(frame: pd.DataFrame, faulty: Mapping[int, str]) -> None:
    faults = [Fault(f"row {frame.index[row]!r}", message) for row, message in faulty.items()]
    if faults:
        more = len(faults) - MOST_FAULTS
        raise InputError(faults[:MOST_FAULTS] + ([Fault("", f"and {more} more rows")] if more > 0 else []))
