"""The verdicts on heating of many pieces, as :meth:`resinid.heating.rule.HeatRule.judge` gives each."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from resinid.heating.rule import MELTED, SHOWN, View
from resinid.heating.temperatures import TEMPERATURES
from resinid.heating.verdict import DO_NOT_HEAT, UNLISTED_LIMIT
from resinid.identification.score import heat_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.heating.verdict import Heat
    from resinid.identification.score import Setting
    from resinid.tables.buffers import Buffers
    from resinid.tables.pieces import Scored

    Mask = NDArray[np.bool_]

__all__ = ["DO_NOT", "MAY_BE_MELTED", "NOT_YET", "Hazards", "Verdicts"]

MAY_BE_MELTED: Final = "may be melted"
NOT_YET: Final = "not yet"
DO_NOT: Final = "do not heat"

AT_ONCE: Final = 1024
"""Pieces looked at together: with 256 it takes 1.5 times, with 4096 1.2 times as long."""

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
    buffers : Buffers
        Keeps precautions by which resins are likely and which is likeliest; counts the pieces judged one by one.
    """

    def __init__(self, setting: Setting, count: int, buffers: Buffers) -> None:
        self._setting, self._buffers = setting, buffers
        self.base: Array = np.zeros(count)
        self._worst: Array = np.zeros((count, TEMPERATURES.size))
        self._fits: Mask = np.ones((count, TEMPERATURES.size), dtype=bool)

    def add(self, by_kind: Array) -> None:
        """Take in one way of taking the evidence: probabilities by kind, shape (pieces, kinds).

        At which temperatures nothing speaks against melting a piece is as
        :meth:`resinid.heating.rule.HeatRule.fits` has it.
        """
        rule, limit = self._setting.rule, self._setting.limit
        ratio = (rule.cautious / self._setting.prior)[self._setting.model.kind_owner]
        barred, at = rule.temperatures.barred, rule.temperatures
        sums = np.column_stack([barred, ratio * barred, ratio])
        both = np.concatenate([at.hazard, at.melts, ratio * at.hazard, ratio * at.melts]).T
        with np.errstate(invalid="ignore"):
            for first in range(0, len(by_kind), AT_ONCE):
                part = slice(first, first + AT_ONCE)
                some = by_kind[part]
                plain, weighed, total = (some @ sums).T
                base = np.maximum(plain, weighed / total)
                self.base[part] = np.maximum(self.base[part], base)
                # Most that fail do so by what must not be heated at any temperature; the rest is looked at further.
                still = (base <= limit) & (np.maximum(1.0, ratio[-1] / total) * some[:, -1] <= UNLISTED_LIMIT)
                rows = np.flatnonzero(still)
                self._fits[first + np.flatnonzero(~still)] = False
                hazard, melts, hazard_too, melts_too = np.split(some[rows] @ both, 4, axis=1)
                worst = np.maximum(hazard, hazard_too / total[rows, None])
                least = np.minimum(melts, melts_too / total[rows, None])
                self._worst[first + rows] = np.maximum(self._worst[first + rows], worst)
                self._fits[first + rows] &= (worst <= limit) & (least >= MELTED)

    def judged(self, found: Scored, by_kind: Array) -> Verdicts:
        """Return the verdicts.

        Parameters
        ----------
        found : Scored
        by_kind : numpy.ndarray
            Probabilities by kind by all evidence.
        """
        setting, fits = self._setting, self._fits
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
        doubted = np.flatnonzero(found.in_doubt(setting.model, setting.rule.cautious, allowed)).tolist()
        self._buffers.singly += len(doubted)
        for row in doubted:
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
        likely, code = np.unique((by_resin >= LIKELY) @ 2.0 ** np.arange(by_resin.shape[1]), return_inverse=True)
        key = code.ravel() * by_resin.shape[1] + by_resin.argmax(axis=1)
        keys, one_of, code = np.unique(key, return_index=True, return_inverse=True)
        said = []
        for place, row in zip(keys.tolist(), rows[one_of].tolist(), strict=True):
            many, leader = divmod(place, by_resin.shape[1])
            asked = float(likely[many]), leader
            if asked not in self._buffers.texts:
                heat = setting.rule.judge([View(by_kind[row])], setting.limit, prior=setting.prior)
                self._buffers.texts[asked] = _texts(heat)
            said.append(self._buffers.texts[asked])
        out[rows] = np.array(said, dtype=object)[code.ravel()]
        return out


def _texts(heat: Heat) -> str:
    """Return all that is to beware of, in an order that does not depend on how probable each resin is."""
    *own, local = heat.cautions
    return "; ".join([*sorted({*own, *(heat.reasons if heat.allowed else ())}), local])
