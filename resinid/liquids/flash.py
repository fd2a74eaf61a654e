"""Flash points of alcohol-water baths: above them the vapour can be lit."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["SOURCES", "flash_point"]

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
    table = _TABLES.get(solute)
    if table is None or share < table[0][0]:
        return math.inf
    shares, flashes = zip(*table, strict=True)
    return float(np.interp(share, shares, flashes))
