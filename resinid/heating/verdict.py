"""Whether a piece may be heated at all; when in doubt, do not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import PlugInError, RangeError, safe_repr
from resinid.io.arguments import as_float
from resinid.methods._guard import call_guarded, is_trusted, kind_name
from resinid.methods.registry import is_built_in
from resinid.notebook import ShowsItself
from resinid.scoring.prior import NONE_OF_THESE, cautious_prior

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from numpy.typing import NDArray

    from resinid.methods.contract import Observation
    from resinid.reference.entries import Hazard
    from resinid.reference.table import ReferenceTable

    Array = NDArray[np.float64]
    Mask = NDArray[np.bool_]

__all__ = [
    "CAUTIOUSLY",
    "DANGER_LIMIT",
    "DO_NOT_HEAT",
    "IDENTIFIED",
    "LOCAL",
    "MARKED",
    "MOST_BORNE",
    "NOT_MEASURED",
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

IDENTIFIED: Final = 0.90
"""Probability the leading resin needs before its stock may be heated (cautious choice)."""

UNLISTED_LIMIT: Final = 0.05
"""Probability of "none of these" above which nothing is heated (cautious choice)."""

AT_ONCE: Final = 4096
"""Pieces looked at together, few enough to stay near the processor while they are."""

DO_NOT_HEAT: Final = "DO NOT HEAT"
PRECAUTIONS: Final = "only with every precaution named below"
NO_BAR: Final = "nothing found forbids heating, with the cautions below"

NOT_MEASURED: Final = "nothing was measured: a mark, an article or a spectrum alone never clears a piece for heating"

MARKED: Final = "by what was measured; a mark, an article or a spectrum cannot lift that"

CAUTIOUSLY: Final = "by the cautious prior, which no other prior lifts"

LOCAL: Final = "Follow local codes; leave burning, solvents and doubtful stock to licensed practice."


@dataclass(frozen=True, slots=True)
class Heat(ShowsItself):
    """Advice on heating.

    Parameters
    ----------
    verdict : str
        :data:`DO_NOT_HEAT`, :data:`PRECAUTIONS` or :data:`NO_BAR`. The last means only
        that nothing found forbids heating.
    reasons : tuple of str
        Why it is not :data:`NO_BAR`; empty where it is.
    cautions : tuple of str
        What to beware of all the same.
    """

    verdict: str
    reasons: tuple[str, ...]
    cautions: tuple[str, ...]

    @property
    def allowed(self) -> bool:
        """Whether heating is not ruled out; its precautions and cautions still hold."""
        return self.verdict != DO_NOT_HEAT


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
        Shape (resins + 1,), in table order, "none of these" last.
    what : str
        Which evidence, as a clause that ends a reason; empty for all of it.
    names : bool, optional
        Whether the leading resin has to be likely enough by this view, too.
    """

    probability: Array
    what: str = ""
    names: bool = False


class HeatRule:
    """The table's hazards made ready to judge a ranking.

    Parameters
    ----------
    reference : ReferenceTable

    Notes
    -----
    What must not be heated has to be unlikely under two priors, the caller's and
    :func:`resinid.scoring.prior.cautious_prior`, so that a caller's prior may raise the hazard and
    never lower it.
    """

    def __init__(self, reference: ReferenceTable) -> None:
        self._symbols = reference.symbols
        self._by_resin: dict[str, list[Hazard]] = {symbol: [] for symbol in reference.symbols}
        for hazard in reference.hazards:
            if hazard.applies_to in self._by_resin:
                self._by_resin[hazard.applies_to].append(hazard)
        barred = [any(hazard.bar == "yes" for hazard in hazards) or not hazards for hazards in self._by_resin.values()]
        self._barred = np.append(np.array(barred, dtype=np.float64), 0.0)
        self._cautious = cautious_prior(reference, self._barred)

    @property
    def barred(self) -> Array:
        """One for each resin that must not be heated, else zero; in table order, "none of these" last."""
        return self._barred

    @property
    def cautious(self) -> Array:
        """The cautious prior, in table order, "none of these" last."""
        return self._cautious

    def judge(
        self,
        probability: Array,
        limit: float = DANGER_LIMIT,
        *,
        prior: Array | None = None,
        views: Sequence[View] = (),
        measured: bool = True,
        forbidden: tuple[str, ...] = (),
    ) -> Heat:
        """Return the advice for probabilities in table order, "none of these" last.

        Parameters
        ----------
        probability : numpy.ndarray
            Shape (resins + 1,).
        limit : float, optional
            Probability of resins that must not be heated above which nothing is.
        prior : numpy.ndarray, optional
            By which these probabilities were worked out, shape (resins + 1,); where given, they are
            worked out by the cautious prior as well.
        views : sequence of View, optional
            Other ways of taking the evidence: by those observations alone that may clear a piece,
            see :func:`clearing`, or with one of two readings that contradict each other taken for
            right. What must not be heated has to be unlikely by each of them as well.
        measured : bool, optional
            Whether any observation may clear a piece.
        forbidden : tuple of str, optional
            What else forbids heating, see :func:`forbidding`.
        """
        reasons = [*forbidden] if measured else [*forbidden, NOT_MEASURED]
        leader = int(probability.argmax())
        name = self._symbols[leader] if leader < len(self._symbols) else NONE_OF_THESE
        hazard = self._hazard([View(probability), *views], prior, limit)
        reasons += hazard
        if not probability[leader] >= IDENTIFIED:
            reasons.append(f"not identified well enough: {name} has only {probability[leader]:.0%}")
        else:
            reasons += [
                f"not identified well enough: {name} has only {view.probability[leader]:.0%} ({view.what})"
                for view in views
                if view.names and not view.probability[leader] >= IDENTIFIED
            ]
        unlisted = max(float(view.probability[-1]) for view in (View(probability), *views))
        # Asked so that what is not a number forbids, too.
        if not unlisted <= UNLISTED_LIMIT:
            reasons.append(f"{unlisted:.0%} chance that it is none of the resins in the table")
        cautions = [
            f"{name}: {hazard.hazard}{f', from about {hazard.onset:g} °C' if hazard.onset else ''}: {hazard.caution}"
            for hazard in self._by_resin.get(name, ())
        ]
        if reasons:
            return Heat(DO_NOT_HEAT, tuple(reasons), (*cautions, LOCAL))
        needed = [f"{h.hazard}: {h.caution}" for h in self._by_resin.get(name, ()) if h.bar == "conditional"]
        return Heat(PRECAUTIONS if needed else NO_BAR, tuple(needed), (*cautions, LOCAL))

    def _hazard(self, views: Sequence[View], prior: Array | None, limit: float) -> list[str]:
        """Return why some resin that must not be heated is too likely; nothing where none is."""
        reasons: list[str] = []
        for view in views:
            seen = [(view.probability, "")]
            if prior is not None:
                seen.append((self.reweighed(view.probability, prior), CAUTIOUSLY))
            sums = [float(self._barred @ probability) for probability, _ in seen]
            place = next((i for i, each in enumerate(sums) if not each <= limit), None)
            if place is None:
                continue
            probability, by = seen[place]
            risky = probability * self._barred
            clause = ", ".join(filter(None, (view.what, by)))
            reasons += [
                self._why(index, float(risky[index])) + (f" ({clause})" if clause else "")
                for index in np.argsort(-risky)[:3]
                if not risky[index] <= limit / 10
            ]
            break
        return reasons

    def reweighed(self, probability: Array, prior: Array) -> Array:
        """Return posterior probabilities by the cautious prior, from those by another; shape (resins + 1,)."""
        weighed = probability * (self._cautious / prior)
        out: Array = weighed / weighed.sum()
        return out

    def allows(self, probability: Array, limit: float = DANGER_LIMIT, *, prior: Array | None = None) -> Mask:
        """Return for many pieces whether :meth:`judge` would not say "do not heat" by these probabilities alone.

        Parameters
        ----------
        probability : numpy.ndarray
            Shape (pieces, resins + 1).
        limit, prior : optional
            As for :meth:`judge`.
        """
        known = np.zeros(len(probability), dtype=bool)
        # Which rows reach it, rather than each row's greatest: a third of the time.
        known[np.flatnonzero(probability >= IDENTIFIED) // probability.shape[1]] = True
        return known & self.bears(probability, limit, prior=prior)

    def bears(self, probability: Array, limit: float = DANGER_LIMIT, *, prior: Array | None = None) -> Mask:
        """Return for many pieces whether neither hazard nor "none of these" is above its limit, whatever leads."""
        out = np.empty(len(probability), dtype=bool)
        with np.errstate(invalid="ignore"):
            for first in range(0, len(out), AT_ONCE):
                rows = slice(first, first + AT_ONCE)
                some = probability[rows]
                out[rows] = self._safe(some, limit) & (some[:, -1] <= UNLISTED_LIMIT)
                if prior is not None:
                    # The sum and the hazard by the cautious prior in one go, without a copy of the table.
                    ratio = self._cautious / prior
                    hazard = np.einsum("ij,j->i", some, self._barred * ratio)
                    out[rows] &= hazard <= limit * np.einsum("ij,j->i", some, ratio)
        return out

    def _safe(self, probability: Array, limit: float) -> Mask:
        # Not as a matrix product: the library would share it out over threads, to no gain.
        out: Mask = np.einsum("ij,j->i", probability, self._barred) <= limit
        return out

    def _why(self, index: int, probability: float) -> str:
        symbol = self._symbols[index]
        worst = next((h for h in self._by_resin[symbol] if h.bar == "yes"), None)
        what = worst.hazard if worst else "no hazard data: treated as forbidden"
        return f"may be {symbol} ({probability:.1%}): {what}"
