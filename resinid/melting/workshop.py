"""What a mix needs in the workshop: drying, mould, shrinkage and density, from the table."""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.batches.ranges import Ends, printed_range, quantiles
from resinid.melting.charge import ALLOWANCE
from resinid.melting.thermal_properties import Range

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.batches.mixing_rules import Rules
    from resinid.reference.table import ReferenceTable

__all__ = ["KEEPS_SHAPE", "demould_of", "density_of", "drying_of", "mass_of", "oversize", "oversize_of"]

KEEPS_SHAPE: Final = 60.0
"""[degC] At which a mould is opened where nothing is published (common practice, no source)."""


def drying_of(reference: ReferenceTable, shares: Mapping[str, float]) -> tuple[Ends, Ends] | None:
    """Return the temperature [degC] that no resin of a mix is harmed by, and the hours the wettest needs."""
    temperatures = [e for r in shares if (e := printed_range(reference, r, "drying_temperature")) is not None]
    times = [e for r in shares if (e := printed_range(reference, r, "drying_time")) is not None]
    if not temperatures or not times:
        return None
    coolest = min(temperatures, key=lambda ends: ends.typical)
    longest = max(times, key=lambda ends: ends.typical)
    return coolest, longest


SOLID: Final = MappingProxyType({"PS-E": "PS"})
"""What a resin that is only sold as a foam is once it has collapsed (ISO 1043-1: E for expanded)."""


def density_of(rules: Rules, shares: Mapping[str, float]) -> Range:
    """Return the density of a cold mix [kg/m3]: 5, 50 and 95 % of what its resins' unfilled pieces have.

    Volumes add: ``1/rho = sum w/rho``. The 5 % and 95 % ends of all resins are taken together,
    since a bag's pieces are of one make more often than not. What filled goods weigh more shows
    only where pieces were measured (:mod:`resinid.melting.measured_density`).
    """
    total = math.fsum(shares.values())
    solid = {resin: SOLID.get(resin, resin) for resin in shares}
    solid = {resin: name if name in rules.model.candidates else resin for resin, name in solid.items()}
    ends = {resin: _unfilled(rules, name) for resin, name in solid.items()}
    values = [total / math.fsum(share / ends[resin][k] for resin, share in shares.items()) * 1000.0 for k in range(3)]
    sources = {key for name in solid.values() for key in rules.model.sources("density", rules.index(name))}
    return Range(values[0], values[1], values[2], tuple(sorted(sources)))


def _unfilled(rules: Rules, resin: str) -> tuple[float, float, float]:
    """Return 5, 50 and 95 % of the density [g/cm3] of a resin's unfilled pieces; of all where all are filled."""
    latent = rules.model.latent("density")
    weights = rules.model.gathering.sum(axis=1)
    plain = np.array([row.resin == resin and not row.filler for row in rules.model.rows])
    if not plain.any():
        return quantiles(rules, resin, "density")
    finite = np.isfinite(latent.values)
    count = len(rules.model.rows)
    mass = (plain * weights[:count]) @ latent.mass[:count][:, finite]
    cumulated = np.cumsum(mass) / mass.sum()
    low, middle, high = (float(np.interp(level, cumulated, latent.values[finite])) for level in (0.05, 0.5, 0.95))
    return low, middle, high


def oversize(shrinkage: float) -> float:
    """Return how many times the part's length the mould must have: ``L_mould = L / (1 - S)``, S in % (ISO 294-4).

    Examples
    --------
    >>> round(oversize(1.8), 4)
    1.0183
    """
    return 1.0 / (1.0 - shrinkage / 100.0)


def oversize_of(shrinkage: Ends) -> Ends:
    """Return the same for a range of shrinkage."""
    low, typical, high = (oversize(value) for value in (shrinkage.low, shrinkage.typical, shrinkage.high))
    return Ends(low, typical, high, shrinkage.sources)


def mass_of(density: Range, volume: float) -> Ends:
    """Return what to weigh [g] for a volume [cm3] of a cold mix, allowance included."""
    low, typical, high = (volume * value / 1000.0 for value in (density.low, density.middle, density.high))
    more = 1.0 + ALLOWANCE
    return Ends(low * more, typical * more, high * more, density.sources)


def demould_of(reference: ReferenceTable, shares: Mapping[str, float]) -> Ends | None:
    """Return below what the softest resin keeps its shape: its heat deflection temperature, else less than Vicat."""
    found: list[Ends] = []
    for resin in shares:
        ends = printed_range(reference, resin, "heat_deflection_temperature") or printed_range(
            reference, resin, "vicat_softening_temperature"
        )
        if ends is not None:
            found.append(ends)
    return min(found, key=lambda ends: ends.typical, default=None)
