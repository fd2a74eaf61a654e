"""How hot a resin may be for as long as a melt takes: the one rule for a piece's verdict and for a melt plan.

Oxidation breaks out once the stabiliser is used up. The time to it is published for some resins at one
temperature in oxygen (induction by ISO 11357-6), and scales as

    t(T) = t(T0) exp(E / R (1/T - 1/T0)).

In air it lasts ``air`` times as long as in oxygen (about the square root of the ratio of
pressures; from memory). Only the face meets air, so this errs to the cautious side in a closed mould.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.arrays import Array

__all__ = ["SHORTEST", "UNKNOWN", "Bears", "bears", "borne_to", "minutes_at", "minutes_of", "rows_of"]

GAS: Final = 8.314e-3
"""[kJ/(mol K)]"""

KELVIN: Final = 273.15

SHORTEST: Final = 5.0
"""[min] Nothing is made so hot that one of its resins bears it for less (cautious choice, no source): less time than
it takes to open an oven, press and cool."""


@dataclass(frozen=True, slots=True)
class Bears:
    """How long a resin bears heat: induction of its oxidation, or a printed dwell.

    Parameters
    ----------
    minutes : float
        At ``at`` [degC].
    air : float
        How many times that in air, where the minutes are those in oxygen.
    energy : float
        Of activation [kJ/mol].
    source : str
    """

    minutes: float
    at: float
    air: float
    energy: float
    source: str


UNKNOWN: Final = Bears(30.0, 0.0, 1.0, 120.0, "common practice, no source")
"""Of a resin that the table does not list, at the temperature it is set to."""


@cache
def bears() -> Mapping[str, Bears]:
    """Return how long each resin bears heat.

    Examples
    --------
    >>> bears()["PE-HD"].minutes
    12.0
    """
    rows = rows_of(Path(__file__).with_name("bears.csv"))
    return MappingProxyType({name: Bears(n[0], n[1], n[2], n[3], source) for name, n, source in rows})


def minutes_at(resin: Bears, temperature: float) -> float:
    """Return how long a resin bears a temperature [degC] in air [min].

    Examples
    --------
    >>> [round(minutes_at(bears()["PE-HD"], at)) for at in (160, 182, 200, 220)]
    [893, 119, 26, 6]
    """
    return float(minutes_of(resin, np.array(temperature)))


def minutes_of(resin: Bears, temperature: Array) -> Array:
    """Return the same for many temperatures."""
    inverse = 1.0 / (np.maximum(temperature, 0.0) + KELVIN) - 1.0 / (resin.at + KELVIN)
    return np.asarray(resin.minutes * resin.air * np.exp(resin.energy / GAS * inverse))


def borne_to(resin: str) -> float:
    """Return the temperature [degC] that a resin bears for :data:`SHORTEST`.

    Infinite for a resin without a row in bears.csv, and where the row is common practice without a source.

    Examples
    --------
    >>> round(borne_to("PE-HD")), borne_to("PC")
    (222, inf)
    """
    stated = bears().get(resin, UNKNOWN)
    if stated.source == UNKNOWN.source:
        return math.inf
    more = math.log(stated.minutes * stated.air / SHORTEST) * GAS / stated.energy
    return 1.0 / (1.0 / (stated.at + KELVIN) - more) - KELVIN


@cache
def rows_of(file: Path) -> tuple[tuple[str, tuple[float, ...], str], ...]:
    """Return of each row of a small table its name, its numbers and its source; the last column is a note."""
    with file.open(encoding="utf-8", newline="") as opened:
        rows = list(csv.reader(opened))[1:]
    return tuple((key, tuple(map(float, numbers)), source) for key, *numbers, source, _ in rows)
