"""What the person has at the bench."""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final, cast

from resinid.errors import Fault, Faults, InputError, ResinidError, place_of, safe_repr
from resinid.io.arguments import as_float, as_names, as_tuple
from resinid.io.liquid_parser import ROOM
from resinid.io.reading import is_real
from resinid.liquids.liquid import Liquid, kitchen_oil, pure_water
from resinid.liquids.mixing import Reagent

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable


__all__ = ["Bench"]


@dataclass(frozen=True, slots=True)
class Bench:
    """What is at hand; water always is.

    Parameters
    ----------
    reagents : tuple of Reagent, optional
        What baths can be mixed from. Not given: table salt and isopropanol 70 %v/v.
    liquids : tuple of Liquid, optional
        Jugs that stand ready.
    temperature : float, optional
        Of water and baths [degC].
    scale : float or None, optional
        Smallest step of the scale [g]; 0.1 g, a kitchen or pocket scale, if not given.
    sinker : bool, optional
        Whether there is a weight to hold a floating piece under.
    cylinder : float or None, optional
        Smallest division of a graduated cylinder that takes the piece [mL].
    strip : bool, optional
        Whether a strip can be cut from the piece and bent.
    hot_plate : float or None, optional
        Highest temperature of a hot plate with a thermometer [degC].
    volume : float, optional
        Size of the piece [cm3].
    tools : tuple of str, optional
        What else is at hand that a method asks for, such as ``"acetone"``; see
        :attr:`resinid.Method.tools`.
    oils : tuple of str, optional
        Kitchen oils, by name. Not given: sunflower oil, which most kitchens have; of the oils it is
        the one whose density was read in the standard's own text, and it is as warm as the baths.

    Attributes
    ----------
    water : Liquid
        Water at the temperature of the baths.
    jugs : tuple of Liquid
        What a chip can be put into without mixing: water, the jugs that stand ready, and the oils.

    Raises
    ------
    InputError
        Everything that cannot be at a bench, or is not of its kind.
    """

    reagents: tuple[Reagent, ...] = (Reagent("table salt"), Reagent("isopropanol", 70.0))
    liquids: tuple[Liquid, ...] = ()
    temperature: float = 20.0
    scale: float | None = 0.1
    sinker: bool = True
    cylinder: float | None = None
    strip: bool = True
    hot_plate: float | None = 250.0
    volume: float = 5.0
    tools: tuple[str, ...] = ()
    oils: tuple[str, ...] = ("sunflower oil",)
    water: Liquid = field(init=False)
    jugs: tuple[Liquid, ...] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Refuse what cannot be, and fetch the water."""
        faults = Faults()
        self._check_numbers(faults)
        for name in ("sinker", "strip"):
            if not isinstance(getattr(self, name), bool):
                faults.add(f"have.{name}", f"is {safe_repr(getattr(self, name), 50)}; give True or False")
        for name, kind, how in _LISTED:
            self._hold(name, functools.partial(_as_listed, f"have.{name}", getattr(self, name), kind, how), faults)
        self._hold("tools", functools.partial(as_names, "have.tools", self.tools, "acetone"), faults)
        self._hold("oils", functools.partial(as_names, "have.oils", self.oils, "sunflower oil"), faults)
        wrong = {fault.place.partition("[")[0] for fault in faults}
        if "have.temperature" not in wrong:
            self._check_liquids(() if "have.reagents" in wrong else self.reagents, faults)
        if not len(faults):
            object.__setattr__(self, "jugs", (self.water, *self.liquids, *self._made_of_oil(faults)))
        faults.check()

    def _check_liquids(self, reagents: Iterable[Reagent], faults: Faults) -> None:
        for source in reagents:
            try:
                _ = source.fraction
                source.model.check_temperature(self.temperature)
            except ResinidError as error:
                faults.add(place_of("bench", str(source)), str(error))
        try:
            # As "water" is read at the door, so that a jug written down and this one are the same.
            object.__setattr__(self, "water", pure_water(self.temperature, u_temperature=ROOM.u))
        except ResinidError as error:
            faults.add("have.temperature", str(error))

    def _made_of_oil(self, faults: Faults) -> list[Liquid]:
        made: list[Liquid] = []
        for name in self.oils:
            try:
                made.append(kitchen_oil(name, self.temperature, u_temperature=ROOM.u))
            except ResinidError as error:
                faults.add(place_of("bench", name), str(error))
        return made

    def _check_numbers(self, faults: Faults) -> None:
        for name, unit, needed in _NUMBERS:
            value = getattr(self, name)
            if value is None and not needed:
                continue
            least = -math.inf if name == "temperature" else 0.0
            # Held as plain floats, whatever kind of number was given.
            number = as_float(value)
            if least < number < math.inf:
                object.__setattr__(self, name, number)
            else:
                kind = "number" if name == "temperature" else "positive number"
                faults.add(f"have.{name}", f"is {safe_repr(value, 50)}; give a {kind} [{unit}], or leave it out")

    def _hold(self, name: str, make: Callable[[], object], faults: Faults) -> None:
        try:
            object.__setattr__(self, name, make())
        except InputError as error:
            faults.extend(error.faults)

    def describe(self) -> str:
        """Say in one line what is at hand."""
        parts = ["water", *(str(source) for source in self.reagents), *(jug.label for jug in self.jugs[1:])]
        parts += [f"scale {self.scale:g} g"] if self.scale else []
        parts += ["sinker"] if self.sinker else []
        parts += [f"cylinder {self.cylinder:g} mL"] if self.cylinder else []
        parts += ["strip"] if self.strip else []
        parts += [f"hot plate {self.hot_plate:g} degC"] if self.hot_plate else []
        parts += self.tools
        return ", ".join(parts)


_NUMBERS: Final = (
    ("scale", "g", False),
    ("cylinder", "mL", False),
    ("hot_plate", "degC", False),
    ("volume", "cm3", True),
    ("temperature", "degC", True),
)
"""Fields that hold a number: the unit it is in, and whether there must be one."""

_LISTED: Final[tuple[tuple[str, type, str], ...]] = (
    ("reagents", Reagent, "resinid.Reagent('table salt')"),
    ("liquids", Liquid, "resinid.parse_liquid('ethanol 40 %v/v')"),
)
"""Fields that hold a list: of what, and how to make one."""


def _as_listed(place: str, given: Iterable[object], kind: type, how: str) -> tuple[object, ...]:
    listed_ = as_tuple(place, given, how)
    wrong = [(index, each) for index, each in enumerate(listed_, start=1) if not _is_one(each, kind)]
    if wrong:
        raise InputError(
            [Fault(f"{place}[{index}]", f"is {safe_repr(each)}; make it with {how}") for index, each in wrong]
        )
    return listed_


def _is_one(each: object, kind: type) -> bool:
    if isinstance(each, Reagent):
        name, strength = cast("tuple[object, object]", (each.name, each.strength))
        return kind is Reagent and isinstance(name, str) and (strength is None or is_real(strength))
    return isinstance(each, kind)
