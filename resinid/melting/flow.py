"""From which temperature a charge flows under a press: molten for what crystallises, by viscosity for a glass.

A glass softens a hundred times over before it flows. Its viscosity is taken from its melt flow rate by the
geometry of ISO 1133 (piston 9.474 mm, die 2.095 x 8 mm),

    stress = R F / (2 pi r^2 L),   shear rate = 4 Q / (pi R^3),   viscosity = stress / shear rate,

and from there to other temperatures by the equation of Williams, Landel and Ferry.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from resinid.batches.melt_temperature import LESSER
from resinid.batches.ranges import printed_range, quantiles
from resinid.heating.temperatures import FULLY
from resinid.melting.own_tables import Glass, glasses

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.batches.mixing_rules import Rules
    from resinid.reference.table import ReferenceTable

__all__ = ["flows_from", "melting_range", "stiffer", "transition", "viscosity"]

WORKABLE: Final = 5e4
"""[Pa s] Between a bottle grade of PE-HD and a pipe grade (0.35 and 0.1 g/10 min at 190 degC, 2.16 kg: 23 000 and
80 000 by the same geometry), the stiffest that workshops press by hand (common practice, no source)."""

GLASS_FLOWS: Final = 75.0
"""[K] Above its softening from which a glass without a row in flow.csv flows: as PS and ABS do by theirs."""

PEAK: Final = 12.0
"""[K] Over which crystals take up their heat below the melting point (width of a peak of PE-HD, from memory)."""

GRAVITY: Final = 9.81
PISTON, DIE, LENGTH = 4.737e-3, 1.0475e-3, 8e-3
"""[m] ISO 1133: radii of piston and die, length of the die."""

MELT_DENSITY: Final = 1000.0
"""[kg/m3] Of a glassy melt, within a tenth (melt densities of the table)."""


def viscosity(rate: float, load: float, density: float = MELT_DENSITY) -> float:
    """Return the viscosity [Pa s] at which a melt has this flow rate [g/10 min] under a load [kg].

    Examples
    --------
    >>> round(viscosity(7.4, 2.16, 764.0), -2)  # caps of PE-HD
    1100.0
    """
    stress = DIE * load * GRAVITY / (2.0 * math.pi * PISTON**2 * LENGTH)
    shear = 4.0 * (rate / 1000.0 / 600.0 / density) / (math.pi * DIE**3)
    return stress / shear


def flows_from(rules: Rules, shares: Mapping[str, float]) -> float:
    """Return the temperature [degC] from which a mix flows under a press.

    What crystallises flows 10 K above the melting of its middle piece, and where all but one piece in
    twenty are molten; what is a glass, where it is no stiffer than :data:`WORKABLE`. Resins of less
    than a twentieth may stay as specks.

    Examples
    --------
    >>> from resinid.batches.mixing_rules import mixing_rules
    >>> from resinid.reference.table import default_reference
    >>> rules = mixing_rules(default_reference())
    >>> [round(flows_from(rules, {resin: 1.0})) for resin in ("PE-HD", "PS", "ABS")]
    [141, 170, 180]
    """
    most = max(shares.values())
    return max(_flows(rules, resin) for resin, share in shares.items() if share >= min(LESSER, most))


def stiffer(resin: str, temperature: float, hot: float) -> float | None:
    """Return how many times stiffer a glass is at a temperature [degC] than at a hotter one; None where unknown."""
    glass = glasses().get(resin)
    if glass is None or temperature <= glass.transition:
        return None
    return float(10.0 ** (_shift(glass, temperature) - _shift(glass, hot)))


def melting_range(reference: ReferenceTable, shares: Mapping[str, float]) -> tuple[float, float] | None:
    """Return between which temperatures [degC] the crystals of a mix melt; None where it has none."""
    crystals = {resin.symbol for resin in reference.resins if resin.kind == "semicrystalline"}
    ends = [e for r in shares if r in crystals and (e := printed_range(reference, r, "melting_temperature"))]
    if not ends:
        return None
    return min(end.typical for end in ends) - PEAK, max(end.typical for end in ends)


def transition(shares: Mapping[str, float]) -> float:
    """Return the lowest glass transition [degC] of resins that have a row in flow.csv; 100 degC where none has."""
    return min((glasses()[resin].transition for resin in shares if resin in glasses()), default=100.0)


def _flows(rules: Rules, resin: str) -> float:
    kinds = {each.symbol: each.kind for each in rules.model.reference.resins}
    if kinds[resin] == "semicrystalline":
        _, middle, high = quantiles(rules, resin, "softening_temperature")
        return max(middle + FULLY, high)
    glass = glasses().get(resin)
    if glass is None:
        return quantiles(rules, resin, "softening_temperature")[1] + GLASS_FLOWS
    start = _shift(glass, glass.at) + math.log10(WORKABLE / viscosity(glass.rate, glass.load))
    return glass.transition - glass.second * start / (glass.first + start)


def _shift(glass: Glass, temperature: float) -> float:
    above = temperature - glass.transition
    return -glass.first * above / (glass.second + above)
