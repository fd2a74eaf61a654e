"""What a workshop states of its mould and heater, read and checked."""

from __future__ import annotations

import math
import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from resinid.errors import Faults, InputError, safe_repr
from resinid.io.reading import read
from resinid.melting.charge import FORMS
from resinid.melting.own_tables import walls

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["HEATERS", "Given", "given_of"]

HEATERS: Final = ("two plates", "one plate", "oven")

VOLUME: Final = 250.0
"""[cm3] A small tile, where neither mould nor volume is given."""

THICKNESS: Final = 20.0
"""[mm]"""

NUMBER: Final = r"(\d+(?:\.\d+)?)\s*([a-zµ]*)"
SIZES: Final = re.compile(rf"\s*{NUMBER}\s*[x×*]\s*{NUMBER}\s*[x×*]\s*{NUMBER}\s*", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Given:
    """A mould, a heater and a charge, in millimetres, square centimetres and degrees Celsius.

    Parameters
    ----------
    length, width : float or None
        Of the mould, inside; None where only a volume was given.
    thickness : float
        Of the cold slab.
    volume : float
        Of the cold slab [cm3].
    material : str
        One of ``walls.csv``; empty for a bare charge.
    wall : float
        Thickness of the mould's wall between charge and heater.
    heater : str
        One of :data:`HEATERS`; empty for all of them.
    form : str
        Of the charge.
    depth : float or None
        Of the mould.
    start : float
    plate : float or None
    """

    length: float | None
    width: float | None
    thickness: float
    volume: float
    material: str
    wall: float
    heater: str
    form: str
    depth: float | None
    start: float
    plate: float | None

    @property
    def area(self) -> float:
        """Of the mould [cm2]."""
        return 10.0 * self.volume / self.thickness


def given_of(entries: Mapping[str, object]) -> Given:
    """Read what was given.

    Raises
    ------
    InputError
        Every fault, with its place.
    """
    faults = Faults()

    def positive(name: str, quantity: str, usual: float | None) -> float | None:
        value = entries.get(name)
        if value is None:
            return usual
        found = _read(value, quantity, name, faults)
        if quantity != "temperature" and not found > 0.0 and not math.isnan(found):
            faults.add(name, "must be above zero")
        return found

    material = _one_of("material", entries.get("material"), ("", *walls()), faults)
    usual = walls()[material].thickness if material in walls() else 0.0
    heater = _one_of("heater", entries.get("heater"), ("", *HEATERS), faults)
    form = _one_of("charge", entries.get("charge"), ("", *FORMS), faults) or "shred"
    wall = positive("wall", "length", usual)
    depth, plate = positive("depth", "length", None), positive("plate", "temperature", None)
    start = positive("start", "temperature", 20.0)
    thickness, volume = positive("thickness", "length", THICKNESS), positive("volume", "volume", VOLUME)
    length = width = None
    mould = entries.get("mould")
    if mould is not None:
        for name in ("volume", "thickness"):
            if entries.get(name) is not None:
                faults.add(name, "is given twice: the mould has it already")
        length, width, thickness = _sizes(mould, faults)
        volume = length * width * thickness / 1000.0
    if entries.get("wall") is not None and not material:
        faults.add("wall", f"of what? give the material too: {', '.join(walls())}")
    faults.check()
    # For the type checker: what was not given has its usual value by now.
    numbers = [math.nan if number is None else number for number in (thickness, volume, wall, start)]
    return Given(
        length=length,
        width=width,
        thickness=numbers[0],
        volume=numbers[1],
        material=material,
        wall=numbers[2],
        heater=heater,
        form=form,
        depth=depth,
        start=numbers[3],
        plate=plate,
    )


def _read(value: object, quantity: str, name: str, faults: Faults) -> float:
    try:
        return read(value, quantity).value
    except InputError as error:
        faults.extend(error.faults, under=name)
        return math.nan


def _one_of(name: str, value: object, allowed: Sequence[str], faults: Faults) -> str:
    if value is None:
        return ""
    if isinstance(value, str) and value in allowed:
        return value
    faults.add(name, f"{safe_repr(value, 40)} is none of {', '.join(each for each in allowed if each)}")
    return ""


def _sizes(value: object, faults: Faults) -> tuple[float, float, float]:
    """Return length, width and thickness [mm] of ``"600 x 400 x 10 mm"``, or of three readings."""
    parts: list[object] = []
    if isinstance(value, str) and (match := SIZES.fullmatch(value)):
        unit = match[6]
        parts = [f"{match[place]} {match[place + 1] or unit}" for place in (1, 3, 5)]
    elif isinstance(value, Sequence) and not isinstance(value, str) and len(value) == 3:
        parts = list(value)
    if not parts:
        faults.add("mould", f"{safe_repr(value, 60)}: write length x width x thickness, such as 600x400x10 mm")
        return math.nan, math.nan, math.nan
    found = [_read(part, "length", "mould", faults) for part in parts]
    if any(not size > 0.0 for size in found) and not any(map(math.isnan, found)):
        faults.add("mould", "every size must be above zero")
    return found[0], found[1], found[2]
