"""What goes into the mould: grams of each bag, how high it stands loose and molten, how often it is filled up."""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from resinid.batches.ranges import printed_range

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from resinid.batches.ranges import Ends
    from resinid.reference.table import ReferenceTable

__all__ = ["ALLOWANCE", "FORMS", "Charge", "bed_conductivity", "charge_of", "fillings", "melt_share"]

ALLOWANCE: Final = 0.05
"""Share of the mass added for flash and what sticks (common practice, no source)."""

FORMS: Final = MappingProxyType({"shred": 0.42, "pellets": 0.60, "film": 0.10, "solid": 1.0})
"""Share of a bed's volume that is plastic: of rigid shred (a bed of 47 mm for 20 mm of slab), of poured pellets (as
spheres, 0.60 to 0.64), of film flakes, and of sheet or cakes melted before (common practice, no source)."""

AIR: Final = 0.032
"""[W/(m K)] Of air at some 100 degC (handbook value, from memory)."""

VOID: Final = 3e-3
"""[m] Width of the voids of shred of 5 to 10 mm, across which it radiates (common practice, no source)."""

RADIATION: Final = 4.0 * 5.67e-8 * 380.0**3
"""[W/(m2 K)] Across a void at 380 K, half way to melting: ``4 sigma T^3``."""

MELT_SHARE: Final = MappingProxyType({"semicrystalline": 0.83, "amorphous": 0.92})
"""Density of the melt over that of the cold resin where the table has no melt density: the mean of those it has."""


@dataclass(frozen=True, slots=True)
class Charge:
    """What is filled in.

    Parameters
    ----------
    form : str
        One of :data:`FORMS`.
    grams : tuple of (str, float)
        Of each bag, allowance included.
    loose, melt : float
        Height [mm] of the bed and of the melt.
    walls : tuple of float
        How high the mould's walls must be [mm] for one, two and three fillings; with none of them lower than the melt.
    depth : float or None
        Of the mould as given [mm].
    fillings : int or None
        That the given depth takes; None where none was given or the melt would run over.
    """

    form: str
    grams: tuple[tuple[str, float], ...]
    loose: float
    melt: float
    walls: tuple[float, ...]
    depth: float | None
    fillings: int | None


def charge_of(
    names: Sequence[str],
    weights: Sequence[float],
    *,
    mass: float,
    area: float,
    cold: float,
    molten: float,
    form: str,
    depth: float | None,
) -> Charge:
    """Return what is filled in.

    Parameters
    ----------
    names, weights : sequence
        Bags and their mass shares, which add up to one.
    mass : float
        Of the whole charge [g].
    area : float
        Of the mould [cm2].
    cold, molten : float
        Density of the cold resin and of the melt [kg/m3].
    form : str
        One of :data:`FORMS`.
    depth : float or None
        Of the mould [mm].
    """
    share = FORMS[form]
    melt = 1e4 * mass / (molten * area)
    loose = melt if form == "solid" else 1e4 * mass / (share * cold * area)
    filled = melt / loose
    walls = tuple(melt / (1.0 - (1.0 - filled) ** times) for times in (1, 2, 3)) if form != "solid" else (melt,)
    grams = tuple((name, mass * weight) for name, weight in zip(names, weights, strict=True))
    return Charge(form, grams, loose, melt, walls, depth, None if depth is None else fillings(melt, loose, depth))


def fillings(melt: float, loose: float, depth: float) -> int | None:
    """Return how often a mould is filled to its brim until the melt stands high enough; None where it never does.

    Each filling sinks to ``melt / loose`` of the height it had, so after ``n`` of them the melt stands at
    ``depth (1 - (1 - melt / loose)^n)``.

    Examples
    --------
    >>> fillings(26.0, 47.0, 50.0), fillings(26.0, 47.0, 30.0), fillings(26.0, 47.0, 20.0)
    (1, 3, None)
    """
    if depth >= loose * (1.0 - 1e-9):
        return 1
    if depth <= melt:
        return None
    return math.ceil(math.log(1.0 - melt / depth) / math.log(1.0 - melt / loose) - 1e-9)


def bed_conductivity(solid: float, form: str) -> float:
    """Return the conductivity [W/(m K)] of a loose bed: plastic and air by the geometric mean, and radiation.

    The geometric mean of what a bed consists of is a rule for random beds whose parts differ little
    (Woodside and Messmer, J. Appl. Phys. 32 (1961) 1688, from memory).

    Examples
    --------
    >>> round(bed_conductivity(0.34, "shred"), 2)
    0.11
    """
    share = FORMS[form]
    return float(solid**share * AIR ** (1.0 - share) + (1.0 - share) * RADIATION * VOID)


def melt_share(reference: ReferenceTable, shares: Mapping[str, float]) -> tuple[float, tuple[str, ...]]:
    """Return the density of the melt over that of the cold mix, volumes added, and the sources of it."""
    kinds = {resin.symbol: resin.kind for resin in reference.resins}
    total = math.fsum(shares.values())
    found: dict[str, Ends | None] = {resin: printed_range(reference, resin, "melt_density") for resin in shares}
    volume = 0.0
    for resin, share in shares.items():
        ends, solid = found[resin], printed_range(reference, resin, "density")
        if ends is None or solid is None:
            volume += share / total / MELT_SHARE.get(kinds[resin], MELT_SHARE["amorphous"])
        else:
            volume += share / total * solid.typical / ends.typical
    sources = tuple(sorted({key for ends in found.values() if ends is not None for key in ends.sources}))
    return 1.0 / volume, sources
