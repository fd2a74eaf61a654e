"""Mass crystallinity of a piece, from its density or from its heat of fusion.

Two phases are assumed, of the densities in crystallinity.csv. Both formulae are the
usual ones; see the ACS Macromolecules paper that the file cites for a worked use.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from resinid.errors import RangeError, UnknownNameError

if TYPE_CHECKING:
    from resinid.reference.entries import Crystal
    from resinid.reference.table import ReferenceTable

__all__ = [
    "crystal_of",
    "crystallinity_from_density",
    "crystallinity_from_heat",
    "crystallinity_per_log_density",
    "density_at_crystallinity",
]


def crystal_of(reference: ReferenceTable, name: str) -> Crystal:
    """Return the densities of a resin's two phases.

    Raises
    ------
    UnknownNameError
        The resin is not in the table, or its phases are not in crystallinity.csv.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> crystal_of(default_reference(), "HDPE").density_crystal
    1.0
    """
    symbol = reference.resin(name).symbol
    for crystal in reference.crystals:
        if crystal.resin == symbol:
            return crystal
    known = ", ".join(crystal.resin for crystal in reference.crystals)
    raise UnknownNameError(f"crystallinity.csv has no row for {symbol}; it has {known or 'none'}")


def crystallinity_from_density(density: float, phases: Crystal) -> float:
    """Return the mass fraction of crystals of an unfilled piece.

    Parameters
    ----------
    density : float
        Of the piece [g/cm3].
    phases : Crystal
        Densities of its phases.

    Returns
    -------
    float
        From 0 to 1.

    Raises
    ------
    RangeError
        The density lies outside that of the phases: voids, filler or another resin.

    Notes
    -----
    With volumes adding up, ``1/r = x/rc + (1 - x)/ra``, so
    ``x = (rc/r)(r - ra)/(rc - ra)``.

    Examples
    --------
    Brown (1972) found 0.9784 g/cm3 at 23 degC for linear polyethylene SRM 1475:

    >>> from resinid.reference.table import default_reference
    >>> round(crystallinity_from_density(0.9784, crystal_of(default_reference(), "PE-HD")), 2)
    0.87
    """
    low, high = phases.density_amorphous, phases.density_crystal
    if not low <= density <= high:
        raise RangeError(
            f"density {density:g} g/cm3 is not from {low:g} (amorphous) to {high:g} (crystal); "
            "the piece is filled, foamed or another resin"
        )
    return high / density * (density - low) / (high - low)


def crystallinity_per_log_density(density: float, phases: Crystal) -> float:
    """Return by how much mass crystallinity rises with the natural log of density, ``dx/d ln r``.

    Parameters
    ----------
    density : float
        At which [g/cm3].
    phases : Crystal

    Returns
    -------
    float
        ``ra rc / (r (rc - ra))``, the derivative of :func:`crystallinity_from_density`.

    Examples
    --------
    A density higher by a hundredth means about six hundredths more crystals:

    >>> from resinid.reference.table import default_reference
    >>> round(0.01 * crystallinity_per_log_density(0.955, crystal_of(default_reference(), "PE-HD")), 3)
    0.062
    """
    low, high = phases.density_amorphous, phases.density_crystal
    return low * high / (density * (high - low))


def density_at_crystallinity(crystallinity: float, phases: Crystal) -> float:
    """Return the density [g/cm3] of an unfilled piece of that mass fraction of crystals.

    Raises
    ------
    RangeError
        The fraction is not from 0 to 1.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> round(density_at_crystallinity(0.7, crystal_of(default_reference(), "PE-HD")), 3)
    0.952
    """
    # One product, so that rounding cannot make a piece with more crystals the lighter one.
    shrinkage = 1.0 / phases.density_amorphous - 1.0 / phases.density_crystal
    return 1.0 / (1.0 / phases.density_amorphous - _fraction(crystallinity) * shrinkage)


def crystallinity_from_heat(heat: float, phases: Crystal) -> float:
    """Return the mass fraction of crystals from the heat of fusion of a piece [J/g].

    Raises
    ------
    RangeError
        The heat is negative or above that of the crystals.
    UnknownNameError
        The table does not hold the heat of fusion of the crystals.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> round(crystallinity_from_heat(194.2, crystal_of(default_reference(), "PE-HD")), 3)
    0.663
    """
    if phases.heat_of_fusion is None:
        raise UnknownNameError(f"crystallinity.csv states no heat of fusion for {phases.resin}")
    return _fraction(heat / phases.heat_of_fusion)


def _fraction(value: float) -> float:
    if not 0.0 <= value <= 1.0:
        raise RangeError(f"mass crystallinity {value:g} is not from 0 to 1")
    return value
