"""From an amount, as a person measures it, to the mass fraction of solute, and back.

The reagent may be the pure solute, a hydrate, or a bottle of alcohol of some
strength; all three are one case: a reagent with a mass fraction of its own.
"""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, Final

from resinid.errors import Fault, InputError, RangeError
from resinid.liquids._checks import refuse_negative, refuse_not_finite
from resinid.liquids.catalogue import reagent
from resinid.liquids.water import water_density

if TYPE_CHECKING:
    from collections.abc import Callable

    from resinid.liquids._model import LiquidModel

__all__ = ["BASES", "amount_of", "mass_fraction", "mix_volumes", "strength_fraction"]

BASES: Final = ("%w/w", "%v/v", "g/kg water", "g/L water", "g/L", "mL/L water")
"""The ways an amount may be given; volumes of mixtures are never added."""

_LITRE: Final = 1000.0  # cm3
_WHOLE: Final = 100.0  # %
_LABEL: Final = 20.0  # degC, the temperature of %v/v, OIML R 22


def mass_fraction(
    solute: str, amount: float, basis: str, *, temperature: float = 20.0, strength: float | None = None
) -> float:
    """Return the mass fraction of solute in the liquid.

    Parameters
    ----------
    solute : str
        Solute or hydrate, such as ``"NaCl"``, ``"Epsom salt"`` or ``"isopropanol"``.
    amount : float
        How much of the reagent (salt, hydrate or bottled liquid), in the unit of ``basis``.
    basis : str
        ``"%w/w"``: g of reagent in 100 g of liquid.
        ``"%v/v"``: mL of reagent in 100 mL of liquid, at 20 degC (liquid solutes).
        ``"g/kg water"``: g of reagent added to 1 kg of water.
        ``"g/L water"``: g of reagent added to 1 L of water.
        ``"g/L"``: g of reagent in 1 L of finished liquid.
        ``"mL/L water"``: mL of reagent added to 1 L of water (liquid solutes).
    temperature : float, optional
        Temperature of the volumes measured [degC]; %v/v is at 20 degC by definition.
    strength : float, optional
        Label strength of the bottle [%v/v at 20 degC] when the reagent is a bottled liquid.

    Returns
    -------
    float
        Mass fraction of (anhydrous) solute, 0 to 1.

    Raises
    ------
    UnknownNameError
        If the solute is unknown.
    InputError
        If basis, amount or strength make no sense for the solute.
    RangeError
        If the result lies outside the model's range.

    Notes
    -----
    %v/v is the alcoholic strength by volume of OIML R 22: volume of pure solute
    over volume of mixture, both at 20 degC, so ``q = w rho(w, 20) / rho(1, 20)``.

    Examples
    --------
    >>> round(mass_fraction("table salt", 110, "g/kg water"), 4)
    0.0991
    >>> round(mass_fraction("isopropanol", 70, "%v/v"), 2)
    0.63
    """
    found, own = _reagent(solute, amount, basis, strength)
    found.check_temperature(temperature)
    if basis == "%v/v":
        # The bottle's liquid brings strength/100 of its volume as pure solute.
        share = amount / 100.0 if strength is None else amount / 100.0 * strength / 100.0
        w = _from_share(found, share)
    elif basis == "g/L":
        w = _from_grams_a_litre(found, own * amount, temperature)
    else:
        w = own * _reagent_share(found, own, amount, basis, temperature)
    found.check(w, temperature)
    return min(w, found.limit(temperature))


def amount_of(solute: str, w: float, basis: str, *, temperature: float = 20.0, strength: float | None = None) -> float:
    """Return how much reagent gives a mass fraction: the inverse of :func:`mass_fraction`.

    Parameters
    ----------
    solute : str
        Solute or hydrate.
    w : float
        Mass fraction of (anhydrous) solute.
    basis : str
        One of :data:`BASES`.
    temperature : float, optional
        Temperature of the volumes [degC].
    strength : float, optional
        Label strength of the bottle [%v/v at 20 degC].

    Returns
    -------
    float
        Amount in the unit of ``basis``.

    Raises
    ------
    UnknownNameError, InputError
        As :func:`mass_fraction`.
    RangeError
        If ``w`` lies outside the model's range, or the reagent is too weak to reach it.

    Examples
    --------
    >>> round(amount_of("ethanol", 0.3938, "%v/v"), 1)
    46.7
    """
    found, own = _reagent(solute, 0.0, basis, strength)
    refuse_not_finite(w=w)
    found.check(w, temperature)
    if w > own or (w == own and "water" in basis):
        msg = f"{solute} of mass fraction {own:.4g} cannot give {w:.4g}; take a stronger reagent"
        raise RangeError(msg)
    if basis == "%w/w":
        return 100.0 * w / own
    if basis == "%v/v":
        pure = 100.0 * _share(found, w)
        return pure if strength is None else pure * 100.0 / strength
    if basis == "g/L":
        return _LITRE * found.density(w, temperature) * w / own
    grams_a_kg = 1000.0 * w / (own - w)
    if basis == "g/kg water":
        return grams_a_kg
    grams_a_litre = grams_a_kg * water_density(temperature)
    return grams_a_litre if basis == "g/L water" else grams_a_litre / found.density(own, temperature)


def mix_volumes(
    solute: str, liquid: float, water: float, *, strength: float | None = None, temperature: float = 20.0
) -> tuple[float, float]:
    """Return what becomes of a volume of bottled liquid poured into a volume of water.

    Parameters
    ----------
    solute : str
        A liquid solute: ethanol, isopropanol or glycerol.
    liquid, water : float
        Volumes poured together [mL].
    strength : float, optional
        Label strength of the bottle [%v/v at 20 degC]; pure liquid if not given.
    temperature : float, optional
        Temperature of both and of the mixture [degC].

    Returns
    -------
    w, volume : float
        Mass fraction of solute, and volume of the mixture [mL], which is less than the sum.

    Raises
    ------
    UnknownNameError, InputError, RangeError
        As :func:`mass_fraction`.

    Examples
    --------
    >>> w, volume = mix_volumes("ethanol", 50, 50)
    >>> round(volume, 1)
    96.5
    """
    found, own = _reagent(solute, liquid, "mL/L water", strength)
    refuse_negative(water=water)
    if liquid + water == 0.0:
        raise InputError([Fault("liquid", "and water are both 0 mL; give what was poured, such as 50")])
    found.check_temperature(temperature)
    poured = liquid * found.density(own, temperature)
    total = poured + water * water_density(temperature)
    w = own * poured / total
    return w, total / found.density(w, temperature)


def strength_fraction(solute: str, strength: float) -> float:
    """Return the mass fraction of solute in a bottle from its label.

    Parameters
    ----------
    solute : str
        A liquid solute.
    strength : float
        Label strength [%v/v at 20 degC].

    Returns
    -------
    float
        Mass fraction.

    Examples
    --------
    >>> round(strength_fraction("ethanol", 96), 3)
    0.938
    """
    return _reagent(solute, 0.0, "%v/v", strength)[1]


def _reagent(solute: str, amount: float, basis: str, strength: float | None) -> tuple[LiquidModel, float]:
    """Return model and own mass fraction of the reagent, after checking what was asked."""
    found, own = reagent(solute)
    if basis not in BASES:
        raise InputError([Fault("basis", f"{basis!r} is unknown; use one of {', '.join(BASES)}")])
    refuse_negative(amount=amount)
    if not found.is_liquid and (basis in {"%v/v", "mL/L water"} or strength is not None):
        what = "strength" if strength is not None else "basis"
        msg = f"a volume of {found.name} cannot be used, it is no liquid; weigh it and use 'g/kg water'"
        raise InputError([Fault(what, msg)])
    if basis == "%v/v" and amount > _WHOLE:
        raise InputError([Fault("amount", f"{amount:g} %v/v is more than the whole; give 0 to 100")])
    if strength is None:
        return found, own
    refuse_not_finite(strength=strength)
    if not 0.0 < strength <= _WHOLE:
        raise InputError([Fault("strength", f"{strength:g} %v/v is outside 0 to 100; read the label")])
    return found, _from_share(found, strength / 100.0)


def _reagent_share(found: LiquidModel, own: float, amount: float, basis: str, t: float) -> float:
    """Return the mass of reagent over the mass of liquid."""
    if basis == "%w/w":
        return amount / 100.0
    water = 1000.0 if basis == "g/kg water" else _LITRE * water_density(t)
    grams = amount * found.density(own, t) if basis == "mL/L water" else amount
    return grams / (grams + water)


def _share(found: LiquidModel, w: float) -> float:
    """Return the volume share of pure solute at 20 degC."""
    return w * found.density(w, _LABEL) / found.density(1.0, _LABEL)


@functools.lru_cache(maxsize=64)
def _from_share(found: LiquidModel, share: float) -> float:
    """Return the mass fraction from the volume share of pure solute at 20 degC; every bath asks for its bottle's."""
    return _solve(lambda w: _share(found, w) - share, 1.0)


def _from_grams_a_litre(found: LiquidModel, grams: float, t: float) -> float:
    """Return the mass fraction from g of solute a litre of liquid."""
    top = found.limit(t)
    most = _LITRE * top * found.density(top, t)
    # A conversion there and back may overshoot by the last digits of a float.
    if grams > most * (1.0 + 1e-12):
        msg = (
            f"{found.title}: {grams:.4g} g/L of {found.name} is more than {most:.4g} g/L, "
            f"the most at {t:g} °C; use less"
        )
        raise RangeError(msg)
    return _solve(lambda w: _LITRE * w * found.density(w, t) - grams, top)


def _solve(f: Callable[[float], float], top: float) -> float:
    """Return the root in 0 to ``top`` of a rising function, by halving."""
    low, high = 0.0, top
    if f(high) <= 0.0:
        return high
    # 60 halvings reach the spacing of floats.
    for _ in range(60):
        middle = 0.5 * (low + high)
        if f(middle) < 0.0:
            low = middle
        else:
            high = middle
    return 0.5 * (low + high)
