"""The rule that gives leave to heat: by hazard and by melting, at each temperature."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.heating.temperatures import TEMPERATURES, Temperatures, barred_resins
from resinid.heating.verdict import (
    CAUTIOUSLY,
    DANGER_LIMIT,
    DO_NOT_HEAT,
    LOCAL,
    NO_BAR,
    NOT_MEASURED,
    NOT_YET,
    PRECAUTIONS,
    UNLISTED_LIMIT,
    Heat,
)
from resinid.scoring.prior import cautious_prior

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.scoring.engine import Model

    Mask = NDArray[np.bool_]

__all__ = ["MELTED", "SHOWN", "HeatRule", "View"]

AT_ONCE: Final = 4096
"""Pieces looked at together, few enough to stay near the processor while they are."""

MELTED: Final = 0.90
"""Probability of what flows unharmed at a temperature from which on a piece may be melted at it (cautious choice)."""

SHOWN: Final = 0.50
"""Probability from which on a hazard counts as shown, and not only as not ruled out (this project's choice)."""

LIKELY: Final = 0.10
"""Probability from which on the precautions of a resin are asked for (this project's choice)."""


@dataclass(frozen=True, slots=True)
class View:
    """Posterior probabilities under one way of taking the evidence.

    Parameters
    ----------
    probability : numpy.ndarray
        By kind, "none of these" last; shape (kinds,).
    what : str
        Which evidence, as a clause that ends a reason; empty for all of it.
    """

    probability: Array
    what: str = ""


class HeatRule:
    """The reference table's hazards and melt temperatures made ready to judge a ranking.

    Parameters
    ----------
    model : Model

    Attributes
    ----------
    temperatures : Temperatures
    barred : numpy.ndarray
        One for each resin that must not be heated, else zero; "none of these" last, shape (resins + 1,).
    cautious : numpy.ndarray
        The cautious prior, in the same order.

    Notes
    -----
    At a temperature T, hazard(T) is the probability of all kinds that must not be heated at T, and
    melts(T) that of all that flow there unharmed. A piece may be melted at T if hazard(T) is at most the
    limit, melts(T) at least :data:`MELTED` and "none of these" at most
    :data:`resinid.heating.verdict.UNLISTED_LIMIT`, under two priors, the caller's and
    :func:`resinid.scoring.prior.cautious_prior`, and under each way of taking the evidence: a caller's
    prior may raise the hazard and never lower it, and one reading outvotes no other.
    """

    def __init__(self, model: Model) -> None:
        reference = model.reference
        self._model = model
        self._names = model.candidates
        self._hazards = {
            symbol: tuple(hazard for hazard in reference.hazards if hazard.applies_to == symbol)
            for symbol in reference.symbols
        }
        self.temperatures: Temperatures = Temperatures.of(model)
        self.barred: Array = np.append(barred_resins(reference), 0.0)
        self.cautious: Array = cautious_prior(reference, self.barred)

    def judge(
        self,
        views: Sequence[View],
        limit: float = DANGER_LIMIT,
        *,
        prior: Array | None = None,
        measured: bool = True,
        forbidden: tuple[str, ...] = (),
    ) -> Heat:
        """Return the advice.

        Parameters
        ----------
        views : sequence of View
            Ways of taking the evidence, the first by all of it. The others: by those observations alone
            that may clear a piece, see :func:`clearing`; where there are two or more others, by those and
            each of the others in turn; and with one of two readings that contradict each other taken for right.
        limit : float, optional
            Heating is refused where what must not be heated is more probable than this.
        prior : numpy.ndarray, optional
            By which these probabilities were worked out, shape (resins + 1,); where given, they are
            worked out by the cautious prior as well.
        measured : bool, optional
            Whether any observation may clear a piece.
        forbidden : tuple of str, optional
            What else forbids heating, see :func:`forbidding`.
        """
        seen = [*views]
        if prior is not None:
            seen += [
                View(self.reweighed(view.probability, prior), ", ".join(filter(None, (view.what, CAUTIOUSLY))))
                for view in views
            ]
        chances = np.array([view.probability for view in seen])
        hazard = chances @ self.temperatures.hazard.T
        melts = chances @ self.temperatures.melts.T
        unlisted = float(chances[:, -1].max())
        # Each asked so that what is not a number forbids, too.
        fits = (hazard.max(axis=0) <= limit) & (melts.min(axis=0) >= MELTED)
        base = chances @ self.temperatures.barred
        reasons = [*forbidden] if measured else [*forbidden, NOT_MEASURED]
        worst = int(base.argmax())
        if not base[worst] <= limit:
            reasons.append(self._why_hazardous(seen[worst], float(base[worst]), limit))
        if not unlisted <= UNLISTED_LIMIT:
            reasons.append(
                f"{_percent(unlisted, UNLISTED_LIMIT)} chance that it is none of the resins in the table, above the "
                f"limit of {_percent(UNLISTED_LIMIT)}"
            )
        elif not reasons and not fits.any():
            reasons.append(self._why_not_melted(seen, hazard, melts, limit))
        by_resin = self._model.by_candidate(views[0].probability)
        cautions = self._cautions(by_resin)
        if reasons:
            verdict = DO_NOT_HEAT if forbidden or not float(base.max()) < SHOWN else NOT_YET
            return Heat(verdict, tuple(reasons), cautions, hazard=float(base[worst]), hazard_limit=limit)
        low, high = _range(fits)
        needed = [
            f"{self._names[k]}: {each.hazard}: {each.caution}"
            for k in np.argsort(-by_resin)[: int((by_resin >= LIKELY).sum())].tolist()
            for each in self._hazards[self._names[k]]
            if each.bar == "conditional"
        ]
        at = float(hazard[:, fits].max(axis=0).min())
        verdict = PRECAUTIONS if needed else NO_BAR
        return Heat(verdict, tuple(needed), cautions, low, high, hazard=at, hazard_limit=limit)

    def fits(self, probability: Array, limit: float = DANGER_LIMIT, *, prior: Array | None = None) -> Mask:
        """Return at which temperatures :meth:`judge` would let many pieces be melted, by these probabilities alone.

        Parameters
        ----------
        probability : numpy.ndarray
            By kind, shape (pieces, kinds).
        limit, prior : optional
            As for :meth:`judge`.

        Returns
        -------
        numpy.ndarray of bool
            Shape (pieces, temperatures).
        """
        out = np.zeros((len(probability), TEMPERATURES.size), dtype=bool)
        ratios = [None] if prior is None else [None, (self.cautious / prior)[self._model.kind_owner]]
        with np.errstate(invalid="ignore"):
            for first in range(0, len(out), AT_ONCE):
                some = probability[first : first + AT_ONCE]
                # Most that fail do so by what must not be heated at any temperature; the rest is looked at further.
                kept = np.flatnonzero(some @ self.temperatures.barred <= limit)
                out[first + kept] = self._fits(some[kept], limit, ratios)
        return out

    def _fits(self, probability: Array, limit: float, ratios: Sequence[Array | None]) -> Mask:
        out = np.ones((len(probability), TEMPERATURES.size), dtype=bool)
        for ratio in ratios:
            some = probability if ratio is None else probability * ratio
            total = some.sum(axis=1, keepdims=True)
            out &= some @ self.temperatures.hazard.T <= limit * total
            out &= some @ self.temperatures.melts.T >= MELTED * total
            out &= some[:, -1:] <= UNLISTED_LIMIT * total
        return out

    def reweighed(self, by_kind: Array, prior: Array) -> Array:
        """Return posterior probabilities by the cautious prior, from those by another; kinds in the last axis."""
        weighed = by_kind * (self.cautious / prior)[self._model.kind_owner]
        out: Array = weighed / weighed.sum(axis=-1, keepdims=True)
        return out

    def _why_hazardous(self, view: View, hazard: float, limit: float) -> str:
        risky = view.probability * self.temperatures.barred
        names = []
        for kind in np.argsort(-risky)[:3]:
            if not risky[kind] < max(limit, hazard) / 10:
                flame = "flame-retarded " if self._model.retarded[kind] else ""
                names.append(f"{flame}{self._names[self._model.kind_owner[kind]]} {_percent(float(risky[kind]))}")
        clause = f" ({view.what})" if view.what else ""
        worst = self._names[self._model.kind_owner[int(risky.argmax())]]
        what = next((h.hazard for h in self._hazards.get(worst, ()) if h.bar == "yes"), "")
        return (
            f"{_percent(hazard, limit)} chance that it must not be heated, above the limit of {_percent(limit)}: "
            f"{', '.join(names)}{f': {what}' if what else ''}{clause}"
        )

    def _why_not_melted(self, seen: Sequence[View], hazard: Array, melts: Array, limit: float) -> str:
        worst_hazard, least_melts = hazard.max(axis=0), melts.min(axis=0)
        safe = np.flatnonzero(worst_hazard <= limit)
        at = int(safe[least_melts[safe].argmax()])
        view = seen[int(melts[:, at].argmin())]
        solid = self._model.by_candidate(view.probability * (1.0 - self.temperatures.melts[at]))
        places = [k for k in np.argsort(-solid)[:3] if solid[k] > LIKELY / 10]
        names = ", ".join(f"{self._names[k]} {_percent(float(solid[k]))}" for k in places)
        share = _percent(float(least_melts[at]), MELTED)
        clause = f" ({view.what})" if view.what else ""
        return (
            f"no temperature is known that melts it: at {TEMPERATURES[at]:.0f} °C {share} of what it may be flows "
            f"unharmed, and {_percent(MELTED)} is asked for; else {names}{clause}"
        )

    def _cautions(self, by_resin: Array) -> tuple[str, ...]:
        leader = self._names[int(by_resin.argmax())]
        told = [
            f"{leader}: {hazard.hazard}{f', from about {hazard.onset:g} °C' if hazard.onset else ''}: {hazard.caution}"
            for hazard in self._hazards.get(leader, ())
        ]
        return (*told, LOCAL)


def _range(fits: Mask) -> tuple[float, float]:
    """Return the ends of the coolest run of temperatures that fit."""
    first = int(fits.argmax())
    rest = np.flatnonzero(~fits[first:])
    last = first + int(rest[0]) - 1 if rest.size else fits.size - 1
    return float(TEMPERATURES[first]), float(TEMPERATURES[last])


def _percent(share: float, limit: float = math.nan) -> str:
    """Return a share in as many digits as tell it from a limit that it misses, three or more."""
    texts = (f"{100 * share:.{digits}g} %" for digits in range(3, 18))
    told = (text for text in texts if share == limit or text != f"{100 * limit:.3g} %")
    return next(told, f"{100 * share:.3g} %")  # what is no number differs from no limit
