"""Test liquids as people write them: a name, a recipe, a hydrometer reading, a weighed volume."""

from __future__ import annotations

import functools
import re
from collections.abc import Mapping
from dataclasses import MISSING, dataclass
from typing import TYPE_CHECKING, Any, Final

from resinid.errors import Fault, Faults, InputError, ResinidError, safe_repr
from resinid.io.arguments import input_error, unplaced
from resinid.io.close_words import unknown_keys
from resinid.io.fields import written_with
from resinid.io.reading import DIGIT_TO_U, Reading, read
from resinid.liquids import (
    BASES,
    MODELS,
    SCALES,
    Liquid,
    flash,
    from_hydrometer,
    from_recipe,
    from_weighing,
    kitchen_oil,
    oil_of,
    pure_water,
    reagent,
)

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["liquid_field", "parse_liquid"]

_AMOUNT: Final = re.compile(r"\s*(\d+\.?\d*|\.\d+)\s*(\S.*\S|\S)\s*")
_WRITTEN: Final = re.compile(
    r"\s*(?P<solute>\S.*?)(?:\s+(?P<amount>saturated|(?:\d+\.?\d*|\.\d+)\s*(?:%|g|mL|ml).*?))?(?:\s+at\s+(?P<at>.+))?\s*"
)
_BASIS: Final = {re.sub(r"\s", "", basis).lower(): basis for basis in BASES}
_LONGEST: Final = 200
_HUGE: Final = 1e6

ROOM: Final = Reading(flash.ROOM, flash.U_ROOM)
"""[degC] Temperature of a liquid where none is stated (common practice, no source)."""

SATURATED_U: Final = 0.004
"""Standard uncertainty of the mass fraction of a liquid stirred over undissolved salt, as a
share of it: not quite saturated, and not at one temperature (common practice, no source)."""

EXAMPLES: Final = (
    "'water', 'ethanol 40 %v/v', 'table salt 110 g/kg water at 22 degC', 'table salt saturated' or 'sunflower oil'"
)


def liquid_field(default: Any = MISSING) -> Any:  # noqa: ANN401 - as dataclasses.field is typed
    """Declare a field that holds a :class:`~resinid.liquids.Liquid`."""
    return written_with(_LiquidRule(), default)


@dataclass(frozen=True, slots=True)
class _LiquidRule:
    def parse(self, value: object) -> Liquid:
        return parse_liquid(value)

    def dump(self, value: Liquid) -> object:
        return value.to_dict()

    def expects(self) -> str:
        return f"a liquid, for example {EXAMPLES}"


def parse_liquid(value: object, *, at: Reading = ROOM) -> Liquid:
    """Return the liquid that was written.

    Parameters
    ----------
    value : str, mapping or Liquid
        A text such as ``"water"``, ``"ethanol 40 %v/v"`` or
        ``"table salt 110 g/kg water at 22 degC"``, or a mapping with one of the
        sets of keys ``solute`` and ``amount``; ``density``; ``hydrometer``;
        ``mass`` and ``volume``; each with an optional ``temperature`` and ``label``. A
        ``density`` may come with the temperature ``flash`` above which its vapour can be lit, and
        with ``oily`` if it leaves a film.
    at : Reading, optional
        Its temperature [degC] where none is written.

    Raises
    ------
    InputError
        What was written is no liquid, or its recipe is outside a model's range.

    Examples
    --------
    >>> round(parse_liquid("ethanol 40 %v/v at 20 degC").density, 4)
    0.948
    >>> round(parse_liquid({"hydrometer": "1.070", "temperature": "20 degC"}).density, 3)
    1.07
    """
    if isinstance(value, Liquid):
        return value
    if isinstance(value, str):
        return _from_text(value, at)
    if isinstance(value, Mapping):
        return _from_entries(value, at)
    raise unplaced(f"{safe_repr(value, 200)} is not a liquid; write for example {EXAMPLES}")


@functools.lru_cache(maxsize=256)
def _from_text(text: str, at: Reading) -> Liquid:
    return _from_entries(_entries_of(text), at)


def _entries_of(text: str) -> dict[str, object]:
    match = _WRITTEN.fullmatch(text) if len(text) <= _LONGEST else None
    if match is not None and re.search(r"\d,\d", text):
        raise unplaced(f"{text!r} has a comma; use a point for decimals, for example 'ethanol 40.5 %v/v'")
    if match is None:
        raise unplaced(f"{safe_repr(text, 200)} is not a liquid; write for example {EXAMPLES}")
    named = {"solute": match["solute"], "amount": match["amount"], "temperature": match["at"]}
    return {key: entry for key, entry in named.items() if entry is not None}


def _from_entries(entries: Mapping[str, object], room: Reading) -> Liquid:
    for leading, make, allowed in _WAYS:
        if leading in entries:
            faults = Faults()
            faults.extend(unknown_keys(entries, allowed, f"does not go with {leading}; expected"))
            faults.check()
            try:
                return make({"temperature": room, **entries})
            except InputError:
                raise
            except ResinidError as error:
                raise unplaced(str(error)) from error
    raise unplaced(f"needs one of the keys {', '.join(way[0] for way in _WAYS)}; write for example {EXAMPLES}")


class _Entries:
    """Reads entries one by one; what is wrong with any of them is told together, by :meth:`check`."""

    def __init__(self, entries: Mapping[str, object]) -> None:
        self.entries = entries
        self.faults = Faults()

    def check(self) -> None:
        """Refuse all that was wrong; what was read so far stands for nothing before."""
        self.faults.check()

    def number(self, key: str) -> float | None:
        value = self.entries.get(key)
        if value is None:
            return None
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            self.faults.add(key, f"{safe_repr(value, 200)} is not a number")
        elif not abs(value) < _HUGE:
            self.faults.add(key, "is no share of anything; give a number of per cent")
        else:
            return float(value)
        return None

    def word(self, key: str) -> str:
        value = self.entries.get(key, "")
        if isinstance(value, str) and len(value) <= 5 * _LONGEST:
            return value
        self.faults.add(key, f"{safe_repr(value, 200)} is not a short text")
        return ""

    def reading(self, key: str, name: str) -> Reading:
        if key not in self.entries:
            self.faults.add(key, "is missing")
            return ROOM
        try:
            return read(self.entries[key], name)
        except InputError as error:
            self.faults.extend(error.faults, under=key)
            return ROOM


def _recipe(entries: Mapping[str, object]) -> Liquid:
    given = _Entries(entries)
    solute, label, strength = given.word("solute"), given.word("label"), given.number("strength")
    at = given.reading("temperature", "temperature")
    amount = entries.get("amount")
    if oil_of(entries["solute"]) is not None:
        for key in ("amount", "strength"):
            if key in entries:
                given.faults.add(key, f"does not go with {solute}, which does not mix with water; leave it out")
        given.check()
        return kitchen_oil(solute, at.value, u_temperature=at.u, label=label)
    found, parsed = None, None
    try:
        found = reagent(solute)[0] if isinstance(entries["solute"], str) else None
        if found is MODELS["water"] and "amount" in entries:
            given.faults.add("amount", "does not go with water; name the solute instead")
        elif found is not None and amount != "saturated" and (amount is not None or found.saturation is not None):
            parsed = None if found is MODELS["water"] else _amount(amount)
    except InputError as error:
        given.faults.extend(error.faults)
    except ResinidError as error:
        given.faults.add("", str(error))
    given.check()
    if amount == "saturated":
        return _saturated(solute, at, label)
    if found is MODELS["water"]:
        return pure_water(at.value, u_temperature=at.u, label=label or "water")
    value, basis = parsed or (100.0, "%w/w")
    return from_recipe(
        solute,
        value,
        basis,
        temperature=at.value,
        u_temperature=at.u,
        strength=strength if parsed else None,
        label=label if parsed else label or reagent(solute)[0].name,
    )


def _amount(amount: object) -> tuple[float, str]:
    if amount is None:
        raise input_error(
            "amount",
            f"is missing; write a number and one of {', '.join(BASES)}, for example '110 g/kg water', or 'saturated'",
        )
    match = _AMOUNT.fullmatch(amount) if isinstance(amount, str) and len(amount) <= _LONGEST else None
    basis = _BASIS.get(re.sub(r"\s", "", match[2]).lower()) if match else None
    if match is None or basis is None:
        raise input_error(
            "amount",
            f"{safe_repr(amount, 200)} is not an amount; write a number and one of {', '.join(BASES)}, "
            "for example '110 g/kg water', or 'saturated'",
        )
    return float(match[1]), basis


def _saturated(solute: str, at: Reading, label: str) -> Liquid:
    found, _ = reagent(solute)
    if found.saturation is None:
        raise input_error("amount", f"{found.name} mixes with water in any proportion; write an amount")
    share = 100.0 * found.saturation(at.value)
    return from_recipe(
        found.name,
        share,
        "%w/w",
        temperature=at.value,
        u_temperature=at.u,
        u_amount=SATURATED_U * share,
        label=label or f"saturated {found.name}",
    )


def _known_density(entries: Mapping[str, object]) -> Liquid:
    given = _Entries(entries)
    density = given.reading("density", "density")
    at = given.reading("temperature", "temperature")
    label, how, caution = given.word("label"), given.word("how"), given.word("caution")
    flashes = given.reading("flash", "temperature").value if "flash" in entries else None
    sources, oily = entries.get("sources", ()), entries.get("oily", False)
    if not isinstance(oily, bool):
        given.faults.add("oily", f"{safe_repr(oily, 200)} is not true or false")
    if not isinstance(sources, (list, tuple)) or not all(isinstance(key, str) for key in sources):
        given.faults.add("sources", "is not a list of texts")
        sources = ()
    given.check()
    return Liquid(
        density.value,
        density.u,
        at.value,
        label or f"liquid of {density.value:g} g/cm3",
        how or "density as stated",
        caution,
        tuple(sources),
        flashes,
        oily=oily is True,
    )


def _hydrometer(entries: Mapping[str, object]) -> Liquid:
    given = _Entries(entries)
    at = given.reading("temperature", "temperature")
    scale, label = given.word("scale") or "g/cm3", given.word("label")
    if scale not in SCALES:
        given.faults.add("scale", f"{scale!r} is not one of {', '.join(SCALES)}")
    safe_repr = entries["hydrometer"]
    if isinstance(safe_repr, str) and re.fullmatch(r"\s*\d+\.?\d*\s*", safe_repr):
        decimals = len(safe_repr.strip().partition(".")[2])
        reading, u = float(safe_repr), 10.0**-decimals * DIGIT_TO_U
    else:
        stated = given.reading("hydrometer", "density")
        reading, u, scale = stated.value, stated.u, "g/cm3"
    given.check()
    try:
        return from_hydrometer(reading, u, temperature=at.value, scale=scale, label=label or "liquid by hydrometer")
    except InputError as error:
        named = {"reading": "hydrometer"}
        raise InputError(Fault(named.get(one.place, one.place), one.message) for one in error.faults) from error


def _weighed(entries: Mapping[str, object]) -> Liquid:
    given = _Entries(entries)
    mass, volume = given.reading("mass", "mass"), given.reading("volume", "volume")
    at, label = given.reading("temperature", "temperature"), given.word("label")
    given.check()
    return from_weighing(
        mass.value,
        volume.value,
        mass.u,
        volume.u,
        temperature=at.value,
        label=label or "liquid by weight and volume",
    )


_WAYS: Final[tuple[tuple[str, Callable[[Mapping[str, object]], Liquid], tuple[str, ...]], ...]] = (
    ("solute", _recipe, ("solute", "amount", "strength", "temperature", "label")),
    ("density", _known_density, ("density", "temperature", "label", "how", "caution", "sources", "flash", "oily")),
    ("hydrometer", _hydrometer, ("hydrometer", "scale", "temperature", "label")),
    ("mass", _weighed, ("mass", "volume", "temperature", "label")),
)
"""Ways to state a liquid: the key that tells, what makes it, the keys allowed."""
