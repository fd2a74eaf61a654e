"""How long a charge takes to heat through and to cool, by each way, with the mould's walls and as loose shred."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.melting.charge import FORMS, bed_conductivity
from resinid.melting.hot_time import LONGEST_ANY
from resinid.melting.own_tables import walls
from resinid.melting.slab import Case, Part, solve
from resinid.melting.steps import Cooling, Heating

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from resinid.melting.given import Given
    from resinid.melting.hot_time import Bearing
    from resinid.melting.slab import Course
    from resinid.melting.thermal_properties import Layer, Range

__all__ = ["WAYS", "Setting", "timings"]

WAYS: Final = MappingProxyType(
    {"two plates": "contact plates, both sides", "one plate": "contact plate, one side", "oven": "hot-air oven"}
)
"""What each heater is called in a plan."""

MOMENT: Final = 20.0
"""[min] After which the coldest place is stated, for comparison."""

THICKNESSES: Final = tuple(float(size) for size in np.geomspace(2.0, 150.0, 7))
"""[mm] At which is worked out what fits; between them it is interpolated."""

ROOM: Final = 20.0
"""[degC] Of what a hot charge is cooled with."""

STILL: Final = 10.0
"""[W/(m2 K)] Still air beside a warm face, radiation included (2 to 25 by the table's source, from memory)."""

PLATEN: Final = Part(capacity=0.015 * 2700.0 * 900.0, resistance=0.015 / 160.0, count=1, contact=STILL)
"""Of a press that is switched off: 15 mm of aluminium, bare behind (common practice, no source)."""

BOARD: Final = Part(capacity=0.012 * 545.0 * 1215.0, resistance=0.012 / 0.12, count=5, contact=STILL)
"""Of wood, 12 mm of plywood, between which a hot cake is clamped: figures of walls.csv."""

UNDERCOOLING: Final = MappingProxyType({"PP": 45.0, "PA6": 35.0, "PA66": 35.0, "PET": 60.0, "PBT": 35.0, "PLA": 50.0})
"""[K] Below melting at which crystals grow as it cools (peaks of cooling at 10 K/min, from memory)."""

USUAL_UNDERCOOLING: Final = 15.0
"""[K] Of the others, polyethylene first."""


@dataclass(frozen=True, slots=True)
class Setting:
    """What a charge is heated to and cooled to.

    Parameters
    ----------
    plate : float
        Temperature of plates or air [degC].
    through : float
        That the coldest place must reach [degC].
    opened : float
        That the middle must be below before the mould is opened [degC].
    melting : tuple of float or None
        Between which its crystals melt [degC].
    softens : float
        From which a loose charge sinks together [degC].
    resin : str
        The main one.
    """

    plate: float
    through: float
    opened: float
    melting: tuple[float, float] | None
    softens: float
    resin: str


def timings(
    given: Given, layer: Layer, setting: Setting, bearing: Bearing, *, contact: Range, oven: Range
) -> tuple[tuple[Heating, ...], tuple[Cooling, ...], Mapping[str, Case]]:
    """Return how long each way of heating and of cooling takes, solved as one set; and what was solved, by way.

    Heated is then the charge as it is filled in.

    Parameters
    ----------
    given : Given
    layer : Layer
        What the charge is like to heat.
    setting : Setting
    bearing : Bearing
        What its resins bear.
    contact, oven : Range
        Surface coefficients [W/(m2 K)].
    """
    ways = [way for way in WAYS if given.heater in {"", way}]
    loose = given.form != "solid"
    cases: list[Case] = []
    for way in ways:
        surface, sides = (oven if way == "oven" else contact), (1 if way == "one plate" else 2)

        def case(
            end: str, h: float, thickness: float, sides: int = sides, contact: Range = contact, *, bed: bool
        ) -> Case:
            charge = _charge(given, layer, setting, end, thickness / sides, bed=bed)
            return _in_mould(given, charge, h, contact.middle, setting)

        at = given.thickness
        cases += [
            case("middle", surface.middle, at, bed=False),
            case("fast", surface.high, at, bed=False),
            case("slow", surface.low, at, bed=False),
            case("middle", surface.middle, at, bed=loose),
            *(case("middle", surface.middle, size, bed=loose) for size in THICKNESSES),
        ]
    coolings = _coolings(given, layer, setting, contact.middle)
    cases += coolings.values()
    courses = solve(cases, bearing.rate, MOMENT)
    each = 4 + len(THICKNESSES)
    heating = tuple(
        _heating(WAYS[way], given, setting, courses[each * k : each * (k + 1)], 1 if way == "one plate" else 2)
        for k, way in enumerate(ways)
    )
    cooled = courses[each * len(ways) :]
    cooling = tuple(
        Cooling(way, _finite(course.minutes), course.used) for way, course in zip(coolings, cooled, strict=True)
    )
    return heating, cooling, {**{WAYS[way]: cases[each * k + 3] for k, way in enumerate(ways)}, **coolings}


def _charge(given: Given, layer: Layer, setting: Setting, end: str, depth: float, *, bed: bool) -> Part:
    """Return the charge down to its coldest place [mm], with its properties in the middle or at an end."""
    quick, slow = {"middle": ("middle", "middle"), "fast": ("high", "low"), "slow": ("low", "high")}[end]
    k, c = getattr(layer.conductivity, quick), getattr(layer.heat_capacity, slow)
    mass = depth / 1000.0 * layer.density.middle
    low, high = setting.melting or (1000.0, 1001.0)
    part = Part(
        capacity=1e3 * c * mass,
        resistance=depth / 1000.0 / k,
        fusion=1e3 * getattr(layer.fusion, slow) * mass if setting.melting else 0.0,
        melting=(low, max(high, low + 1.0)),
    )
    if not bed:
        return part
    across = depth / 1000.0 / FORMS[given.form] / bed_conductivity(k, given.form)
    return replace(part, loose=across, sinking=(setting.softens, max(setting.through, setting.softens + 1.0)))


def _wall(given: Given, contact: float) -> Part:
    wall, across = walls()[given.material], given.wall / 1000.0
    return Part(across * wall.density * wall.capacity, across / wall.conductivity, count=5, contact=contact)


def _in_mould(given: Given, charge: Part, h: float, contact: float, setting: Setting) -> Case:
    if not given.material:
        return Case((replace(charge, contact=h),), setting.plate, (given.start,), setting.through)
    layers = (_wall(given, h), replace(charge, contact=contact))
    return Case(layers, setting.plate, (ROOM, given.start), setting.through)


def _coolings(given: Given, layer: Layer, setting: Setting, contact: float) -> dict[str, Case]:
    """Return what a charge that is hot through is put into, mould and all unless it is taken out of it."""
    below = UNDERCOOLING.get(setting.resin, USUAL_UNDERCOOLING)
    cold = replace(setting, melting=setting.melting and (setting.melting[0] - below, setting.melting[1] - below))
    charge = _charge(given, layer, cold, "middle", given.thickness / 2.0, bed=False)
    pressed, bare = replace(charge, contact=contact), replace(charge, contact=STILL)
    hot = setting.plate

    def beside(outer: tuple[Part, ...], first: float) -> tuple[Part, ...]:
        return (*outer, _wall(given, first), pressed) if given.material else (*outer, replace(pressed, contact=first))

    ways = {
        "cold plates": (beside((), contact), None),
        "press switched off": (beside((PLATEN,), contact), None),
        "still air": (beside((), STILL) if given.material else (bare,), None),
        "between wooden boards": ((BOARD, pressed), ROOM),
    }
    return {
        way: Case(layers, ROOM, (hot if first is None else first, *[hot] * (len(layers) - 1)), setting.opened)
        for way, (layers, first) in ways.items()
    }


def _heating(way: str, given: Given, setting: Setting, courses: Sequence[Course], sides: int) -> Heating:
    middle, fast, slow, loose, *sizes = courses
    heat = middle.heat * sides * given.area * 1e-4 / 1e3
    return Heating(
        way=way,
        source=setting.plate,
        minutes=_finite(middle.minutes),
        shortest=_finite(fast.minutes),
        longest=_finite(slow.minutes),
        after=middle.after,
        loose=_finite(loose.minutes),
        used=middle.used,
        loose_used=loose.used,
        thickest=_thickest(sizes),
        power=heat / (60.0 * middle.minutes) if 0.0 < middle.minutes < math.inf else 0.0,
    )


def _thickest(courses: Sequence[Course]) -> float:
    """Return the thickness [mm] at which the resin has borne all it can, or which takes the longest allowed."""
    spent = [max(course.used, course.minutes / LONGEST_ANY) for course in courses]
    if spent[0] > 1.0:
        return 0.0
    logs = np.log(np.maximum(np.minimum(spent, 1e6), 1e-9))
    return float(np.exp(np.interp(0.0, np.maximum.accumulate(logs), np.log(THICKNESSES))))


def _finite(minutes: float) -> float | None:
    return minutes if math.isfinite(minutes) else None
