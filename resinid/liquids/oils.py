"""Kitchen oils: test liquids of fixed composition, between polypropylene and high-density polyethylene.

The standards print a range of relative density; of which bottle it is nothing is known, so any
density in the range is as likely as another, and the standard uncertainty is half the range over
the root of three (JCGM 100:2008, 4.3.7).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from resinid.errors import RangeError
from resinid.liquids._checks import refuse_not_finite

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["OILS", "OILS_CAUTION", "Oil"]

WATER_20: Final = 0.99821
"""[g/cm3] Density of water at 20 degC, to which relative densities are stated (Tanaka 2001)."""

SLOPE: Final = -0.00066
"""[g/cm3/K] Computed from the densities of Noureddini 1992 at 23.9 and 110 degC: -0.00067 for maize oil, -0.00065
for rapeseed oil; Rodenbush 1999 prints -0.00064 for vegetable oils."""

U_SLOPE: Final = 2e-5
"""[g/cm3/K] Its standard uncertainty: the three values differ by no more."""

OILS_CAUTION: Final = (
    "Oil leaves a film: use it after all floats in water, brine and alcohol, for that film spoils them. Then wash the "
    "chip with washing-up liquid, rinse and dry it. Neither oil nor an oily chip comes near the hot plate: it smokes "
    "from about 210 °C on."
)
"""What to beware of; smoke points of 211 to 244 degC are those of the Institute of Shortening and Edible Oils."""


@dataclass(frozen=True, slots=True)
class Oil:
    """One kind of kitchen oil.

    Parameters
    ----------
    name : str
        The name used in results.
    aliases : tuple of str
        Other names it is found by.
    low, high : float
        Range of its density at 20 degC [g/cm3].
    how : str
        Where the range is printed, and how that was read.
    sources : tuple of str
        Keys of the publications used.
    flash : float or None
        Lowest flash point printed of it [degC]; None where none was read.
    t_low, t_high : float
        Temperatures at which it is clear and its slope holds [degC]: common practice, no source.

    Examples
    --------
    >>> oil = OILS["sunflower oil"]
    >>> round(oil.density(20.0), 4), round(oil.density(25.0), 4), round(oil.uncertainty(20.0), 4)
    (0.9179, 0.9146, 0.002)
    """

    name: str
    aliases: tuple[str, ...]
    low: float
    high: float
    how: str
    sources: tuple[str, ...]
    flash: float | None
    t_low: float = 5.0
    t_high: float = 40.0

    def density(self, t: float) -> float:
        """Return the middle of the range at ``t`` [degC]."""
        return 0.5 * (self.low + self.high) + SLOPE * (t - 20.0)

    def uncertainty(self, t: float) -> float:
        """Return the standard uncertainty of :meth:`density`: of the range, and of the slope away from 20 degC."""
        return math.hypot(0.5 * (self.high - self.low) / math.sqrt(3.0), U_SLOPE * (t - 20.0))

    def check_temperature(self, t: float) -> None:
        """Refuse a temperature [degC] outside the range with :class:`RangeError`, no number with InputError."""
        refuse_not_finite(temperature=t)
        if not self.t_low <= t <= self.t_high:
            msg = (
                f"{self.name}: temperature {t:g} °C is outside {self.t_low:g} to {self.t_high:g} °C; "
                "let the oil come to room temperature, or measure it with a hydrometer"
            )
            raise RangeError(msg)


def _of_relative(low: float, high: float, at: float = 20.0) -> tuple[float, float]:
    """Return the densities at 20 degC of a relative density at ``at`` [degC] to water at 20 degC."""
    return low * WATER_20 - SLOPE * (at - 20.0), high * WATER_20 - SLOPE * (at - 20.0)


_SLOPES: Final = ("noureddini-1992", "rodenbush-1999")

_ALL: Final = (
    Oil(
        "sunflower oil",
        ("sunflower seed oil", "sunflowerseed oil"),
        *_of_relative(0.916, 0.923),
        "relative density 0.916 to 0.923 at 20 °C, Codex CXS 210-1999 table 2 as amended in 2022 (its row was read in "
        "the list of amendments); a bottle that says high oleic is lighter: write 'high oleic sunflower oil'",
        ("codex-210", "iseo-flash", *_SLOPES),
        319.0,
    ),
    Oil(
        "high oleic sunflower oil",
        ("high-oleic sunflower oil",),
        *_of_relative(0.909, 0.915, at=25.0),
        "relative density 0.909 to 0.915 at 25 °C, Codex CXS 210-1999 table 2, from memory: not read",
        ("codex-210", "iseo-flash", *_SLOPES),
        319.0,
    ),
    Oil(
        "rapeseed oil",
        ("canola oil", "canola", "low erucic rapeseed oil", "rape oil", "rape seed oil", "colza oil"),
        *_of_relative(0.914, 0.920),
        "low in erucic acid: relative density 0.914 to 0.920 at 20 °C, Codex CXS 210-1999 table 2, read in two copies",
        ("codex-210", "codex-canola-copy", "sircen-rapeseed", "21food-canola", *_SLOPES),
        290.0,
    ),
    Oil(
        "maize oil",
        ("corn oil", "maize germ oil"),
        *_of_relative(0.917, 0.925),
        "relative density 0.917 to 0.925 at 20 °C, Codex CXS 210-1999 table 2, read in a copy that does not name it",
        ("codex-210", "valdesas-oils", "iseo-flash", *_SLOPES),
        325.0,
    ),
    Oil(
        "olive oil",
        ("extra virgin olive oil", "virgin olive oil"),
        *_of_relative(0.910, 0.916),
        "relative density 0.910 to 0.916 at 20 °C, Codex CXS 33-1981, read in a maker's copy; warm it comes into the "
        "range of polypropylene, so take sunflower, rapeseed or maize oil where there is a choice",
        ("codex-33", "ozione-olive", *_SLOPES),
        None,
        10.0,
    ),
)

OILS: Final[Mapping[str, Oil]] = MappingProxyType({oil.name: oil for oil in _ALL})
"""Every oil by its name."""
