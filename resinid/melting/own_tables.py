"""The plan's own small tables beside this file: what a resin bears hot, how a glass flows, mould walls."""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Bears", "Glass", "Wall", "bears", "glasses", "walls"]

FOLDER: Final = Path(__file__).parent


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


@dataclass(frozen=True, slots=True)
class Glass:
    """Constants of Williams, Landel and Ferry from the glass transition up, and a melt flow rate.

    Parameters
    ----------
    transition : float
        [degC]
    first, second : float
        ``log10 a = -first (T - Tg) / (second + T - Tg)``; ``second`` [K].
    rate : float
        Melt flow rate [g/10 min].
    at : float
        Its temperature [degC].
    load : float
        Its load [kg].
    source : str
    """

    transition: float
    first: float
    second: float
    rate: float
    at: float
    load: float
    source: str


@dataclass(frozen=True, slots=True)
class Wall:
    """A mould's wall.

    Parameters
    ----------
    conductivity : float
        [W/(m K)]
    density : float
        [kg/m3]
    capacity : float
        [J/(kg K)]
    thickness : float
        Usual one [mm].
    hottest : float
        That it may be [degC].
    source : str
    """

    conductivity: float
    density: float
    capacity: float
    thickness: float
    hottest: float
    source: str


def bears() -> Mapping[str, Bears]:
    """Return how long each resin bears heat.

    Examples
    --------
    >>> bears()["PE-HD"].minutes
    12.0
    """
    return MappingProxyType({name: Bears(n[0], n[1], n[2], n[3], source) for name, n, source in _rows("bears.csv")})


def glasses() -> Mapping[str, Glass]:
    """Return how each glassy resin thins out as it is heated."""
    return MappingProxyType(
        {name: Glass(n[0], n[1], n[2], n[3], n[4], n[5], source) for name, n, source in _rows("flow.csv")}
    )


def walls() -> Mapping[str, Wall]:
    """Return what moulds are made of."""
    return MappingProxyType(
        {name: Wall(n[0], n[1], n[2], n[3], n[4], source) for name, n, source in _rows("walls.csv")}
    )


@cache
def _rows(name: str) -> tuple[tuple[str, tuple[float, ...], str], ...]:
    """Return of each row its name, its numbers and its source; the last column is a note."""
    with (FOLDER / name).open(encoding="utf-8", newline="") as file:
        rows = list(csv.reader(file))[1:]
    return tuple((key, tuple(map(float, numbers)), source) for key, *numbers, source, _ in rows)
