"""What a mix needs in the workshop: drying, mould, shrinkage and density, from the table."""

from __future__ import annotations

import math
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from resinid.batches.ranges import Ends, printed_range, quantiles
from resinid.melting.thermal_properties import Range

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.batches.mixing_rules import Rules
    from resinid.reference.table import ReferenceTable

__all__ = ["density_of", "drying_of", "oversize"]


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
    """Return the density of a cold mix [kg/m3]: 5, 50 and 95 % of what its resins' pieces have.

    Volumes add: ``1/rho = sum w/rho``. The 5 % and 95 % ends of all resins are taken together,
    since a bag's pieces are of one make more often than not.
    """
    total = math.fsum(shares.values())
    solid = {resin: SOLID.get(resin, resin) for resin in shares}
    solid = {resin: name if name in rules.model.candidates else resin for resin, name in solid.items()}
    ends = {resin: quantiles(rules, name, "density") for resin, name in solid.items()}
    values = [total / math.fsum(share / ends[resin][k] for resin, share in shares.items()) * 1000.0 for k in range(3)]
    sources = {key for name in solid.values() for key in rules.model.sources("density", rules.index(name))}
    return Range(values[0], values[1], values[2], tuple(sorted(sources)))


def oversize(shrinkage: float) -> float:
    """Return how many times the part's length the mould must have: ``L_mould = L / (1 - S)``, S in % (ISO 294-4).

    Examples
    --------
    >>> round(oversize(1.8), 4)
    1.0183
    """
    return 1.0 / (1.0 - shrinkage / 100.0)
