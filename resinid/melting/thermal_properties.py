"""Thermal properties of resins and heated surfaces from the table, with what they may range over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.reference.entries import Thermal
    from resinid.reference.table import ReferenceTable

__all__ = ["Layer", "Range", "layer_of", "surface", "thermal_range"]

ANY: Final[Mapping[str, tuple[float, float]]] = {
    "thermal_conductivity": (0.14, 0.45),
    "heat_capacity": (1.0, 2.4),
    "heat_of_fusion": (0.0, 160.0),
}
"""Range over the resins of the table, taken where nothing is stated of one."""


@dataclass(frozen=True, slots=True)
class Range:
    """Low, middle and high value of a property, and the sources behind it."""

    low: float
    middle: float
    high: float
    sources: tuple[str, ...] = ()
    stated: bool = True


@dataclass(frozen=True, slots=True)
class Layer:
    """What a layer of a mix is like to heat.

    Parameters
    ----------
    conductivity : Range
        [W/(m K)]
    heat_capacity : Range
        [kJ/(kg K)], without fusion.
    fusion : Range
        Heat of fusion [kJ/kg] of the crystals that real goods have; zero for glassy resins.
    density : Range
        Of the cold resin [kg/m3].
    assumed : tuple of str
        What the table does not state, for which the range of all resins stands in.
    sources : tuple of str
    """

    conductivity: Range
    heat_capacity: Range
    fusion: Range
    density: Range
    assumed: tuple[str, ...]
    sources: tuple[str, ...]

    def rho_c(self, rise: float, end: str) -> float:
        """Return the heat a volume takes up for a degree [J/(m3 K)], fusion spread evenly over the rise [K].

        Parameters
        ----------
        rise : float
            From the start to the target.
        end : {"low", "middle", "high"}
        """
        capacity = getattr(self.heat_capacity, end) * 1e3 + getattr(self.fusion, end) * 1e3 / rise
        return float(self.density.middle * capacity)


def thermal_range(reference: ReferenceTable, subject: str, name: str) -> Range | None:
    """Return the range of what is stated of a property: widest limits, mean of middles; None where nothing is.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> found = thermal_range(default_reference(), "PE-HD", "heat_capacity")
    >>> found.low, found.high
    (1.8, 2.7)
    """
    rows = [row for row in reference.thermals if row.subject == subject and row.property == name]
    if not rows:
        return None
    every = [value for row in rows for value in (row.low, row.typical, row.high) if value is not None]
    middles = [_middle(row) for row in rows]
    sources = tuple(sorted({key for row in rows for key in row.source.split()}))
    return Range(min(every), sum(middles) / len(middles), max(every), sources)


def surface(reference: ReferenceTable, name: str) -> Range:
    """Return the surface coefficient [W/(m2 K)] of a heated surface by its name in the table.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> surface(default_reference(), "hot-air oven").middle < surface(default_reference(), "contact plate").middle
    True
    """
    found = thermal_range(reference, name, "heat_transfer_coefficient")
    # A table of one's own may lack it; these are the values of ours.
    return found or (Range(10.0, 20.0, 40.0) if name == "hot-air oven" else Range(150.0, 400.0, 1500.0))


def layer_of(reference: ReferenceTable, shares: Mapping[str, float], density: Range) -> Layer:
    """Return what a layer of resins with these mass shares is like to heat (means weighted by share).

    Parameters
    ----------
    reference : ReferenceTable
    shares : mapping of str to float
    density : Range
        Of the cold mix [kg/m3].
    """
    total = sum(shares.values())
    glassy = {resin.symbol for resin in reference.resins if resin.kind != "semicrystalline"}
    assumed: set[str] = set()
    sources: set[str] = set()

    def mean(name: str) -> Range:
        low = middle = high = 0.0
        for resin, share in shares.items():
            found = thermal_range(reference, resin, name)
            if found is None:
                if name == "heat_of_fusion" and resin in glassy:
                    continue
                assumed.add(f"{name.replace('_', ' ')} of {resin}")
                least, most = ANY[name]
                found = Range(least, 0.5 * (least + most), most)
            sources.update(found.sources)
            low += share / total * found.low
            middle += share / total * found.middle
            high += share / total * found.high
        return Range(low, middle, high)

    conductivity, capacity, fusion = mean("thermal_conductivity"), mean("heat_capacity"), mean("heat_of_fusion")
    return Layer(conductivity, capacity, fusion, density, tuple(sorted(assumed)), tuple(sorted(sources)))


def _middle(row: Thermal) -> float:
    if row.typical is not None:
        return row.typical
    ends = [value for value in (row.low, row.high) if value is not None]
    return sum(ends) / len(ends)
