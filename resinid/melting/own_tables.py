"""The plan's own small tables beside this file: how a glass flows, mould walls."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from resinid.heating.bearing import rows_of

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["Glass", "Wall", "glasses", "walls"]

FOLDER: Final = Path(__file__).parent


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


def glasses() -> Mapping[str, Glass]:
    """Return how each glassy resin thins out as it is heated."""
    return MappingProxyType(
        {name: Glass(n[0], n[1], n[2], n[3], n[4], n[5], source) for name, n, source in rows_of(FOLDER / "flow.csv")}
    )


def walls() -> Mapping[str, Wall]:
    """Return what moulds are made of."""
    return MappingProxyType(
        {name: Wall(n[0], n[1], n[2], n[3], n[4], source) for name, n, source in rows_of(FOLDER / "walls.csv")}
    )
