"""Recipes for test liquids, as people write them: texts with units in, grams and millilitres out."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from resinid.errors import Faults, InputError, safe_repr
from resinid.io.liquid_parser import ROOM
from resinid.io.reading import Reading, read
from resinid.liquids.correcting import Correction, correct
from resinid.liquids.mixing import Reagent, Recipe, mix
from resinid.methods.bench_parser import parse_reagent
from resinid.methods.dangers import allowed_dangers

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["Correction", "Reagent", "Recipe", "correct_bath", "mix_bath"]

SCALE: Final = "0.1 g"
"""Step of the scale where none is stated, as at the usual bench."""


def mix_bath(
    density: object,
    volume: object,
    solute: str | Reagent,
    *,
    temperature: object = ROOM,
    allow: Iterable[str] = (),
    scale: object = SCALE,
    cylinder: object = None,
) -> Recipe:
    """Return what to mix for a bath of a wanted density.

    Parameters
    ----------
    density : str or quantity
        Wanted density at the bath's temperature, such as ``"1.070 g/cm3"``.
    volume : str or quantity
        Wanted volume of the finished bath, such as ``"500 mL"``.
    solute : str or Reagent
        What to mix into water, with the label strength of a bottle: ``"table salt"``,
        ``"CaCl2.2H2O"``, ``"isopropanol 70 %v/v"``, ``"ethanol 96 %v/v"``.
    temperature : str or quantity, optional
        Of the bath; 20 ± 2 degC where not given.
    allow : iterable of str, optional
        May hold ``"flammable bath"``: a bath of more than 500 mL, or warmer than 25 degC, that can
        be lit at its own temperature or, if that is colder, at that of a room, 20 ± 2 degC with a
        margin of 3 K, to which a cold jug warms up. A smaller one is given with its caution.
    scale, cylinder : str or quantity or None, optional
        Step of the scale, such as ``"1 g"``, and division of the cylinder, such as ``"1 mL"``, to
        which amounts are printed. Without a scale liquids go by volume, without a cylinder into a
        kitchen jug.

    Returns
    -------
    Recipe
        Parts with grams and millilitres, and the bath with its standard uncertainty.

    Raises
    ------
    InputError
        Every fault; past saturation, below the bottle's own density, or flammable,
        with the reason and a way out.

    Examples
    --------
    >>> bath = mix_bath("0.930 g/cm3", "500 mL", "ethanol 96 %v/v")
    >>> [str(part) for part in bath.parts]
    ['211 g (about 260 mL) of ethanol 96 %v/v', '254 g (about 255 mL) of water']
    >>> round(bath.liquid.u, 3)
    0.002
    """
    found, source = _read(
        solute,
        density=(density, "density"),
        volume=(volume, "volume"),
        temperature=(temperature, "temperature"),
        **_tools(scale, cylinder),
    )
    at = found["temperature"]
    return mix(
        found["density"].value,
        found["volume"].value,
        source,
        temperature=at.value,
        u_temperature=at.u,
        allow=allowed_dangers(allow),
        scale=found["scale"].value if "scale" in found else None,
        cylinder=found["cylinder"].value if "cylinder" in found else None,
    )


def correct_bath(
    measured: object,
    volume: object,
    density: object,
    solute: str | Reagent,
    *,
    temperature: object = ROOM,
    allow: Iterable[str] = (),
    scale: object = SCALE,
    cylinder: object = None,
) -> Correction:
    """Return what to add to a jug that measured high or low.

    Parameters
    ----------
    measured, density : str or quantity
        Density the jug has, and the one it should have, at its temperature.
    volume : str or quantity
        What is in the jug.
    solute : str or Reagent
        What it is mixed from, as for :func:`mix_bath`.
    temperature : str or quantity, optional
        Of the jug.
    allow, scale, cylinder : optional
        As for :func:`mix_bath`.

    Returns
    -------
    Correction
        What to add, and the bath that it then is, with its caution.

    Raises
    ------
    InputError
        Every fault; or the wanted density is out of the reagent's reach, or flammable.

    Examples
    --------
    >>> print(correct_bath("1.062 g/cm3", "500 mL", "1.070 g/cm3", "table salt").add)
    6.4 g of table salt
    """
    found, source = _read(
        solute,
        measured=(measured, "density"),
        volume=(volume, "volume"),
        density=(density, "density"),
        temperature=(temperature, "temperature"),
        **_tools(scale, cylinder),
    )
    return correct(
        found["measured"].value,
        found["volume"].value,
        found["density"].value,
        source,
        temperature=found["temperature"].value,
        u_temperature=found["temperature"].u,
        allow=allowed_dangers(allow),
        scale=found["scale"].value if "scale" in found else None,
        cylinder=found["cylinder"].value if "cylinder" in found else None,
    )


def _tools(scale: object, cylinder: object) -> dict[str, tuple[object, str]]:
    """Return what is at hand of scale and cylinder, each with the quantity of its step."""
    tools = {"scale": (scale, "mass"), "cylinder": (cylinder, "volume")}
    return {name: given for name, given in tools.items() if given[0] is not None}


def _read(solute: str | Reagent, **given: tuple[object, str]) -> tuple[dict[str, Reading], Reagent]:
    """Return the readings by name and the reagent, or all that is wrong with them."""
    faults = Faults()
    found: dict[str, Reading] = {}
    for name, (value, quantity) in given.items():
        try:
            found[name] = read(value, quantity)
        except InputError as error:
            faults.extend(error.faults, under=name)
    for name in ("scale", "cylinder"):
        if name in found and found[name].value <= 0.0:
            faults.add(name, "has a step of 0; give what its last digit or division stands for, such as '0.1 g'")
    source = Reagent("water")
    try:
        source = parse_reagent(solute) if isinstance(solute, str) else solute
    except InputError as error:
        faults.extend(error.faults)
    if not isinstance(source, Reagent):
        faults.add("solute", f"{safe_repr(solute)} is not a reagent; write 'table salt' or 'ethanol 96 %v/v'")
    faults.check()
    return found, source
