"""The bench as a person writes it: a list of what is at hand, separated by commas."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from resinid.errors import LONGEST, Fault, Faults, InputError, ResinidError, safe_repr
from resinid.io.close_words import did_you_mean
from resinid.io.liquid_parser import ROOM, parse_liquid
from resinid.io.reading import Reading, read
from resinid.liquids.catalogue import oil_of
from resinid.liquids.mixing import Reagent
from resinid.methods.bench import Bench
from resinid.methods.registry import listed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from resinid.liquids.liquid import Liquid
    from resinid.methods.contract import Method

__all__ = ["as_bench", "parse_bench", "parse_reagent"]

_REAGENT: Final = re.compile(r"\s*(?P<name>\S.*?)(?:\s+(?P<strength>\d+\.?\d*)\s*%\s*(?:v/v)?)?\s*")

_MEASURED: Final = {
    "scale": ("scale", "mass"),
    "cylinder": ("cylinder", "volume"),
    "piece": ("volume", "volume"),
    "bath": ("temperature", "temperature"),
}
"""Items with a number: the field it goes to, and its quantity."""


def parse_reagent(text: str) -> Reagent:
    """Return the reagent that was written, such as ``"table salt"`` or ``"ethanol 96 %v/v"``.

    Raises
    ------
    InputError
        It is none.
    """
    match = _REAGENT.fullmatch(text) if len(text) <= LONGEST else None
    if match is None:
        raise InputError(
            [Fault("solute", f"{safe_repr(text)} is not a reagent; write 'table salt' or 'ethanol 96 %v/v'")]
        )
    found = Reagent(match["name"], float(match["strength"]) if match["strength"] else None)
    try:
        _ = found.fraction
    except InputError:
        raise
    except ResinidError as error:
        raise InputError([Fault("solute", str(error))]) from error
    return found


def parse_bench(text: str, methods: Iterable[Method] = ()) -> Bench:
    """Return what a list separated by commas names; what it does not name is not at hand.

    Parameters
    ----------
    text : str
        Reagents (``table salt``, ``ethanol 96 %v/v``, ``CaCl2.2H2O``), kitchen oils
        (``sunflower oil``), ``scale 0.1 g``,
        ``cylinder 1 mL``, ``sinker``, ``strip``, ``hot plate 250 degC``,
        ``bath 18 degC`` for their temperature, ``piece 5 mL`` for the size of the
        piece, and jugs that stand ready as ``jug ethanol 40 %v/v`` or
        ``jug 1.071 g/cm3``, as warm as the baths where none says ``at 20 degC`` after its
        name; and tools of the methods in use, such as ``acetone``.
    methods : iterable of Method, optional
        Methods to use besides the installed ones.

    Raises
    ------
    InputError
        Every item that is not understood.

    Examples
    --------
    >>> parse_bench("table salt, ethanol 96 %v/v, scale 0.01 g, strip").describe()
    'water, table salt, ethanol 96 %v/v, scale 0.01 g, strip'
    """
    faults = Faults()
    made: dict[str, object] = {"scale": None, "sinker": False, "strip": False, "hot_plate": None}
    reagents: list[Reagent] = []
    liquids: list[Liquid] = []
    tools: list[str] = []
    known = frozenset(tool for entry in listed(methods) for tool in entry.method.tools)
    items = [part for part in (part.strip() for part in text.split(",")) if part]
    oils = tuple(item for item in items if oil_of(item) is not None)
    # Jugs last, for by then it is known how warm the baths are.
    for item in sorted((item for item in items if item not in oils), key=lambda item: item.startswith("jug ")):
        try:
            name, _, rest = item.partition(" ")
            if item in known:
                tools.append(item)
            elif item in {"sinker", "strip"}:
                made[item] = True
            elif item.startswith("hot plate"):
                made["hot_plate"] = read(item.removeprefix("hot plate").strip() or "250 degC", "temperature").value
            elif name in _MEASURED:
                key, quantity = _MEASURED[name]
                made[key] = read(rest, quantity).value
            elif name == "jug":
                liquids.append(_jug(rest, made.get("temperature")))
            elif item != "water":
                reagents.append(parse_reagent(item))
        except InputError as error:
            words = (*_MEASURED, "sinker", "strip", "hot plate", "jug", *sorted(known))
            other = name not in {*_MEASURED, "hot", "jug"}
            for fault in error.faults:
                more = f"; nor is it one of {', '.join(words)}{did_you_mean(item, words) or did_you_mean(name, words)}"
                faults.add(f"have.{item:.40}", fault.message + (more if other else ""))
    faults.check()
    make: Callable[..., Bench] = Bench
    return make(reagents=tuple(reagents), liquids=tuple(liquids), tools=tuple(tools), oils=oils, **made)


def as_bench(given: object, methods: Iterable[Method] = ()) -> Bench:
    """Return what is at hand: as it is, read from a text, or the usual bench where None.

    Raises
    ------
    InputError
        It is something else, or an item of the text is not understood.

    Examples
    --------
    >>> as_bench("strip").strip, as_bench(None).strip
    (True, True)
    """
    if given is None or isinstance(given, Bench):
        return given or Bench()
    if not isinstance(given, str):
        what = "is neither a resinid.Bench nor a text; write for example bench = 'table salt, scale 0.1 g, strip'"
        raise InputError([Fault("bench", f"{safe_repr(given)} {what}")])
    return parse_bench(given, methods)


def _jug(text: str, at: object) -> Liquid:
    """Return a jug, at the temperature of the baths where it states none: as uncertain as that of the water."""
    warm = Reading(at, ROOM.u) if isinstance(at, float) else ROOM
    if re.match(r"\s*[\d.]", text):
        return parse_liquid({"density": text, "label": f"jug of {text}"}, at=warm)
    return parse_liquid(text, at=warm)
