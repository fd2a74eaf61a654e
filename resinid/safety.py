"""Whether a piece may be heated at all; when in doubt, do not."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.door.arguments import float_of
from resinid.errors import PlugInError, RangeError, shown
from resinid.methods._guard import call_guarded, is_trusted, kind_name
from resinid.methods.registry import is_built_in
from resinid.scoring.prior import NONE_OF_THESE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from numpy.typing import NDArray

    from resinid.methods.contract import Observation
    from resinid.table.entries import Hazard
    from resinid.table.table import Table

    Array = NDArray[np.float64]

__all__ = [
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

LOCAL: Final = "Follow local codes; leave burning, solvents and doubtful stock to licensed practice."


@dataclass(frozen=True, slots=True)
class Heat:
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

    def _repr_html_(self) -> str:
        from resinid.show.piece import heat_html

        return heat_html(self)


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
    limit = float_of(given)
    if not 0.0 <= limit <= MOST_BORNE:
        raise RangeError(
            f"a danger limit of {shown(given, 50)} is not a number from 0 to {MOST_BORNE:g}; it may not be set aside"
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


class HeatRule:
    """The table's hazards made ready to judge a ranking.

    Parameters
    ----------
    table : Table
    """

    def __init__(self, table: Table) -> None:
        self._symbols = table.symbols
        self._by_resin: dict[str, list[Hazard]] = {symbol: [] for symbol in table.symbols}
        for hazard in table.hazards:
            if hazard.applies_to in self._by_resin:
                self._by_resin[hazard.applies_to].append(hazard)
        barred = [any(hazard.bar == "yes" for hazard in hazards) or not hazards for hazards in self._by_resin.values()]
        self._barred = np.append(np.array(barred, dtype=np.float64), 0.0)

    @property
    def barred(self) -> Array:
        """One for each resin that must not be heated, else zero; in table order, "none of these" last."""
        return self._barred

    def judge(
        self,
        probability: Array,
        limit: float = DANGER_LIMIT,
        *,
        tested: Array | None = None,
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
        tested : numpy.ndarray, optional
            Probabilities by those observations alone that may clear a piece, see
            :func:`clearing`; not given, they are the same. What must not be heated has to be
            unlikely by these as well.
        measured : bool, optional
            Whether there is any such observation.
        forbidden : tuple of str, optional
            What else forbids heating, see :func:`forbidding`.
        """
        reasons = [*forbidden] if measured else [*forbidden, NOT_MEASURED]
        bare = probability if tested is None else tested
        danger = float(self._barred @ probability)
        leader = int(probability.argmax())
        name = self._symbols[leader] if leader < len(self._symbols) else NONE_OF_THESE
        # Each asked so that what is not a number forbids, too.
        if not danger <= limit:
            risky = probability * self._barred
            reasons += [
                self._why(index, float(risky[index])) for index in np.argsort(-risky)[:3] if risky[index] > limit / 10
            ]
        elif not float(self._barred @ bare) <= limit:
            index = int((bare * self._barred).argmax())
            reasons.append(f"{self._symbols[index]} {bare[index]:.1%} {MARKED}")
        if not probability[leader] >= IDENTIFIED:
            reasons.append(f"not identified well enough: {name} has only {probability[leader]:.0%}")
        if not probability[-1] <= UNLISTED_LIMIT:
            reasons.append(f"{probability[-1]:.0%} chance that it is none of the resins in the table")
        cautions = [
            f"{name}: {hazard.hazard}{f', from about {hazard.onset:g} °C' if hazard.onset else ''}: {hazard.caution}"
            for hazard in self._by_resin.get(name, ())
        ]
        if reasons:
            return Heat(DO_NOT_HEAT, tuple(reasons), (*cautions, LOCAL))
        needed = [f"{h.hazard}: {h.caution}" for h in self._by_resin.get(name, ()) if h.bar == "conditional"]
        return Heat(PRECAUTIONS if needed else NO_BAR, tuple(needed), (*cautions, LOCAL))

    def allows(self, probability: Array, limit: float = DANGER_LIMIT, tested: Array | None = None) -> NDArray[np.bool_]:
        """Return for many pieces whether :meth:`judge` would not say "do not heat".

        Parameters
        ----------
        probability : numpy.ndarray
            Shape (pieces, resins + 1).
        limit : float, optional
            As for :meth:`judge`.
        tested : numpy.ndarray, optional
            As for :meth:`judge`, shape (pieces, resins + 1).
        """
        out = np.empty(len(probability), dtype=bool)
        with np.errstate(invalid="ignore"):
            for first in range(0, len(out), AT_ONCE):
                rows = slice(first, first + AT_ONCE)
                out[rows] = self._allows(probability[rows], limit)
                if tested is not None:
                    out[rows] &= self._safe(tested[rows], limit)
        return out

    def _allows(self, probability: Array, limit: float) -> NDArray[np.bool_]:
        # Which rows reach it, rather than each row's greatest: a third of the time.
        known = np.zeros(len(probability), dtype=bool)
        known[np.flatnonzero(probability >= IDENTIFIED) // probability.shape[1]] = True
        listed = probability[:, -1] <= UNLISTED_LIMIT
        out: NDArray[np.bool_] = self._safe(probability, limit) & known & listed
        return out

    def _safe(self, probability: Array, limit: float) -> NDArray[np.bool_]:
        # Not as a matrix product: the library would share it out over threads, to no gain.
        out: NDArray[np.bool_] = np.einsum("ij,j->i", probability, self._barred) <= limit
        return out

    def _why(self, index: int, probability: float) -> str:
        symbol = self._symbols[index]
        worst = next((h for h in self._by_resin[symbol] if h.bar == "yes"), None)
        what = worst.hazard if worst else "no hazard data: treated as forbidden"
        return f"may be {symbol} ({probability:.1%}): {what}"
