"""The verdict on heating, its words and its limits; when in doubt, nothing is heated."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Final

from resinid.errors import RangeError, safe_repr
from resinid.io.arguments import as_float
from resinid.notebook import Answer

__all__ = [
    "BESIDES",
    "CAUTIOUSLY",
    "DANGER_LIMIT",
    "DO_NOT_HEAT",
    "LOCAL",
    "MARKED",
    "MOST_BORNE",
    "NOT_MEASURED",
    "NOT_YET",
    "NO_BAR",
    "PRECAUTIONS",
    "UNLISTED_LIMIT",
    "Heat",
    "danger_limit_of",
]

DANGER_LIMIT: Final = 0.01
"""Probability of a resin that must not be heated above which nothing is heated (this
project's cautious choice; adjustable up to :data:`MOST_BORNE`)."""

MOST_BORNE: Final = 0.05
"""Largest limit that a caller may set instead: caution may not be set aside (cautious choice)."""

UNLISTED_LIMIT: Final = 0.05
"""Probability of "none of these" above which nothing is heated (cautious choice)."""

DO_NOT_HEAT: Final = "DO NOT HEAT"
NOT_YET: Final = "NOT YET"
PRECAUTIONS: Final = "may be melted, with every precaution named below"
NO_BAR: Final = "may be melted: nothing found forbids it, with the cautions below"

NOT_MEASURED: Final = (
    "nothing was measured that may clear a piece for heating: a mark, an article, a spectrum or a plug-in's test that "
    "is not trusted never does"
)

MARKED: Final = "by the tests that may clear a piece; a mark, an article or a spectrum cannot lift that"

BESIDES: Final = "by the tests that may clear a piece and {!r}; no other mark, article or spectrum can lift that"

CAUTIOUSLY: Final = "by the cautious prior"

LOCAL: Final = "Follow local codes; leave burning, solvents and doubtful stock to licensed practice."


@dataclass(frozen=True, slots=True)
class Heat(Answer):
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
        if not self.allowed or self.low is None:
            return ""
        return f"at {self.low:.0f} °C" if self.low == self.high else f"from {self.low:.0f} to {self.high:.0f} °C"

    @property
    def headline(self) -> str:
        """The verdict in one line, with the range of temperatures where it may be melted."""
        return self.verdict.replace("may be melted", f"may be melted {self.range}") if self.range else self.verdict

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
