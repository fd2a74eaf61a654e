"""The answer to a whole table: probabilities in a frame of their own, and what else is to be said beside it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, overload

import numpy as np
import pandas as pd

from resinid.errors import UnknownNameError, safe_repr
from resinid.io.arguments import check_counts
from resinid.io.close_words import did_you_mean
from resinid.notebook import Answer

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["TOLD", "RankedTable", "ranked_columns"]

TOLD: Final = {
    "verdict": "text",
    "do_not_heat": "truth",
    "low_degC": "number",
    "high_degC": "number",
    "precautions": "text",
    "group": "text",
    "group_probability": "number",
    "hazard": "number",
    "tests": "count",
    "error": "text",
}
"""What is said of each piece beside its probabilities, and whether in words, numbers or truth values."""

RANKED: Final = (("resin", "text"), ("probability", "number"))
"""What is said of each of the first resins."""


def ranked_columns(top: int) -> dict[str, str]:
    """Return the columns that name the first resins, and what each holds.

    Examples
    --------
    >>> ranked_columns(1)
    {'resin_1': 'text', 'probability_1': 'number'}
    """
    return {f"{name}_{place}": kind for place in range(1, top + 1) for name, kind in RANKED}


@dataclass(frozen=True, slots=True, eq=False, repr=False)
class RankedTable(Answer):
    """The ranked answers for the pieces of a table.

    Parameters
    ----------
    probability : pandas.DataFrame
        One row a piece, one column a resin, and ``none of these``: nothing but probabilities. Missing
        where nothing was measured or a row could not be used.
    told : pandas.DataFrame
        One row a piece. ``verdict``: "may be melted", "not yet" or "do not heat"; ``do_not_heat``: whether
        it is not the first; ``low_degC`` and ``high_degC``: between which temperatures it may be melted;
        ``precautions``: of what to beware then; ``group`` and ``group_probability``: the melt group of the
        most probable resin; ``hazard``: probability that it must not be heated, as ``heat.hazard`` of one
        piece; ``tests``: how many were done; ``error``: why a row could not be used. What readings that
        contradict each other would change is worked out only for pieces that may be melted else: of the others the
        hazard is at least the one told, and "not yet" may be "do not heat" for the piece by itself.
    unread : tuple of str
        Columns that name no test.
    notes : tuple of str
        What was taken for granted, such as the usual uncertainty of numbers that state none.
    singly : int
        How many combinations of readings, and readings that may contradict each other, were computed one by one.
    left_out : dict of str to str
        Tests whose plug-in failed, and why.

    Examples
    --------
    >>> from resinid import identify_table
    >>> floats = pd.DataFrame({"float.liquid": ["water"] * 2, "float.outcome": ["sinks", None]}, index=["lid", "rod"])
    >>> answer = identify_table(floats)
    >>> answer.probability.loc["lid"].idxmax()
    'PET'
    >>> answer.told[["verdict", "tests"]].to_dict("index")
    {'lid': {'verdict': 'not yet', 'tests': 1}, 'rod': {'verdict': 'not yet', 'tests': 0}}
    """

    probability: pd.DataFrame
    told: pd.DataFrame
    unread: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    left_out: dict[str, str] | None = None
    singly: int = 0

    def __repr__(self) -> str:
        counts = self.told["verdict"].value_counts()
        said = ", ".join(f"{count} {verdict}" for verdict, count in counts.items())
        return f"<RankedTable of {len(self)} pieces{': ' if said else ''}{said}>"

    def __len__(self) -> int:
        return len(self.told)

    def __iter__(self) -> Iterator[str]:
        """Go over the names of all columns, first of the probabilities."""
        return iter([*self.probability.columns, *self.told.columns])

    @overload
    def __getitem__(self, name: str) -> pd.Series[Any]: ...
    @overload
    def __getitem__(self, name: list[str]) -> pd.DataFrame: ...
    def __getitem__(self, name: str | list[str]) -> pd.Series[Any] | pd.DataFrame:
        """Return a column of either frame by its name, or several in a frame.

        Raises
        ------
        UnknownNameError
            There is no such column.
        """
        columns = list(self)
        for each in [name] if isinstance(name, str) else name:
            if each not in columns:
                raise UnknownNameError(f"{safe_repr(each)} is no column{did_you_mean(each, columns)}")
        if isinstance(name, str):
            found: pd.Series[Any] = (self.probability if name in self.probability else self.told)[name]
            return found
        return pd.concat([self.probability, self.told], axis=1)[name]

    def to_frame(self, top: int | None = None, *, prefix: str = "") -> pd.DataFrame:
        """Return one flat frame, ready to be joined to another.

        Parameters
        ----------
        top : int, optional
            Only that many resins a piece, as ``resin_1``, ``probability_1`` and so on; one column a
            resin where not given.
        prefix : str, optional
            What to put before the name of each column.
        """
        if top is None:
            out = pd.concat([self.probability, self.told], axis=1)
        else:
            check_counts(top=top)
            out = pd.concat([self.best(top), self.told], axis=1)
        if prefix:
            out.columns = pd.Index([f"{prefix}{name}" for name in out.columns])
        if self.left_out:
            out.attrs["left_out"] = dict(self.left_out)
        return out

    def best(self, top: int = 3) -> pd.DataFrame:
        """Return the most probable resins of each piece, as ``resin_1``, ``probability_1`` and so on."""
        candidates = self.probability.columns.tolist()
        names = np.array([*candidates, None], dtype=object)
        rest = self.probability.to_numpy(dtype=np.float64, copy=True)
        unusable = np.isnan(rest[:, 0])
        rest[unusable] = -1.0
        every = np.arange(len(rest))
        columns: dict[str, Any] = {}
        for rank in range(1, min(top, len(candidates)) + 1):
            # Ties go to the earlier candidate, as in the one-piece ranking.
            best = rest.argmax(axis=1)
            columns[f"resin_{rank}"] = names[np.where(unusable, len(candidates), best)]
            columns[f"probability_{rank}"] = np.where(unusable, np.nan, rest[every, best])
            rest[every, best] = -1.0
        return pd.DataFrame(columns, index=self.probability.index)

    def to_dict(self) -> dict[str, Any]:
        """Return the whole answer as JSON types: its ``index``, and a mapping a row, missing values as None."""
        shown = self.to_frame().astype(object)
        rows = shown.where(shown.notna(), None).to_dict("records")
        return {
            "index": [str(each) for each in self.told.index],
            "rows": rows,
            "unread": list(self.unread),
            "notes": list(self.notes),
            "left_out": dict(self.left_out or {}),
            "singly": self.singly,
        }

    def _repr_html_(self) -> str:
        return str(self.to_frame(3).to_html(max_rows=20))
