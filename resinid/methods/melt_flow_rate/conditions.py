"""Melt flow rates at other conditions than the usual one.

At one stress a melt flows faster by ``exp(E/R (1/T0 - 1/T))`` at another temperature
(Arrhenius, Andrade), and as the power :data:`EXPONENT` of the load, for melts thin under
shear. Both are rules of thumb with the errors stated here; beyond :data:`FARTHEST` and
:data:`HEAVIEST` nothing is claimed.
"""

from __future__ import annotations

import functools
import math
import re
from dataclasses import dataclass, replace
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from resinid.reference.files import read_csv
from resinid.reference.rules import TRUST

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.reference.entries import Statement

__all__ = ["EXPONENT", "FOLDER", "Melt", "at_usual", "melts", "rate_factor"]

FOLDER: Final = Path(__file__).parent

GAS_CONSTANT: Final = 8.314462618e-3
"""[kJ/(mol K)] CODATA 2018."""

KELVIN: Final = 273.15

DOUBT: Final = 0.25
"""Relative standard uncertainty of an activation energy: grades, shear rate, and what was recalled
(common practice, no source)."""

EXPONENT: Final = 1.6
EXPONENT_SD: Final = 0.2
"""Power of the load, and its standard deviation: flow rate ratios of polyethylenes from 21.6 to 2.16 kg
are 20 to 100 and from 5 to 2.16 kg are 3 to 4 (from memory)."""

FARTHEST: Final = 50.0
"""[K] Farthest that a rate is carried from the usual temperature."""

HEAVIEST: Final = math.log(10.5)
"""Natural log of the largest ratio of loads over which a rate is carried."""

COLUMNS: Final = (
    "resin",
    "temperature_degC",
    "load_kg",
    "activation_energy_kJ_mol",
    "source",
    "locator",
    "obtained",
    "note",
)

_CONDITION: Final = re.compile(r"\s*([\d.]+)\s*C\s*/\s*([\d.]+)\s*kg")


@dataclass(frozen=True, slots=True, order=True)
class Melt:
    """The usual condition of a resin and how its melt thins with temperature.

    Parameters
    ----------
    temperature : float
        [degC].
    load : float
        [kg].
    energy : float
        Activation energy of flow at constant stress [kJ/mol].
    """

    temperature: float
    load: float
    energy: float


@functools.cache
def melts() -> Mapping[str, Melt]:
    """Return the melt of each resin that ``melts.csv`` names.

    Examples
    --------
    >>> melts()["PP"]
    Melt(temperature=230.0, load=2.16, energy=42.0)
    """
    out: dict[str, Melt] = {}
    for cells in read_csv(FOLDER / "melts.csv", COLUMNS):
        if cells["obtained"] not in TRUST:
            raise ValueError(f"{cells.place('obtained')}: {cells['obtained']!r} is no grade")
        numbers = (float(cells[column]) for column in COLUMNS[1:4])
        out[cells["resin"]] = Melt(*numbers)
    return MappingProxyType(out)


def rate_factor(melt: Melt, temperature: float, load: float) -> tuple[float, float] | None:
    """Return the natural log of the rate at a condition over that at the usual one, and its standard deviation.

    Parameters
    ----------
    melt : Melt
    temperature : float
        [degC].
    load : float
        [kg].

    Returns
    -------
    tuple of float or None
        None where the condition is too far off.

    Examples
    --------
    >>> shift, sd = rate_factor(melts()["PP"], 190.0, 2.16)
    >>> round(math.exp(shift), 2), round(sd, 2)
    (0.42, 0.22)
    >>> rate_factor(melts()["PC"], 190.0, 2.16) is None
    True
    """
    heavier = math.log(load / melt.load)
    if abs(temperature - melt.temperature) > FARTHEST or abs(heavier) > HEAVIEST:
        return None
    colder = 1.0 / (melt.temperature + KELVIN) - 1.0 / (temperature + KELVIN)
    hotter = melt.energy / GAS_CONSTANT * colder
    return hotter + EXPONENT * heavier, math.hypot(DOUBT * hotter, EXPONENT_SD * heavier)


def at_usual(row: Statement) -> Statement | None:
    """Return a published melt flow rate as it would be at the resin's usual condition.

    None where its condition is not printed or too far off. A resin that ``melts.csv`` does
    not name keeps its rows as they are. The error of carrying a row over is not added: it
    is small beside that of one grade against another.
    """
    melt = melts().get(row.resin)
    if melt is None:
        return row
    found = _CONDITION.match(row.condition)
    carried = rate_factor(melt, float(found[1]), float(found[2])) if found else None
    if carried is None:
        return None
    factor = math.exp(-carried[0])

    def usual(value: float | None) -> float | None:
        return None if value is None else value * factor

    return replace(row, low=usual(row.low), typical=usual(row.typical), high=usual(row.high))
