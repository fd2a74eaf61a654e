"""How to correct a jug whose density came out high or low."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from resinid.errors import Fault, Faults, InputError
from resinid.liquids._checks import refuse_not_positive
from resinid.liquids.mixing import CLOSE, Ingredient, Reagent, Recipe, mix, share_at
from resinid.liquids.water import water_density
from resinid.notebook import Answer

__all__ = ["Correction", "correct"]


@dataclass(frozen=True, slots=True)
class Correction(Answer):
    """What to add to a jug that measured high or low.

    Parameters
    ----------
    add : Ingredient or None
        What to add; None where the jug is already right.
    bath : Recipe
        The bath that it then is: its density, flash point and caution.
    """

    add: Ingredient | None
    bath: Recipe

    def __repr__(self) -> str:
        return f"<Correction: add {self.add or 'nothing'}; then {self.bath!r}>"

    @property
    def volume(self) -> float:
        """Volume afterwards [mL]."""
        return self.bath.volume

    def to_dict(self) -> dict[str, Any]:
        """Return what to add (None where nothing) and the bath that it then is [mL, g/cm3, degC], as JSON types."""
        return {
            "add": None if self.add is None else self.add.to_dict(),
            "volume": self.volume,
            "density": self.bath.liquid.density,
            "flash_point": self.bath.to_dict()["flash_point"],
            "caution": self.bath.liquid.caution,
        }


def correct(
    measured: float,
    volume: float,
    target: float,
    source: Reagent,
    *,
    temperature: float = 20.0,
    u_temperature: float = 1.0,
    allow: tuple[str, ...] = (),
    scale: float | None = 0.1,
    cylinder: float | None = None,
) -> Correction:
    """Return what to add to a jug whose density came out high or low.

    Parameters
    ----------
    measured, target : float
        Density it has and should have, at its temperature [g/cm3].
    volume : float
        What is in the jug [mL].
    source : Reagent
        What the jug is mixed from.
    temperature, u_temperature : float, optional
        Of the bath and its standard uncertainty [degC, K].
    allow, scale, cylinder : optional
        As for :func:`resinid.liquids.mixing.mix`.

    Raises
    ------
    InputError
        Either density is out of the reagent's reach, or the bath could be lit at its own temperature.

    Notes
    -----
    With mass ``m = measured * volume`` and the mass fractions before, after and of
    what is added ``w, w', a``, conservation gives ``added = m (w' - w) / (a - w')``.

    Examples
    --------
    >>> print(correct(1.062, 500.0, 1.070, Reagent("table salt")).add)
    6.4 g of table salt
    >>> print(correct(1.078, 500.0, 1.070, Reagent("table salt")).add)
    58.3 g (about 60 mL) of water
    """
    refuse_not_positive(measured=measured, volume=volume, density=target)
    shares: list[float] = []
    faults = Faults()
    for place, density in (("measured", measured), ("density", target)):
        try:
            shares.append(share_at(density, source, temperature))
        except InputError as error:
            faults.extend(Fault(place, fault.message) for fault in error.faults)
    faults.check()
    before, after = shares

    def bath(filled: float) -> Recipe:
        return mix(
            target,
            filled,
            source,
            temperature=temperature,
            u_temperature=u_temperature,
            allow=allow,
            scale=scale,
            cylinder=cylinder,
        )

    mass, own, found = measured * volume, source.fraction, source.model
    if abs(measured - target) < CLOSE:
        return Correction(None, bath(volume))
    if after > before:
        if own - after < CLOSE:
            raise InputError([Fault("density", f"{target:g} g/cm3 is that of {source} itself; start with a fresh jug")])
        added = mass * (after - before) / (own - after)
        poured = added / found.density(own, temperature) if found.is_liquid else None
        part = Ingredient(str(source), added, poured, scale, cylinder)
    elif after > 0:
        added = mass * (before - after) / after
        part = Ingredient("water", added, added / water_density(temperature), scale, cylinder)
    else:
        raise InputError([Fault("density", f"{target:g} g/cm3 is that of water itself; start with fresh water")])
    return Correction(part, bath((mass + added) / target))
