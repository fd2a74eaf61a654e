"""Whether a piece may be heated at all; when in doubt, do not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from resinid.errors import PlugInError, RangeError, safe_repr
from resinid.heating.temperatures import TEMPERATURES, Temperatures, barred_resins
from resinid.io.arguments import as_float
from resinid.methods._guard import call_guarded, is_trusted, kind_name
from resinid.methods.registry import is_built_in
from resinid.notebook import ShowsItself
from resinid.scoring.prior import cautious_prior

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from numpy.typing import NDArray

    from resinid.methods.contract import Observation
    from resinid.scoring.engine import Model

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

__all__ = [
    "CAUTIOUSLY",
    "DANGER_LIMIT",
    "DO_NOT_HEAT",
    "LOCAL",
    "MARKED",
    "MELTED",
    "MOST_BORNE",
    "NOT_MEASURED",
    "NOT_YET",
    "NO_BAR",
    "PRECAUTIONS",
    "UNLISTED_LIMIT",
    "Heat",
    "HeatRule",
    "View",
    "clearing",
    "danger_limit_of",
    "forbidding",
]

DANGER_LIMIT: Final = 0.01
"""Probability of a resin that must not be heated above which nothing is heated (this
project's cautious choice; adjustable up to :data:`MOST_BORNE`)."""

MOST_BORNE: Final = 0.05
"""Largest limit that a caller may set instead: caution may not be set aside (cautious choice)."""

UNLISTED_LIMIT: Final = 0.05
"""Probability of "none of these" above which nothing is heated (cautious choice)."""

AT_ONCE: Final = 4096
"""Pieces looked at together, few enough to stay near the processor while they are."""

MELTED: Final = 0.90
"""Probability of what flows unharmed at a temperature from which on a piece may be melted at it (cautious choice)."""

SHOWN: Final = 0.50
"""Probability from which on a hazard counts as shown, and not only as not ruled out (this project's choice)."""

LIKELY: Final = 0.10
"""Probability from which on the precautions of a resin are asked for (this project's choice)."""

DO_NOT_HEAT: Final = "DO NOT HEAT"
NOT_YET: Final = "NOT YET"
PRECAUTIONS: Final = "may be melted, with every precaution named below"
NO_BAR: Final = "may be melted: nothing found forbids it, with the cautions below"

NOT_MEASURED: Final = "nothing was measured: a mark, an article or a spectrum alone never clears a piece for heating"

MARKED: Final = "by what was measured; a mark, an article or a spectrum cannot lift that"

CAUTIOUSLY: Final = "by the cautious prior"

LOCAL: Final = "Follow local codes; leave burning, solvents and doubtful stock to licensed practice."


@dataclass(frozen=True, slots=True)
class Heat(ShowsItself):
    """Advice on heating.

    Parameters
    ----------
    verdict : str
        :data:`NO_BAR`, :data:`PRECAUTIONS`, :data:`NOT_YET` (the hazard is not shown, and not yet ruled
        out; or no temperature is known that melts it) or :data:`DO_NOT_HEAT` (a warning stands, or the
        hazard is likelier than not). The first means only that nothing found forbids heating.
    reasons : tuple of str
        Why it is not :data:`NO_BAR`; empty where it is.
    cautions : tuple of str
        What to beware of all the same.
    low, high : float or None
        Between which temperatures it may be melted [degC]; None where it may not.
    hazard : float
        Probability that it must not be heated, the largest over both priors and all ways of taking the
        evidence; where it may be melted, at the temperature where that is smallest.
    hazard_limit : float
        Above it nothing is heated.
    settled_by : tuple of (str, float)
        Tests that would most likely settle it, and how likely each does; empty where nobody asked.
    """

    verdict: str
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]
    low: float | None = None
    high: float | None = None
    hazard: float = 1.0
    hazard_limit: float = DANGER_LIMIT
    settled_by: tuple[tuple[str, float], ...] = ()

    @property
    def allowed(self) -> bool:
        """Whether heating is not ruled out; its precautions and cautions still hold."""
        return self.verdict in {NO_BAR, PRECAUTIONS}

    @property
    def range(self) -> str:
        """From where to where it may be melted, in words; empty where it may not."""
        return f"from {self.low:.0f} to {self.high:.0f} °C" if self.allowed and self.low is not None else ""

    @property
    def headline(self) -> str:
        """The verdict in one line, with the range of temperatures where it may be melted."""
        return self.verdict.replace("may be melted", f"may be melted {self.range}", 1) if self.range else self.verdict

    def to_dict(self) -> dict[str, Any]:
        """Return the advice as JSON types."""
        return {
            "allowed": self.allowed,
            "verdict": self.verdict,
            "low_degC": self.low,
            "high_degC": self.high,
            "hazard": self.hazard,
            "hazard_limit": self.hazard_limit,
            "reasons": list(self.reasons),
            "cautions": list(self.cautions),
            "settled_by": [{"test": test, "chance": chance} for test, chance in self.settled_by],
        }


def danger_limit_of(given: object) -> float:
    """Return a limit of danger that a caller set.

    Raises
    ------
    RangeError
        It is no number from 0 to :data:`MOST_BORNE`.

    Examples
    --------
    >>> danger_limit_of(0.02)
    0.02
    """
    limit = as_float(given)
    if not 0.0 <= limit <= MOST_BORNE:
        raise RangeError(
            f"a danger limit of {safe_repr(given, 50)} is not a number from 0 to {MOST_BORNE:g}; "
            "it may not be set aside"
        )
    return limit


def clearing(test: Observation | type[Observation], trusted: Iterable[type] = ()) -> bool:
    """Return whether a test may clear a piece for heating.

    A mark, the kind of article and a list of bands never do: their tests have the class
    attribute ``clears_heating = False``. A plug-in's test does only if its class is among
    ``trusted``: what a plug-in tells may raise a hazard, but clears none by itself.

    Examples
    --------
    >>> from resinid import observe
    >>> from resinid.methods.float_test.method import FloatTest
    >>> Imitation = type("Imitation", (FloatTest,), {})
    >>> clearing(FloatTest), clearing(observe("mark", reads="PP"))
    (True, False)
    >>> clearing(Imitation), clearing(Imitation, trusted=[Imitation])
    (False, True)
    """
    kind = test if isinstance(test, type) else type(test)
    return is_trusted(kind, trusted) and bool(getattr(kind, "clears_heating", True))


def forbidding(observations: Iterable[Observation]) -> tuple[str, ...]:
    """Return what was observed that forbids heating, whatever the piece is: why, each reason once.

    A test with such an outcome has a method ``forbids_heating()``, which returns the reason or an
    empty text. A plug-in's that cannot say forbids it: in doubt, do not heat.

    Examples
    --------
    >>> from resinid import observe
    >>> forbidding([observe("mark", reads=">ABS-FR(17)<")])
    ('marked >ABS-FR(17)<: flame retarded, which may give off hydrogen bromide and worse',)
    """
    return tuple(dict.fromkeys(reason for each in observations if (reason := _forbids(each))))


def _forbids(observation: Observation) -> str:
    kind = type(observation)
    if is_built_in(kind):
        return _asked(observation)
    try:
        said: object = call_guarded(kind, _asked, observation)
    except PlugInError:
        said = None
    return said if isinstance(said, str) else f"{kind_name(kind)} cannot say whether it forbids heating"


def _asked(observation: Observation) -> str:
    ask: Callable[[], str] | None = getattr(observation, "forbids_heating", None)
    return ask() if ask else ""


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
    limit and melts(T) at least :data:`MELTED`, under two priors, the caller's and
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
            that may clear a piece, see :func:`clearing`, or with one of two readings that contradict
            each other taken for right.
        limit : float, optional
            Probability of what must not be heated above which nothing is.
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
                f"{_percent(unlisted)} chance that it is none of the resins in the table, above the limit of "
                f"{_percent(UNLISTED_LIMIT)}"
            )
        elif not reasons and not fits.any():
            reasons.append(self._why_not_melted(seen, hazard, melts, limit))
        by_resin = self._model.by_candidate(views[0].probability)
        cautions = self._cautions(by_resin)
        if reasons:
            likely = not float(views[0].probability @ self.temperatures.barred) < SHOWN
            verdict = DO_NOT_HEAT if forbidden or likely or not float(base.max()) < SHOWN else NOT_YET
            return Heat(verdict, tuple(reasons), cautions, hazard=float(base[worst]), hazard_limit=limit)
        low, high = _range(fits)
        needed = [
            f"{self._names[k]}: {each.hazard}: {each.caution}"
            for k in np.argsort(-by_resin)
            if by_resin[k] >= LIKELY and k < len(self._names) - 1
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
                kept = np.flatnonzero((some @ self.temperatures.barred <= limit) & (some[:, -1] <= UNLISTED_LIMIT))
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

    def sure(self, by_kind: Array, limit: float, prior: Array) -> Mask:
        """Return for many posteriors whether they make a sure verdict either way: may be melted, or clearly not.

        Parameters
        ----------
        by_kind : numpy.ndarray
            Shape (posteriors, kinds).
        """
        melted = self.fits(by_kind, limit, prior=prior).any(axis=1)
        return melted | (by_kind @ self.temperatures.barred >= MELTED)

    def reweighed(self, by_kind: Array, prior: Array) -> Array:
        """Return posterior probabilities by the cautious prior, from those by another; kinds in the last axis."""
        weighed = by_kind * (self.cautious / prior)[self._model.kind_owner]
        out: Array = weighed / weighed.sum(axis=-1, keepdims=True)
        return out

    def _why_hazardous(self, view: View, hazard: float, limit: float) -> str:
        risky = view.probability * self.temperatures.barred
        names = []
        for kind in np.argsort(-risky)[:3]:
            if not risky[kind] < limit / 10:
                flame = "flame-retarded " if self._model.retarded[kind] else ""
                names.append(f"{flame}{self._names[self._model.kind_owner[kind]]} {_percent(float(risky[kind]))}")
        clause = f" ({view.what})" if view.what else ""
        worst = self._names[self._model.kind_owner[int(risky.argmax())]]
        what = next((h.hazard for h in self._hazards.get(worst, ()) if h.bar == "yes"), "")
        return (
            f"{_percent(hazard)} chance that it must not be heated, above the limit of {_percent(limit)}: "
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
        clause = f" ({view.what})" if view.what else ""
        return (
            f"no temperature is known that melts it: at {TEMPERATURES[at]:.0f} °C {_percent(float(least_melts[at]))} "
            f"of what it may be flows unharmed, and {_percent(MELTED)} is asked for; else {names}{clause}"
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


def _percent(share: float) -> str:
    """Return a share so that what is above a limit never looks like it."""
    return f"{100 * share:.3g} %"
