"""From what a person read on a piece to what it names: ``"5"``, ``"HDPE 2"``, ``">PP-T20<"``.

A mark by ISO 11469 stands between ``>`` and ``<``; its letters are read in
:mod:`resinid.methods.marking.letters`.
"""

from __future__ import annotations

import re
import unicodedata
from dataclasses import dataclass, replace
from typing import Final

from resinid.errors import safe_repr
from resinid.io.arguments import unplaced
from resinid.io.close_words import did_you_mean
from resinid.methods.marking.forbidden import reasons_to_forbid
from resinid.methods.marking.letters import ADDITIONS, Letters, read_letters
from resinid.methods.marking.symbols import ALIASES, ANOTHER, CODES, SYMBOLS, UNMARKED, agree

__all__ = ["Mark", "MarkRule", "parse_mark"]

PVC_CODE: Final = "3"
"""The number that by itself names what must not be heated."""

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
_ANY: Final = (*CODES, *SYMBOLS, ANOTHER)
"""What a mark may name that has a warning and no plastic."""


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
    forbids : tuple of str
        Why it forbids heating, whatever else is found.
    not_understood : str
        The words of it that are not understood.
    """

    text: str
    names: tuple[str, ...]
    additions: tuple[str, ...] = ADDITIONS
    forbids: tuple[str, ...] = ()
    not_understood: str = ""


@dataclass(frozen=True, slots=True)
class MarkRule:
    """How a field that holds a mark is read and written."""

    def parse(self, value: object) -> Mark:
        """Return the mark that was written; a whole number is a resin code."""
        if isinstance(value, (int, float)) and not isinstance(value, bool) and 0 <= value < 1000 and value % 1 == 0:
            value = str(int(value))
        if isinstance(value, str) and len(value) <= _LONGEST:
            mark = parse_mark(value)
            if len(mark.text) <= _LONGEST:
                return mark
        raise unplaced(f"{safe_repr(value, 80)} is no mark")

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
    >>> parse_mark(">PP-QQ<").not_understood
    'QQ'
    """
    plain = _plain(text)
    if text.strip() and plain in _NONE:
        return Mark(UNMARKED, (UNMARKED,))
    # Brackets and a triangle drawn as < and > about a lone number say nothing more.
    alone = _CODE.fullmatch(_OTHER.sub("", plain).strip("<>() "))
    if alone:
        return _with_code(Mark(alone[1], (alone[1],)), alone[1])
    ways = [(letters, code, strict) for pattern, strict in _WAYS for letters, code in _ways_read(pattern, plain)]
    if not ways:
        # More than ISO 11469 puts between its brackets stands about them, such as ">PP< V-0".
        whole = " ".join(plain.replace("<", " ").replace(">", " ").split())
        ways = [(letters, code, strict) for pattern, strict in _WAYS for letters, code in _ways_read(pattern, whole)]
    if ways and plain.isprintable():
        # Of several ways the one that leaves least over, the first of such.
        letters, code, strict = min(ways, key=lambda way: len(way[0].not_understood))
        return _made(text, letters, code, strict=strict)
    near = did_you_mean(plain, ALIASES)
    raise unplaced(f"{text!r} is no resin code or material symbol known here; write '5', 'HDPE 2' or '>PP-T20<'{near}")


def _ways_read(pattern: re.Pattern[str], plain: str) -> list[tuple[Letters, str | None]]:
    match = pattern.fullmatch(plain)
    letters = read_letters(match["body"]) if match else None
    if match is None or letters is None:
        return []
    code = match.groupdict().get("code")
    # Without a plastic there must be a number, or a warning.
    return [(letters, code)] if letters.symbol or letters.forbids or code else []


def _plain(text: str) -> str:
    upper = unicodedata.normalize("NFKC", text).upper()
    for arrow, number in _ARROWS.items():
        upper = upper.replace(arrow, number)
    found = " ".join(_NOISE.sub(" ", upper).split())
    return "7" if found in {"OTHER", "O"} else found


def _made(text: str, letters: Letters, code: str | None, *, strict: bool) -> Mark:
    symbol, said = letters.symbol, (letters.additions, letters.forbids, letters.not_understood)
    several = code == "7" and re.search(r"[+/]", letters.text)
    if code is not None and symbol not in {"", ANOTHER} and not (agree(code, symbol) or several):
        stop = "do not heat it" if letters.forbids or code == PVC_CODE else "leave the mark out where it is so moulded"
        raise unplaced(
            f"{text!r} contradicts itself: {code} stands for {CODES[code]}, and the letters say {symbol}; "
            f"look again, and {stop}"
        )
    if code is not None and symbol in {"", CODES[code]}:
        # By ASTM D7611 the letters belong to the number.
        return _with_code(Mark(f"{code} {letters.text}", (code,), *said), code)
    if strict or code is not None:
        # Of a number that another plastic stands beside only a warning is kept.
        kept = f"{code} " if code == PVC_CODE else ""
        return _with_code(Mark(f"{kept}>{letters.text}<", (symbol,) if symbol else _ANY, *said), code)
    codes = tuple(number for number, name in CODES.items() if name == symbol)
    return Mark(letters.text, (symbol, *codes) if symbol else _ANY, *said)


def _with_code(mark: Mark, code: str | None) -> Mark:
    """Return the mark, with what its number says of heating."""
    if code != PVC_CODE:
        return mark
    return replace(mark, forbids=tuple(dict.fromkeys([*mark.forbids, *reasons_to_forbid((CODES[PVC_CODE],))])))
