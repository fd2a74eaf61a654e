"""Flash points of alcohol-water baths, above which the vapour can be lit, and what is a small jug of one.

How warm a bath may be is judged by the warmer of itself and the room, for a jug out of the
refrigerator is as warm as the room within hours.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.liquids.catalogue import FLAMMABLE
from resinid.liquids.concentration import amount_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.liquids.liquid import Liquid

__all__ = [
    "FLASH",
    "MARGIN",
    "ROOM",
    "SMALL",
    "SOURCES",
    "U_ROOM",
    "WARM",
    "flash_of",
    "flash_point",
    "is_small",
    "lit_caution",
    "may_be_lit",
    "warmest",
]

FLASH: Final = "flammable bath"
"""What must be allowed before a bath is mixed or used that can be lit at its own temperature, or the room's,
and is no small jug."""

SMALL: Final = 500.0
"""[mL] Up to this a bath at room temperature is a small jug: about a bottle of spirits on a table. It is offered with
its caution and needs no leave (this project's choice; no source)."""

WARM: Final = 25.0
"""[degC] Up to this a bath is at room temperature."""

MARGIN: Final = 3.0
"""[K] How far a flash point must lie above the highest temperature a bath may have, which is its
own or the room's and twice the standard uncertainty of it: flash points of mixtures are known no
better, and a bath warms in the sun or beside a hot plate (common practice, no source)."""

ROOM: Final = 20.0
"""[degC] Temperature of a room where none is stated (common practice, no source)."""

U_ROOM: Final = 2.0
"""[K] Its standard uncertainty (common practice, no source)."""

_ETHANOL: Final = (
    (5.0, 62.0), (10.0, 49.0), (20.0, 36.0), (30.0, 29.0), (40.0, 26.0), (50.0, 24.0),
    (60.0, 22.0), (70.0, 21.0), (80.0, 20.0), (90.0, 17.0), (96.0, 17.0), (100.0, 12.8),
)  # fmt: skip
_ISOPROPANOL: Final = (*((share, flash - 3.0) for share, flash in _ETHANOL[:8]), (100.0, 11.7))

_TABLES: Final[Mapping[str, tuple[tuple[float, float], ...]]] = {"ethanol": _ETHANOL, "isopropanol": _ISOPROPANOL}

SOURCES: Final = (
    "Engineering ToolBox, Ethanol Freeze Protected Water Solutions, engineeringtoolbox.com/ethanol-water-d_989.html",
    "pure liquids: NIOSH Pocket Guide (isopropanol); hazards.csv (ethanol)",
    "isopropanol and water: 3 K below ethanol and water, as 70 %v/v rubbing alcohol is (18 °C, from memory)",
)
"""Where the flash points come from. The table is printed both as percent by weight and by
volume; it is taken as by volume, the more cautious of the two."""


def flash_point(solute: str, share: float) -> float:
    """Return the temperature above which the vapour of an alcohol bath can be lit [degC].

    Parameters
    ----------
    solute : str
        Name of the model; infinity for solutes that do not burn.
    share : float
        Volume of pure alcohol over that of the bath at 20 degC [%v/v].

    Notes
    -----
    Straight lines between the points of :data:`SOURCES`. Below 5 %v/v none is stated
    and infinity is returned; that is not a promise.

    Examples
    --------
    >>> flash_point("ethanol", 45.0), flash_point("NaCl", 0.0)
    (25.0, inf)
    """
    reference = _TABLES.get(solute)
    if reference is None or share < reference[0][0]:
        return math.inf
    shares, flashes = zip(*reference, strict=True)
    return float(np.interp(share, shares, flashes))


def flash_of(solute: str, w: float) -> float:
    """Return the flash point [degC] of a bath by the mass fraction of its solute; infinity where none is stated.

    Examples
    --------
    >>> round(flash_of("ethanol", 0.334), 1), flash_of("NaCl", 0.1)
    (26.0, inf)
    """
    if solute not in _TABLES or w <= 0.0:
        return math.inf
    return flash_point(solute, amount_of(solute, w, "%v/v"))


def warmest(temperature: float, u_temperature: float) -> float:
    """Return the temperature that a flash point must be above [degC]: of the bath or the room, with the margin.

    Examples
    --------
    >>> warmest(5.0, 1.0), warmest(38.0, 2.0)
    (27.0, 45.0)
    """
    return max(temperature + 2.0 * u_temperature, ROOM + 2.0 * U_ROOM) + MARGIN


def is_small(volume: float, temperature: float, u_temperature: float) -> bool:
    """Return whether a bath is a small jug at room temperature, known as well as a room's is or better.

    Examples
    --------
    >>> is_small(250.0, 20.0, 2.0), is_small(600.0, 20.0, 2.0), is_small(250.0, 30.0, 1.0), is_small(250.0, 10.0, 10.0)
    (True, False, False, False)
    """
    return volume <= SMALL and temperature <= WARM and temperature + 2.0 * u_temperature <= WARM + 2.0 * U_ROOM


def lit_caution(flash: float, *, small: bool, also: str = "") -> str:
    """Return what to beware of with a bath that can be lit from a temperature [degC] on, and what was said before.

    Examples
    --------
    >>> "no more than 500 mL" in lit_caution(26.0, small=True), "no more" in lit_caution(26.0, small=False)
    (True, False)
    """
    where = (
        f"Have no more than {SMALL:g} mL of it, at room temperature; ventilate."
        if small
        else "Work outdoors or under extraction."
    )
    loud = (
        f"FLAMMABLE: its vapour can be lit from about {flash:.0f} °C on. {where} No flame, switch or hot plate near, "
        "and no hot plate on in the same room at the same time, as local codes say. Cover it, for it grows denser as "
        "alcohol evaporates, and put it away in a closed bottle."
    )
    return f"{loud} {also.removeprefix(FLAMMABLE).strip()}".strip()


def may_be_lit(liquid: Liquid) -> bool:
    """Return whether a liquid's vapour may be lit at its temperature or the room's; of an unknown one nothing is said.

    Examples
    --------
    >>> from resinid.liquids import from_recipe
    >>> may_be_lit(from_recipe("ethanol", 40.0, "%v/v")), may_be_lit(from_recipe("ethanol", 20.0, "%v/v"))
    (True, False)
    """
    return liquid.flash is not None and warmest(liquid.temperature, U_ROOM) >= liquid.flash
