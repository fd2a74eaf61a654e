"""A test liquid from its recipe."""

from __future__ import annotations

import math

from resinid.errors import InputError, RangeError
from resinid.liquids._checks import refuse_negative
from resinid.liquids.catalogue import reagent
from resinid.liquids.concentration import mass_fraction
from resinid.liquids.flash import flash_of
from resinid.liquids.liquid import Liquid

__all__ = ["from_recipe"]


def from_recipe(
    solute: str,
    amount: float,
    basis: str,
    *,
    temperature: float = 20.0,
    u_temperature: float = 1.0,
    u_amount: float | None = None,
    strength: float | None = None,
    label: str = "",
) -> Liquid:
    """Return the liquid a recipe gives.

    Parameters
    ----------
    solute : str
        Solute or hydrate, such as ``"table salt"``, ``"CaCl2.2H2O"`` or ``"isopropanol"``.
    amount : float
        How much of it, in the unit of ``basis``.
    basis : str
        One of :data:`resinid.liquids.BASES`; see :func:`resinid.liquids.mass_fraction`.
    temperature : float, optional
        Temperature of the bath [degC].
    u_temperature : float, optional
        Standard uncertainty of the temperature [K]; 1 K for a household
        thermometer is common practice, no source.
    u_amount : float, optional
        Standard uncertainty of the amount, in its unit. Not given: 2 % of it,
        for a kitchen scale or jug and a reagent or label of common purity, 4 %
        for salts that draw water from the air (common practice, no source).
    strength : float, optional
        Label strength of the alcohol bottle [%v/v at 20 degC] when ``amount`` is
        of the bottle's liquid.
    label : str, optional
        What to call it; the recipe itself if not given.

    Returns
    -------
    Liquid
        Density and its standard uncertainty.

    Raises
    ------
    UnknownNameError, InputError, RangeError
        As :func:`resinid.liquids.mass_fraction`.

    Notes
    -----
    First-order combination, JCGM 100:2008, 5.1.2, of three independent parts:
    formula, temperature at a fixed composition, and amount. The slopes are
    differences over the uncertainty to both sides (5.1.3, note 2), cut short
    where a side leaves the range.

    Examples
    --------
    >>> bath = from_recipe("table salt", 110, "g/kg water")
    >>> round(bath.density, 3), round(bath.u, 4)
    (1.07, 0.0014)
    """
    found, _ = reagent(solute)
    refuse_negative(amount=amount)
    spread = found.u_reagent * amount if u_amount is None else u_amount
    refuse_negative(u_temperature=u_temperature, u_amount=spread)
    w = mass_fraction(solute, amount, basis, temperature=temperature, strength=strength)

    def of_amount(value: float) -> float | None:
        """Return the density at another amount, None outside the range."""
        try:
            other = mass_fraction(solute, value, basis, temperature=temperature, strength=strength)
        except (InputError, RangeError):
            return None
        return found.density(other, temperature)

    def of_temperature(value: float) -> float | None:
        """Return the density at another temperature, None outside the range."""
        return found.density(w, value) if found.t_low <= value <= found.t_high else None

    density, flash = found.density(w, temperature), flash_of(found.name, w)
    parts = (
        found.uncertainty(w, temperature),
        _shift(density, of_temperature(temperature - u_temperature), of_temperature(temperature + u_temperature)),
        _shift(density, of_amount(amount - spread), of_amount(amount + spread)),
    )
    bottle = "" if strength is None else f" of a {strength:g} %v/v bottle"
    how = f"recipe: {amount:g} {basis} of {solute}{bottle}, {100.0 * w:.4g} %w/w, at {temperature:g} °C"
    return Liquid(
        density,
        math.hypot(*parts),
        temperature,
        label or f"{solute} {amount:g} {basis}",
        how,
        found.caution,
        (*found.sources, "jcgm_100_2008"),
        flash if math.isfinite(flash) else None,
    )


def _shift(middle: float, low: float | None, high: float | None) -> float:
    """Return how far the density moves for one standard uncertainty of an input."""
    if low is not None and high is not None:
        return 0.5 * abs(high - low)
    one = low if low is not None else high
    return 0.0 if one is None else abs(one - middle)
