"""The verdicts on heating of many pieces, as :meth:`resinid.heating.rule.HeatRule.judge` gives each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from resinid.heating.rule import SHOWN, View
from resinid.heating.temperatures import TEMPERATURES
from resinid.heating.verdict import DO_NOT_HEAT, UNLISTED_LIMIT
from resinid.identification.score import heat_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.heating.verdict import Heat
    from resinid.identification.score import Setting
    from resinid.tables.pieces import Scored

    Mask = NDArray[np.bool_]

__all__ = ["DO_NOT", "MAY_BE_MELTED", "NOT_YET", "Hazards", "Verdicts"]

MAY_BE_MELTED: Final = "may be melted"
NOT_YET: Final = "not yet"
DO_NOT: Final = "do not heat"

AT_ONCE: Final = 4096
LIKELY: Final = 0.10
"""As in the rule: from this probability on the precautions of a resin are asked for."""


@dataclass(frozen=True, slots=True)
class Verdicts:
    """What is said of the heating of some pieces; each array has one entry a piece.

    Parameters
    ----------
    allowed, shown : numpy.ndarray of bool
        Whether it may be melted; else whether the hazard is shown, and not only not ruled out.
    low, high, hazard : numpy.ndarray
    precautions : numpy.ndarray of object
    """

    allowed: Mask
    shown: Mask
    low: Array
    high: Array
    hazard: Array
    precautions: Any


class Hazards:
    """The hazard of some pieces, the largest over all ways of taking the evidence that it was shown.

    Parameters
    ----------
    setting : Setting
    count : int
        How many pieces there are.
    """

    def __init__(self, setting: Setting, count: int) -> None:
        self._setting = setting
        self.base: Array = np.zeros(count)
        self._worst: Array = np.zeros((count, TEMPERATURES.size))
        self._open: Mask = np.ones(count, dtype=bool)

    def add(self, by_kind: Array) -> None:
        """Take in one way of taking the evidence: probabilities by kind, shape (pieces, kinds)."""
        rule, limit = self._setting.rule, self._setting.limit
        owner = self._setting.model.kind_owner
        ratio = (rule.cautious / self._setting.prior)[owner]
        barred, hazard = rule.temperatures.barred, rule.temperatures.hazard.T
        sums = np.column_stack([barred, ratio * barred, ratio])
        with np.errstate(invalid="ignore"):
            for first in range(0, len(by_kind), AT_ONCE):
                part = slice(first, first + AT_ONCE)
                some = by_kind[part]
                plain, weighed, total = (some @ sums).T
                base = np.maximum(plain, weighed / total)
                self.base[part] = np.maximum(self.base[part], base)
                self._open[part] &= (base <= limit) & (some[:, -1] <= UNLISTED_LIMIT)
                rows = np.flatnonzero(self._open[part])
                again = some[rows] * ratio
                again /= again.sum(axis=1, keepdims=True)
                worst = np.maximum(some[rows] @ hazard, again @ hazard)
                self._worst[first + rows] = np.maximum(self._worst[first + rows], worst)

    def judged(self, fits: Mask, found: Scored, by_kind: Array) -> Verdicts:
        """Return the verdicts.

        Parameters
        ----------
        fits : numpy.ndarray of bool
            At which temperatures nothing speaks against melting a piece, shape (pieces, temperatures).
        found : Scored
        by_kind : numpy.ndarray
            Probabilities by kind by all evidence.
        """
        setting = self._setting
        allowed: Mask = found.measured & ~found.forbidden & fits.any(axis=1)
        shown = found.forbidden | ~(self.base < SHOWN)
        low, high, hazard = np.full(self.base.size, np.nan), np.full(self.base.size, np.nan), self.base.copy()
        rows = np.flatnonzero(allowed)
        some = fits[rows]
        first = some.argmax(axis=1)
        stops = ~some & (np.arange(TEMPERATURES.size) > first[:, None])
        last = np.where(stops.any(axis=1), stops.argmax(axis=1), TEMPERATURES.size) - 1
        low[rows], high[rows] = TEMPERATURES[first], TEMPERATURES[last]
        hazard[rows] = np.where(some, self._worst[rows], np.inf).min(axis=1)
        # The few whose readings may contradict each other are judged one by one.
        for row in np.flatnonzero(found.in_doubt(setting.model, setting.rule.cautious, allowed)).tolist():
            heat = heat_of(setting, found.observations(row))
            allowed[row], hazard[row], shown[row] = heat.allowed, heat.hazard, heat.verdict == DO_NOT_HEAT
            low[row], high[row] = heat.low or np.nan, heat.high or np.nan
        shown &= ~allowed
        low[~allowed] = high[~allowed] = np.nan
        return Verdicts(allowed, shown, low, high, hazard, self._precautions(by_kind, allowed))

    def _precautions(self, by_kind: Array, allowed: Mask) -> Any:  # noqa: ANN401 - an array of texts
        """Return what to beware of when those that may be melted are; each combination is asked once."""
        out = np.full(len(by_kind), None, dtype=object)
        rows = np.flatnonzero(allowed)
        if not rows.size:
            return out
        setting = self._setting
        by_resin = setting.model.by_candidate(by_kind[rows])
        # Which resins are likely as the bits of one number, and which is likeliest.
        _, likely = np.unique((by_resin >= LIKELY) @ 2.0 ** np.arange(by_resin.shape[1]), return_inverse=True)
        key = likely.ravel() * by_resin.shape[1] + by_resin.argmax(axis=1)
        _, one_of, code = np.unique(key, return_index=True, return_inverse=True)
        texts = np.array([_texts(self._judge(by_kind[rows[place]])) for place in one_of.tolist()], dtype=object)
        out[rows] = texts[code.ravel()]
        return out

    def _judge(self, by_kind: Array) -> Heat:
        return self._setting.rule.judge([View(by_kind)], self._setting.limit, prior=self._setting.prior)


def _texts(heat: Heat) -> str:
    """Return all that is to beware of, in an order that does not depend on how probable each resin is."""
    *own, local = heat.cautions
    return "; ".join([*sorted({*own, *(heat.reasons if heat.allowed else ())}), local])
