"""A test liquid as used at the bench: a density with its uncertainty."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

from resinid.errors import Fault, Faults, UnknownNameError, safe_repr
from resinid.liquids._checks import is_finite, refuse_negative, refuse_not_finite
from resinid.liquids.catalogue import model, oil_of
from resinid.liquids.oils import OILS, OILS_CAUTION, SLOPE
from resinid.liquids.water import SOURCES, water_beyond, water_density, water_uncertainty
from resinid.notebook import Answer
from resinid.quantities import QUANTITIES

__all__ = ["Liquid", "implausible", "kitchen_oil", "pure_water"]


@dataclass(frozen=True, slots=True)
class Liquid(Answer):
    """The density of one liquid at one temperature.

    Parameters
    ----------
    density : float
        Density [g/cm3].
    u : float
        Standard uncertainty of the density [g/cm3].
    temperature : float
        Temperature of the liquid [degC].
    label : str, optional
        What to call it in results.
    how : str, optional
        How the density was found.
    caution : str, optional
        What to beware of.
    sources : tuple of str, optional
        Keys of the publications used.
    flash : float, optional
        Temperature above which its vapour can be lit [degC]; None where it does not burn or
        its composition is not known, which is no promise.
    oily : bool, optional
        Whether it leaves a film on the chip, so that it is used last and washed off.

    Raises
    ------
    InputError
        If a number is not finite, ``u`` is not positive, or density or temperature is outside
        the plausible range, 0.005 to 3 g/cm3 and -150 to 600 degC.

    Examples
    --------
    >>> Liquid(1.07, 0.001, 20.0, "brine").density
    1.07
    """

    density: float
    u: float
    temperature: float
    label: str = ""
    how: str = ""
    caution: str = ""
    sources: tuple[str, ...] = ()
    flash: float | None = None
    oily: bool = False

    def __post_init__(self) -> None:
        """Refuse numbers no liquid can have."""
        faults = Faults()
        for name, value in (("density", self.density), ("u", self.u)):
            if not (is_finite(value) and value > 0.0):
                faults.add(name, f"is {safe_repr(value)}; give a positive number in g/cm3")
        if not any(fault.place == "density" for fault in faults):
            faults.extend(implausible(self.density))
        warmth = QUANTITIES["temperature"]
        if not (is_finite(self.temperature) and warmth.low <= self.temperature <= warmth.high):
            expected = f"give a number in °C, {warmth.low:g} to {warmth.high:g}"
            faults.add("temperature", f"is {safe_repr(self.temperature)}; {expected}")
        if self.flash is not None and not is_finite(self.flash):
            faults.add("flash", f"is {safe_repr(self.flash)}; give a number in °C, or None")
        for name, said in (("label", self.label), ("how", self.how), ("caution", self.caution)):
            if not isinstance(said, str):
                faults.add(name, f"is {safe_repr(said)}; give a text")
        if not isinstance(self.oily, bool):
            faults.add("oily", f"is {safe_repr(self.oily)}; give True or False")
        faults.check()

    def to_dict(self) -> dict[str, Any]:
        """Return the liquid as JSON types, of which :func:`resinid.parse_liquid` makes an equal one."""
        lit = {} if self.flash is None else {"flash": {"value": float(self.flash), "u": 0.0, "unit": "degC"}}
        return {
            "density": {"value": float(self.density), "u": float(self.u), "unit": "g/cm**3"},
            "temperature": {"value": float(self.temperature), "u": 0.0, "unit": "degC"},
            "label": self.label,
            "how": self.how,
            "caution": self.caution,
            "sources": list(self.sources),
            **lit,
            **({"oily": True} if self.oily else {}),
        }


def implausible(density: float, hint: str = "it is in g/cm3, so 1070 kg/m3 is 1.070") -> list[Fault]:
    """Return what is wrong with a density [g/cm3] that no test liquid has.

    Examples
    --------
    >>> print(implausible(1070.0, "check the unit")[0])
    density: 1070 g/cm3 is impossible for a liquid; expected 0.005 to 3 g/cm3; check the unit
    """
    range_ = QUANTITIES["density"]
    if range_.low <= density <= range_.high:
        return []
    message = f"{density:.6g} g/cm3 is impossible for a liquid; expected {range_.low:g} to {range_.high:g} g/cm3"
    return [Fault("density", f"{message}; {hint}")]


def pure_water(
    temperature: float = 20.0, *, u_temperature: float = 1.0, u_dissolved: float = 2e-4, label: str = "water"
) -> Liquid:
    """Return water from the tap or the bottle.

    Parameters
    ----------
    temperature : float, optional
        Temperature [degC], 0 to 40.
    u_temperature : float, optional
        Standard uncertainty of the temperature [K]; 1 K for a household
        thermometer is common practice, no source.
    u_dissolved : float, optional
        Standard uncertainty from salts and air in the water [g/cm3]. Hard tap
        water carries some 0.3 g/L of salts, about 2e-4 g/cm3 (common practice,
        no source); give 0 for distilled water.
    label : str, optional
        What to call it.

    Returns
    -------
    Liquid
        The water.

    Raises
    ------
    RangeError
        If the temperature is outside 0 to 40 degC.
    InputError
        If an uncertainty is negative or not finite.

    Examples
    --------
    >>> round(pure_water(25.0).density, 6)
    0.997047
    """
    refuse_not_finite(temperature=temperature)
    refuse_negative(u_temperature=u_temperature, u_dissolved=u_dissolved)
    model("water").check_temperature(temperature)
    # Half the change over twice the uncertainty: JCGM 100:2008, 5.1.3, note 2.
    shift = 0.5 * abs(water_beyond(temperature + u_temperature) - water_beyond(temperature - u_temperature))
    u = math.hypot(water_uncertainty(temperature), shift, u_dissolved)
    how = f"pure water at {temperature:g} °C"
    return Liquid(water_density(temperature), u, temperature, label, how, "", (*SOURCES, "jcgm_100_2008"))


def kitchen_oil(name: str, temperature: float = 20.0, *, u_temperature: float = 1.0, label: str = "") -> Liquid:
    """Return a kitchen oil as it comes from the bottle.

    Parameters
    ----------
    name : str
        One of :data:`resinid.liquids.oils.OILS`, or another name of it, such as ``"canola oil"``.
    temperature : float, optional
        Temperature [degC].
    u_temperature : float, optional
        Standard uncertainty of the temperature [K].
    label : str, optional
        What to call it; its name if not given.

    Raises
    ------
    UnknownNameError
        It is none of them.
    RangeError
        It is too cold to be clear, or too warm.
    InputError
        A number is not finite, or the uncertainty is negative.

    Examples
    --------
    >>> oil = kitchen_oil("sunflower oil", 25.0)
    >>> round(oil.density, 4), round(oil.u, 4)
    (0.9146, 0.0021)
    """
    refuse_negative(u_temperature=u_temperature)
    oil = oil_of(name)
    if oil is None:
        raise UnknownNameError(f"{safe_repr(name)} is no oil known here; known: {', '.join(OILS)}")
    oil.check_temperature(temperature)
    u = math.hypot(oil.uncertainty(temperature), SLOPE * u_temperature)
    how = f"{oil.how}; at {temperature:g} °C"
    sources = (*oil.sources, "jcgm_100_2008")
    return Liquid(
        oil.density(temperature), u, temperature, label or oil.name, how, OILS_CAUTION, sources, oil.flash, oily=True
    )
