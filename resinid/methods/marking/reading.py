"""From what a person read on a piece to what it names: ``"5"``, ``"HDPE 2"``, ``">PP-T20<"``.

A mark by ISO 11469 stands between ``>`` and ``<``: symbols of ISO 1043-1 joined by ``+``, then
after a hyphen fillers by ISO 1043-2 (a letter for the material, one for its form, the
mass per cent), plasticisers (ISO 1043-3) and flame retardants (ISO 1043-4, ``FR``).
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

from resinid.door.fields import close_to
from resinid.errors import Fault, InputError, shown
from resinid.methods.marking.symbols import ALIASES, ANOTHER, CODES, UNMARKED, agree

__all__ = ["ADDITIONS", "MATERIALS", "SPLIT", "Mark", "MarkRule", "parse_mark"]

SPLIT: Final = 25.0
"""[mass %] Loads below and from here on are told apart."""

MATERIALS: Final = ("glass", "mineral", "other")
"""Kinds of filler that are told apart."""

ADDITIONS: Final = (
    "",
    *(f"{material} {load}" for material in MATERIALS for load in ("low", "high")),
    "flame retardant",
)
"""What a mark may say besides the plastic: nothing, a filler by kind and load, a flame retardant."""

_KIND: Final = dict.fromkeys("G", "glass") | dict.fromkeys("TKMEPQD", "mineral")
_FILLER: Final = re.compile(r"([ABCDEGKLMNPQRSTWXZ])([BCDFGHKLMNPRSTVWXYZ])?\D{0,2}?(\d{1,2})?")
_SPECIAL: Final = re.compile(r"HI|[BCEHIPRUX]|IM?\d*|REC\d*|UV|FR.*")
_PLASTICISER: Final = re.compile(r"^(PVC-P|PVC|PVCP)\([A-Z0-9+]+\)$")
_UNHYPHENED: Final = re.compile(r"(.+?)-?((?:[CGKMT][BDFX]?|[KMT])\d\d)")
_RECYCLED: Final = re.compile(r"-?\(REC\d*\)")
_CODE: Final = re.compile(r"0?([1-7])")
_ARROWS: Final = {chr(0x2673 + number): f" {number + 1} " for number in range(7)}
_NOISE: Final = re.compile(r"[♲♻△▲∆◁#\"'“”\[\]{}:]|\b(?:CODE|NO|NUMBER|TRIANGLE|MARK|MARKED)\b\.?")
_OTHER: Final = re.compile(r"\b(?:OTHER|O)\b")
_WAYS: Final = (
    (re.compile(r"(?:0?(?P<code>[1-7]) ?)?>(?P<body>[^<>]+)<"), True),
    (re.compile(r">(?P<body>[^<>]+)< ?0?(?P<code>[1-7])"), True),
    (re.compile(r"(?P<body>[^<>]+)"), False),
    (re.compile(r"0?(?P<code>[1-7])[\s-]*(?P<body>\D.*)"), False),
    (re.compile(r"(?P<body>.*\S)[\s-]*0?(?P<code>[1-7])"), False),
)
"""Ways to write letters, with a number or without; and whether they stand between > and <."""

_NONE: Final = {"", "-", "NONE", "NOTHING", "UNMARKED", "NO MARK", "BLANK", "NOT MARKED"}
_LONGEST: Final = 60


@dataclass(frozen=True, slots=True)
class Mark:
    """A mark as it was read.

    Parameters
    ----------
    text : str
        As it is written here: ``"5"``, ``"PP"``, ``">PP-T20<"``, ``"unmarked"``.
    names : tuple of str
        What it may be: codes ``"1"`` to ``"7"``, symbols, ``"another plastic"`` or ``"unmarked"``.
    additions : tuple of str
        Of :data:`ADDITIONS`, those it may state; all of them where it says nothing,
        since fillers are often left out.
    """

    text: str
    names: tuple[str, ...]
    additions: tuple[str, ...] = ADDITIONS


@dataclass(frozen=True, slots=True)
class MarkRule:
    """How a field that holds a mark is read and written."""

    def parse(self, value: object) -> Mark:
        """Return the mark that was written; a whole number is a resin code."""
        if isinstance(value, (int, float)) and not isinstance(value, bool) and value == int(value):
            value = str(int(value))
        if isinstance(value, str) and len(value) <= _LONGEST:
            return parse_mark(value)
        raise _fault(f"{shown(value, 80)} is no mark")

    def dump(self, value: Mark) -> object:
        """Return its text."""
        return value.text

    def expects(self) -> str:
        """Say what to write."""
        return "what is moulded on the piece, for example '5', 'HDPE 2', '>PP-T20<' or 'unmarked'"


def parse_mark(text: str) -> Mark:
    """Return the mark that was written.

    Parameters
    ----------
    text : str
        A resin code, a symbol, both, a mark by ISO 11469, or ``"unmarked"``.

    Returns
    -------
    Mark

    Raises
    ------
    InputError
        It is none, or its number and its letters contradict each other.

    Examples
    --------
    >>> parse_mark("HDPE 2").names, parse_mark("5").names, parse_mark("PP").names
    (('2',), ('5',), ('PP', '5'))
    >>> parse_mark(">PP-T20<").additions
    ('mineral low',)
    """
    plain = _plain(text)
    if text.strip() and plain in _NONE:
        return Mark(UNMARKED, (UNMARKED,))
    # Brackets and a triangle drawn as < and > about a lone number say nothing more.
    alone = _CODE.fullmatch(_OTHER.sub("", plain).strip("<>() "))
    if alone:
        return Mark(alone[1], (alone[1],))
    for pattern, strict in _WAYS:
        match = pattern.fullmatch(plain)
        found = _symbol(match["body"].strip(" -")) if match else None
        if match and found is not None:
            return _made(text, found, match.groupdict().get("code"), strict=strict)
    near = close_to(plain, ALIASES)
    raise _fault(f"{text!r} is no resin code or material symbol known here; write '5', 'HDPE 2' or '>PP-T20<'{near}")


def _plain(text: str) -> str:
    upper = text.upper()
    for arrow, number in _ARROWS.items():
        upper = upper.replace(arrow, number)
    found = " ".join(_NOISE.sub(" ", upper).split())
    return "7" if found in {"OTHER", "O"} else found


def _made(text: str, found: tuple[str, str, tuple[str, ...]], code: str | None, *, strict: bool) -> Mark:
    written, symbol, additions = found
    if code is not None and symbol != ANOTHER and not agree(code, symbol):
        raise _fault(
            f"{text!r} contradicts itself: {code} stands for {CODES[code]}, and the letters say {symbol}; "
            "look again, and leave the mark out where it is so moulded"
        )
    if code is not None and CODES[code] == symbol:
        # By ASTM D7611 the letters belong to the number.
        return Mark(f"{code} {symbol}", (code,), additions)
    if strict or code is not None:
        return Mark(f">{written}<", (symbol,), additions)
    codes = tuple(number for number, name in CODES.items() if name == symbol)
    return Mark(written, (symbol, *codes), additions)


def _symbol(body: str) -> tuple[str, str, tuple[str, ...]] | None:
    """Return text, symbol and additions of a mark's letters, None where they are not known."""
    tidy = body.strip().replace("_", "-").replace(",", "+")
    # People write "PA 6", "PP T20", "PA 6 GF30" and "PA6GF30" for "PA6", "PP-T20" and so on.
    ways = (
        tidy.replace(" ", ""),
        tidy.replace(" ", "-"),
        tidy.replace(" ", "", 1).replace(" ", "-"),
        _UNHYPHENED.sub(r"\1-\2", tidy.replace(" ", "")),
    )
    return next((found for way in dict.fromkeys(ways) if (found := _parts(way)) is not None), None)


def _parts(written: str) -> tuple[str, str, tuple[str, ...]] | None:
    joined = _PLASTICISER.sub("PVC-P", _RECYCLED.sub("", written))
    parts = re.split(r"-(?![^(]*\))", joined)
    for count in range(len(parts), 0, -1):
        base = "-".join(parts[:count])
        symbol = ALIASES.get(base)
        if symbol is None and "+" in base:
            symbol = _blend(base)
        if symbol is not None:
            stated = _additions("-".join(parts[count:]))
            return None if stated is None else (joined, symbol, stated)
    return None


def _blend(base: str) -> str | None:
    known = {ALIASES.get(part) for part in re.sub(r"\(.*?\)", "", base).split("+")}
    if None in known:
        return None
    # A mixture that no row speaks for is another plastic.
    return {frozenset({"PC", "ABS"}): "PC+ABS", frozenset({"PPE", "PS"}): "PPE+PS"}.get(
        frozenset(str(part) for part in known), ANOTHER
    )


def _additions(text: str) -> tuple[str, ...] | None:
    """Return what a mark may state besides the plastic, None where that is not understood."""
    found: tuple[str, ...] = ()
    flame = False
    for part in filter(None, re.split(r"[-+]", text.replace("(", "").replace(")", ""))):
        if part.startswith("FR"):
            flame = True
        elif (match := _FILLER.fullmatch(part)) and (match[2] or match[3]):
            # The first filler named is the main one.
            found = found or _loads(_KIND.get(match[1], "other"), match[3])
        elif not _SPECIAL.fullmatch(part):
            return None
    return found or (("flame retardant",) if flame else ADDITIONS)


def _loads(kind: str, load: str | None) -> tuple[str, ...]:
    if load is None:
        return (f"{kind} low", f"{kind} high")
    return (f"{kind} {'low' if float(load) < SPLIT else 'high'}",)


def _fault(message: str) -> InputError:
    return InputError([Fault("", message)])
