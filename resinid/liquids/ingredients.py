"""What a bath is mixed from: reagents as they are sold, and amounts of them as they are measured out."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from resinid.errors import Faults, safe_repr
from resinid.liquids._checks import is_finite
from resinid.liquids.amounts import grams_shown, mass_measured, millilitres_shown, volume_measured
from resinid.liquids.catalogue import reagent
from resinid.liquids.concentration import strength_fraction

if TYPE_CHECKING:
    from resinid.liquids._model import LiquidModel

__all__ = ["Ingredient", "Reagent"]


@dataclass(frozen=True, slots=True)
class Reagent:
    """A bag of salt or a bottle, as it is sold.

    Parameters
    ----------
    name : str
        Solute or hydrate, such as ``"table salt"``, ``"CaCl2.2H2O"`` or ``"isopropanol"``.
    strength : float, optional
        Label strength of a bottle [%v/v at 20 degC].

    Raises
    ------
    InputError
        The name is no text or the strength no number.

    Examples
    --------
    >>> str(Reagent("isopropanol", 70.0))
    'isopropanol 70 %v/v'
    """

    name: str
    strength: float | None = None

    def __post_init__(self) -> None:
        """Refuse what is no name or no number."""
        faults = Faults()
        if not isinstance(self.name, str):
            faults.add("name", f"is {safe_repr(self.name)}; give the name of a salt or a bottle, such as 'ethanol'")
        if self.strength is not None and not is_finite(self.strength):
            faults.add("strength", f"is {safe_repr(self.strength)}; give the number on the label [%v/v], such as 96.0")
        faults.check()

    def __str__(self) -> str:
        """Return the name and strength as on the label."""
        return self.name if self.strength is None else f"{self.name} {self.strength:g} %v/v"

    @property
    def model(self) -> LiquidModel:
        """The liquid it makes with water."""
        return reagent(self.name)[0]

    @property
    def fraction(self) -> float:
        """Mass fraction of (anhydrous) solute in what is in the bag or bottle."""
        own = reagent(self.name)[1]
        return own if self.strength is None else strength_fraction(self.name, self.strength)


@dataclass(frozen=True, slots=True)
class Ingredient:
    """One thing to put into the jug.

    Parameters
    ----------
    name : str
        What it is.
    grams : float
        How much of it [g].
    millilitres : float or None
        The same by volume at the bath's temperature [mL]; None for a solid.
    scale, cylinder : float or None, optional
        Step of the scale and division of the cylinder it is measured with [g, mL]; without a
        scale liquids go by volume, without a cylinder into a kitchen jug.

    Examples
    --------
    >>> for scale in (0.1, 1.0, None):
    ...     print(Ingredient("ethanol 96 %v/v", 76.93, 95.27, scale=scale))
    76.9 g (about 95 mL) of ethanol 96 %v/v
    77 g (about 95 mL) of ethanol 96 %v/v
    95 mL of ethanol 96 %v/v
    """

    name: str
    grams: float
    millilitres: float | None
    scale: float | None = 0.1
    cylinder: float | None = None

    def __str__(self) -> str:
        """Return the amount as one measures it out, no finer than scale or jug show it."""
        if self.millilitres is None:
            return f"{grams_shown(self.grams, self.scale)} of {self.name}"
        poured = millilitres_shown(self.millilitres, self.cylinder)
        if self.scale is None:
            return f"{poured} of {self.name}"
        return f"{grams_shown(self.grams, self.scale)} (about {poured}) of {self.name}"

    def to_dict(self) -> dict[str, Any]:
        """Return it as JSON types; ``measure`` says how to measure it out."""
        return {"what": self.name, "grams": self.grams, "millilitres": self.millilitres, "measure": str(self)}

    @property
    def measured(self) -> float:
        """Mass of the amount that ``str`` prints [g]."""
        if self.millilitres is None or self.scale is not None:
            return mass_measured(self.grams, self.scale)
        if self.millilitres <= 0.0:
            return self.grams
        return self.grams * volume_measured(self.millilitres, self.cylinder) / self.millilitres
