"""How to mix a bath of a wanted density from what is at hand."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, replace
from typing import Any, Final

from resinid.errors import Fault, InputError, ResinidError
from resinid.liquids._checks import refuse_not_positive
from resinid.liquids.concentration import amount_of
from resinid.liquids.flash import FLASH, MARGIN, SMALL, WARM, flash_of, is_small, lit_caution, warmest
from resinid.liquids.ingredients import Ingredient, Reagent
from resinid.liquids.liquid import Liquid, pure_water
from resinid.liquids.recipe import from_recipe
from resinid.liquids.water import water_density
from resinid.notebook import Answer

__all__ = ["CLOSE", "FLASH", "MARGIN", "Ingredient", "Reagent", "Recipe", "mix", "reach", "safe_reach", "share_at"]

CLOSE: Final = 5e-5
"""[g/cm3] Densities closer than this are the same: half of the last digit as they are printed."""


SHARE_STEP: Final = 1e-4
"""How finely the last mass fraction below a flash point is sought."""


@dataclass(frozen=True, slots=True)
class Recipe(Answer):
    """What to mix for a bath, and how dense it will be.

    Parameters
    ----------
    reagent : Reagent
        What makes the density.
    parts : tuple of Ingredient
        What to put together; volumes do not add up, for mixing contracts.
    liquid : Liquid
        The bath: density and its standard uncertainty [g/cm3].
    volume : float
        Volume of the finished bath [mL].
    share : float
        Mass fraction of (anhydrous) solute.
    flash : float
        Temperature above which its vapour can be lit [degC]; infinite for brines.
    rounding : float, optional
        By how much the amounts as printed give another density than the exact ones [g/cm3]; it is
        part of the bath's uncertainty.
    """

    reagent: Reagent
    parts: tuple[Ingredient, ...]
    liquid: Liquid
    volume: float
    share: float
    flash: float
    rounding: float = 0.0

    def __repr__(self) -> str:
        return f"<Recipe of {self.volume:g} mL of {self.liquid.label}: {', '.join(map(str, self.parts))}>"

    def to_dict(self) -> dict[str, Any]:
        """Return the recipe as JSON types; ``flash_point`` is None where nothing can be lit."""
        bath = self.liquid
        return {
            "density": {"value": bath.density, "u": bath.u, "unit": "g/cm3"},
            "temperature": {"value": bath.temperature, "unit": "degC"},
            "volume": {"value": self.volume, "unit": "mL"},
            "mass_fraction": self.share,
            "flash_point": self.flash if math.isfinite(self.flash) else None,
            "rounding": self.rounding,
            "mix": [part.to_dict() for part in self.parts],
            "caution": bath.caution,
            "sources": list(bath.sources),
        }


@functools.lru_cache(maxsize=64)
def reach(source: Reagent, temperature: float) -> tuple[float, float, float]:
    """Return the density of water, the one farthest from it that a reagent can make, and its mass fraction.

    Examples
    --------
    >>> [round(value, 3) for value in reach(Reagent("table salt"), 20.0)]
    [0.998, 1.201, 0.264]
    """
    found = source.model
    found.check_temperature(temperature)
    top = min(found.limit(temperature), source.fraction)
    return water_density(temperature), found.density(top, temperature), top


def safe_reach(
    source: Reagent,
    temperature: float,
    allow: tuple[str, ...] = (),
    *,
    u_temperature: float = 1.0,
    volume: float = math.inf,
) -> float:
    """Return the density farthest from water's that :func:`mix` does not refuse for its flash point.

    A bath colder than the room is judged as warm as the room, as there. Without a ``volume`` [mL] it
    holds for baths of any size.

    Examples
    --------
    >>> bottle = Reagent("isopropanol", 70.0)
    >>> round(safe_reach(bottle, 20.0), 3), round(safe_reach(bottle, 20.0, volume=250.0), 3)
    (0.965, 0.875)
    """
    _, extreme, top = reach(source, temperature)
    least = warmest(temperature, u_temperature)
    if FLASH in allow or is_small(volume, temperature, u_temperature) or flash_of(source.model.name, top) > least:
        return extreme
    low, high = 0.0, top
    while high - low > SHARE_STEP:
        middle = 0.5 * (low + high)
        low, high = (middle, high) if flash_of(source.model.name, middle) > least else (low, middle)
    return source.model.density(low, temperature)


def mix(
    target: float,
    volume: float,
    source: Reagent,
    *,
    temperature: float = 20.0,
    u_temperature: float = 1.0,
    allow: tuple[str, ...] = (),
    scale: float | None = 0.1,
    cylinder: float | None = None,
) -> Recipe:
    """Return what to mix for a bath of a wanted density.

    Parameters
    ----------
    target : float
        Wanted density at the bath's temperature [g/cm3].
    volume : float
        Wanted volume of the finished bath [mL].
    source : Reagent
        What to mix into water.
    temperature, u_temperature : float, optional
        Of the bath and its standard uncertainty [degC, K]; 1 K for a household
        thermometer is common practice, no source.
    allow : tuple of str, optional
        May hold :data:`FLASH`.
    scale, cylinder : float or None, optional
        Step of the scale and division of the cylinder [g, mL], to which the parts are printed.

    Raises
    ------
    InputError
        Past saturation, lighter than the bottle itself, on the wrong side of water, or, of more
        than a small jug (:func:`resinid.liquids.flash.is_small`), where the bath may come within
        :data:`MARGIN` of its flash point, at its own temperature or that of a room of
        20 ± 2 degC, to which a cold jug warms up.

    Notes
    -----
    The mass fraction is the root of the density model; the reagent then weighs
    ``target * volume * w / w_reagent`` and water makes up the rest, by mass, so that
    contraction needs no table. The bath's uncertainty is that of
    :func:`resinid.liquids.from_recipe`, of model, temperature, and reagent and scale, with the
    difference that rounding the parts makes.

    Examples
    --------
    >>> bath = mix(1.07, 1000.0, Reagent("table salt"))
    >>> [str(part) for part in bath.parts]
    ['106 g of table salt', '964 g (about 965 mL) of water']
    """
    refuse_not_positive(density=target, volume=volume)
    w = share_at(target, source, temperature)
    flash = flash_of(source.model.name, w)
    least = warmest(temperature, u_temperature)
    lit, small = least >= flash, is_small(volume, temperature, u_temperature)
    if lit and FLASH not in allow and not small:
        raise InputError([Fault("density", _flammable(source, target, least, temperature, flash))])
    total = target * volume
    own, found = source.fraction, source.model
    grams = total * w / own
    millilitres = grams / found.density(own, temperature) if found.is_liquid else None
    rest = total - grams
    water = Ingredient("water", rest, rest / water_density(temperature), scale, cylinder)
    part = Ingredient(str(source), grams, millilitres, scale, cylinder)
    parts = (part, water) if grams > 0 else (water,)
    off = 0.0
    if grams > 0:
        got = own * part.measured / (part.measured + water.measured)
        off = found.density(min(got, found.limit(temperature)), temperature) - found.density(w, temperature)
    liquid = _bath(target, w, source, temperature, u_temperature)
    caution = lit_caution(flash, small=small, also=liquid.caution) if lit else liquid.caution
    return Recipe(source, parts, replace(liquid, u=math.hypot(liquid.u, off), caution=caution), volume, w, flash, off)


def share_at(target: float, source: Reagent, temperature: float) -> float:
    """Return the mass fraction that has a density, or refuse with the reason and a way out."""
    water, extreme, top = reach(source, temperature)
    if not min(water, extreme) - CLOSE <= target <= max(water, extreme) + CLOSE:
        raise InputError([Fault("density", _out_of_reach(target, source, temperature, water, extreme))])
    if abs(target - water) <= CLOSE or top == 0.0:
        return 0.0
    density = source.model.density
    if abs(target - extreme) <= CLOSE:
        return top
    from scipy.optimize import brentq

    return float(brentq(lambda w: density(w, temperature) - target, 0.0, top, xtol=1e-13))


def _out_of_reach(target: float, source: Reagent, temperature: float, water: float, extreme: float) -> str:
    wanted = f"{target:g} g/cm3 at {temperature:g} °C"
    if extreme == water:
        return f"{wanted} is not that of water, {water:.4f}; name what to mix into it"
    if (extreme > water) != (target > water):
        other = "a salt" if target > water else "an alcohol"
        return f"{source} makes water {'denser' if extreme > water else 'lighter'}; for {wanted} take {other}"
    if extreme > water:
        found = source.model
        end = "saturated" if found.saturation and found.limit(temperature) < found.w_max else "where its table ends"
        return f"{wanted} is past what {source} gives: {extreme:.3f} g/cm3, {end}; take a denser salt (CaCl2 or K2CO3)"
    if source.strength is not None:
        return f"{wanted} is lighter than the bottle of {source} itself, {extreme:.3f} g/cm3; take a stronger one"
    return f"{wanted} is lighter than pure {source}, {extreme:.3f} g/cm3; no bath of it reaches that"


def _flammable(source: Reagent, target: float, least: float, temperature: float, flash: float) -> str:
    return (
        f"a bath of {source} at {target:.4g} g/cm3 flashes at about {flash:.0f} °C, too near its own {temperature:g} "
        f"°C or the room's: up to {least:.0f} °C, as thermometer and flash point may be off and a cold jug warms up to "
        f"the room, its vapour can be lit by any spark. Take a denser bath, or no more than {SMALL:g} mL at {WARM:g} "
        f"°C at most; or allow {FLASH!r}, outdoors or under extraction with no flame, switch or hot plate near, as "
        "local codes say"
    )


def _bath(target: float, w: float, source: Reagent, temperature: float, u_temperature: float) -> Liquid:
    label = f"{source} bath of {target:.4g} g/cm3"
    if w <= 0.0:
        return pure_water(temperature, u_temperature=u_temperature, label=label)
    found = source.model
    # Of a bottle, the 2 % of an amount stand for label and jug together, so it counts as pure alcohol.
    name, basis = (found.name, "%w/w") if found.is_liquid else (source.name, "g/kg water")
    try:
        amount = amount_of(name, w, basis, temperature=temperature)
        made = from_recipe(name, amount, basis, temperature=temperature, u_temperature=u_temperature, label=label)
    except InputError:
        raise
    except ResinidError as error:
        raise InputError([Fault("density", str(error))]) from error
    own = flash_of(found.name, source.fraction)
    bottle = f"{made.caution} The bottle of {source} itself can be lit from about {own:.0f} °C on."
    caution = bottle if own < flash_of(found.name, w) else made.caution
    return replace(
        made, caution=caution, how=f"recipe: {100.0 * w:.4g} %w/w, mixed from {source}, at {temperature:g} °C"
    )
