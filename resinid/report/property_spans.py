"""Where a piece stands among the resins: the numbers behind the pictures."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import Fault, InputError
from resinid.identification.score import model_of
from resinid.methods._guard import observable_of, term_of
from resinid.reference.table import reference_or_default
from resinid.scoring.integrals import log_product
from resinid.scoring.latents import AXES

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from resinid.arrays import Array
    from resinid.identification.result import Result
    from resinid.liquids import Liquid
    from resinid.methods.contract import Observation
    from resinid.reference.table import ReferenceTable

__all__ = [
    "AGREES",
    "ENDS",
    "BathOutcome",
    "DrawnReading",
    "Span",
    "baths_of",
    "drawn_range",
    "drawn_reading",
    "measured_readings",
    "reference_of",
    "spans_of",
]

ENDS: Final = (0.05, 0.5, 0.95)
"""Shares of a resin's pieces below the low end, the middle and the high end of its span."""

MARGIN: Final = 0.05
"""Share of the range drawn that is left free at either end."""

WIDE: Final = 2.5
"""Times the low end from which on a logarithmic axis has more room for what is low."""

AGREES: Final = math.exp(-1.920729)
"""Readings agree with a value whose likelihood is at least this share of the best. For a
normal reading these are its 95 % limits: half the 0.95 quantile of chi-squared with one
degree of freedom is 1.9207 (Wilks 1938, Ann. Math. Statist. 9:60-62; from memory)."""


@dataclass(frozen=True, slots=True)
class Span:
    """What the pieces of one resin are like in one property.

    Parameters
    ----------
    resin : str
    low, middle, high : float
        Values below which 5, 50 and 95 % of the pieces that have the property lie [canonical unit].
    never : float
        Share of pieces without it (never softens).
    stated : bool
        Whether the table says anything of it.
    """

    resin: str
    low: float
    middle: float
    high: float
    never: float
    stated: bool

    @property
    def absent(self) -> str:
        """Why there is nothing to draw; empty where there is."""
        if math.isfinite(self.low):
            return ""
        return "never softens" if self.never > 0.5 else "no data"


@dataclass(frozen=True, slots=True, eq=False)
class DrawnReading:
    """What some observations together say of one property.

    Parameters
    ----------
    values, relative : numpy.ndarray
        Values [canonical unit], ascending, and their likelihood relative to the best, shape (nodes,).
    low, high : float
        Ends of the values the observations agree with; infinite where they set no limit.
    """

    values: Array
    relative: Array
    low: float
    high: float

    def limits(self, share: float) -> tuple[float, float]:
        """Return the ends of the values whose likelihood is at least a share of the best."""
        within = np.flatnonzero(self.relative >= share)
        first, last = int(within[0]), int(within[-1])
        low = self._crossing(first - 1, first, share) if first > 0 else -math.inf
        high = self._crossing(last + 1, last, share) if last < self.values.size - 1 else math.inf
        return low, high

    def _crossing(self, outside: int, inside: int, share: float) -> float:
        there, here = math.log(max(float(self.relative[outside]), 1e-300)), math.log(float(self.relative[inside]))
        part = (math.log(share) - there) / (here - there)
        return float(self.values[outside] + part * (self.values[inside] - self.values[outside]))


@dataclass(frozen=True, slots=True)
class BathOutcome:
    """A liquid the piece was put into, and what it did there."""

    liquid: Liquid
    outcome: str


def reference_of(answer: Result, reference: ReferenceTable | None) -> ReferenceTable:
    """Return the table an answer was made with.

    Raises
    ------
    InputError
        It was made with another than the one given or, where none is given, the package's own.
    """
    chosen = reference_or_default(reference)
    if chosen.digest != answer.reference_digest:
        message = (
            f"is {chosen.digest[:12]}, but the answer was made with {answer.reference_digest[:12]}; "
            "give that one as reference="
        )
        raise InputError([Fault("reference", message)])
    return chosen


def drawn_range(
    name: str, spans: Sequence[Span], reading: DrawnReading | None, baths: Iterable[BathOutcome]
) -> tuple[float, float, bool]:
    """Return the ends of an axis that holds the readings, liquids, leader and other middles, and if it is logarithmic.

    Examples
    --------
    >>> drawn_range("density", [Span("PS", 1.0, 1.1, 2.0, 0.0, True)], None, [])
    (0.95, 2.05, False)
    """
    ends = [spans[0].low, spans[0].high, *(span.middle for span in spans), *(bath.liquid.density for bath in baths)]
    ends += [reading.low, reading.high] if reading else []
    finite = [end for end in ends if math.isfinite(end)] or [1.0, 2.0]
    low, high = min(finite), max(finite)
    if AXES[name].logarithmic and high > WIDE * low:
        room = (high / low) ** MARGIN * 1.02
        return low / room, high * room, True
    room = MARGIN * (high - low) or 0.05 * abs(high) or 1.0
    return low - room, high + room, False


def measured_readings(observations: Iterable[Observation]) -> tuple[str, ...]:
    """Return the measured properties that were observed, density first."""
    seen = {observable_of(observation) for observation in observations}
    return tuple(name for name in AXES if name in seen)


def spans_of(reference: ReferenceTable, name: str, resins: Iterable[str]) -> tuple[Span, ...]:
    """Return what the pieces of some resins are like in a measured property.

    Parameters
    ----------
    reference : ReferenceTable
    name : {"density", "softening_temperature", "flexural_modulus"}
    resins : iterable of str
        Symbols, or ``"none of these"``.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> (span,) = spans_of(default_reference(), "density", ["PE-HD"])
    >>> 0.93 < span.low < span.middle < span.high < 1.0
    True
    """
    model = model_of(reference)
    latent = model.latent(name)
    stated = set(model.candidates) - set(model.no_data(name))
    finite = np.isfinite(latent.values)
    mass = model.gathering.T @ latent.mass
    out: list[Span] = []
    for resin in resins:
        row = mass[model.candidates.index(resin)]
        reached = np.cumsum(row[finite])
        if reached[-1] > 0.0:
            low, middle, high = np.interp(ENDS, reached / reached[-1], latent.values[finite]).tolist()
        else:
            low = middle = high = math.nan
        out.append(Span(resin, low, middle, high, float(row[~finite].sum()), resin in stated))
    return tuple(out)


def drawn_reading(observations: Iterable[Observation], name: str, reference: ReferenceTable) -> DrawnReading | None:
    """Return what some observations say of a measured property; None where none observes it.

    Mishaps are allowed for as in scoring, so a single test never excludes a value.

    Examples
    --------
    >>> from resinid import observe
    >>> from resinid.reference.table import default_reference
    >>> found = drawn_reading([observe("density", density="0.950 ± 0.002 g/cm3")], "density", default_reference())
    >>> [round(end, 3) for end in (found.low, found.high)]
    [0.946, 0.954]
    """
    terms = [term_of(observation) for observation in observations if observable_of(observation) == name]
    if not terms:
        return None
    values = model_of(reference).resolving(name, terms).values
    values = values[np.isfinite(values)]
    log = log_product(terms, values)
    found = DrawnReading(values, np.exp(log - log.max()), -math.inf, math.inf)
    return DrawnReading(values, found.relative, *found.limits(AGREES))


def baths_of(observations: Iterable[Observation]) -> tuple[BathOutcome, ...]:
    """Return the liquids of the float tests with what the piece did there, lightest first, each once."""
    found = {
        BathOutcome(observation.liquid, str(getattr(observation, "outcome", "")))
        for observation in observations
        if observation.test == "float" and hasattr(observation, "liquid")
    }
    return tuple(sorted(found, key=lambda bath: (bath.liquid.density, bath.liquid.label, bath.outcome)))
