"""What the letters of a mark say: plastics, what is added, what forbids heating, what is not understood.

The grammar is that of ISO 11469:2016: plastics by ISO 1043-1 joined by ``+``; behind a hyphen or
in brackets fillers by ISO 1043-2:2011 (a letter for the material, one for the form, the mass per
cent; mixtures as ``(GF25+MD15)``), plasticisers by ISO 1043-3, ``FR`` and its codes by ISO 1043-4,
recycled content as ``(REC30)``. People leave out hyphens and brackets and change the order, so
words are read wherever they stand, if only a plastic comes before all that is not understood.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from typing import Final

from resinid.methods.marking.forbidden import HALOGEN, RETARDANT, reasons_to_forbid, retarded
from resinid.methods.marking.symbols import ALIASES, ANOTHER, LACKING

__all__ = ["ADDITIONS", "MATERIALS", "SPLIT", "Letters", "read_letters"]

SPLIT: Final = 25.0
"""[mass %] Loads below and from here on are told apart."""

MATERIALS: Final = ("glass", "mineral", "other")
"""Kinds of filler that are told apart."""

ADDITIONS: Final = (
    "",
    *(f"{material} {load}" for material in MATERIALS for load in ("low", "high")),
    "flame retardant",
)
"""What a mark may say besides the plastic: nothing, a filler by kind and load, a flame retardant.
Of a filler and a flame retardant the flame retardant is kept."""

_KIND: Final = dict.fromkeys("G", "glass") | dict.fromkeys("TKMEPQ", "mineral")
_END: Final = r"(?![^\s\-+/()])"
_SEPARATOR: Final = re.compile(r"[\s\-+/()]*")
_WORD: Final = re.compile(r"[^\s\-+/()]+")
_FILLER: Final = re.compile(
    r"(?P<before>\d\d\s?|\d)?[LS]?(?:(?P<material>ME|[ABCEGKLMNPQRSTWXZ])(?P<form>CM|F[RD]?|[BCDGHKLMNPRSTVWXYZ])?)"
    r"(?:(?<=ME[A-Z])\((?:AL|CU|FE|ZN|NI|AG|SS)\))?"
    rf"(?:(?P<load>\d{{1,2}})|[\s-]?\(?(?P<apart>\d\d)\)?)?{_END}"
)
_WITHOUT_LOAD: Final = re.compile(r"[TMKW]|(?:[LS]?G|ME|[ABCEKLMNPQRSTWXZ])[BDFX]R?|G(?:CM|[CGLMRSWY])")
"""Fillers that also stand without a load; other letters without one are not understood."""

_CARBON_FIBRE: Final = "CF"
"""Beside a plastic; alone it is cresol-formaldehyde."""

_SPECIAL: Final = re.compile(
    # Special characteristics of ISO 1043-1; impact modifier and recycled content by ISO 11469.
    rf"(?:HI|[EHINOPRUX]|IM\d*|(?:REC|PCR)\d*|UV|HS"
    # Plasticisers of ISO 1043-3 (from memory).
    r"|DBP|DIBP|DEHP|DOP|DINP|DIDP|DEP|DMP|BBP|DOA|DEHA|DOTP|TOTM|ATBC|ESO|ESBO"
    rf"|RECYCLED|RECYCLABLE|HOMO|CO|COPO|(?:HOMO|CO)POLYMER|NATURAL|BLACK|WHITE|GR[EA]Y|RED|BLUE|GREEN|YELLOW|CLEAR|OTHER){_END}"
)
_RUN_TOGETHER: Final = re.compile(r"(?<=[A-Z0-9])(?=[CGKMTW][BDFGX]?\d\d(?!\d))")
_FUSED: Final = re.compile(r"(?<=[A-Z0-9])(?<![^A-Z][GC])FR(?![A-Z])")
_BLENDS: Final = {frozenset({"PC", "ABS"}): "PC+ABS", frozenset({"PPE", "PS"}): "PPE+PS"}


@dataclass(frozen=True, slots=True)
class Letters:
    """What the letters of a mark say.

    Parameters
    ----------
    text : str
        The letters, tidied.
    symbol : str
        The plastic; ``"another plastic"`` also for mixtures that no row speaks for; empty where none is named.
    additions : tuple of str
        Of :data:`ADDITIONS`, those it may state.
    forbids : tuple of str
        Why it forbids heating.
    not_understood : str
        The words of it that are not understood.
    """

    text: str
    symbol: str
    additions: tuple[str, ...] = ADDITIONS
    forbids: tuple[str, ...] = ()
    not_understood: str = ""


@dataclass(slots=True)
class _Found:
    symbols: list[str] = field(default_factory=list)
    plastics: list[str] = field(default_factory=list)
    fillers: list[tuple[str, ...]] = field(default_factory=list)
    flames: list[str] = field(default_factory=list)
    rest: list[str] = field(default_factory=list)


def read_letters(body: str) -> Letters | None:
    """Return what letters say; None where something that is not understood comes before any plastic.

    Examples
    --------
    >>> read_letters("PA66-(GF25+MD15)FR(40)").additions
    ('flame retardant',)
    >>> read_letters("PP-QQ20").not_understood, read_letters("QQ20")
    ('QQ20', None)
    """
    text, at, found = _tidy(body), 0, _Found()
    while (at := _SEPARATOR.match(text, at).end()) < len(text):  # type: ignore[union-attr]
        # A bracket may belong to what is looked for: (CP).
        end = _step(text, at - (text[at - 1 : at] == "("), found) or _step(text, at, found)
        if not end:
            word = _WORD.match(text, at)[0]  # type: ignore[index]
            if cut := _run_together(word):
                text = f"{text[: at + cut]}-{text[at + cut :]}"
                continue
            if not found.symbols:
                return None
            found.rest.append(word)
            end = at + len(word)
        at = end
    return _letters(text, found)


def _run_together(word: str) -> int:
    """Return where a filler begins that is written without a hyphen behind what is known, else 0."""
    cuts = [match.start() for match in _RUN_TOGETHER.finditer(word)]
    return max((cut for cut in cuts if word[:cut] in ALIASES or _FILLER.fullmatch(word[:cut])), default=0)


def _tidy(body: str) -> str:
    text = re.sub(r"\s+", " ", body.replace("_", "-").replace("%", ""))
    text = re.sub(r"\s*[,;&]\s*", "+", text)
    text = re.sub(r"\s*([+/()])\s*", r"\1", re.sub(r"\s*-\s*", "-", text))
    return _FUSED.sub(" FR", f" {text}").strip(" -+/.")


def _step(text: str, at: int, found: _Found) -> int:
    """Read what begins there, if it is understood, and return where it ends, else 0."""
    for pattern, why in ((RETARDANT, retarded), (HALOGEN, _halogen)):
        if match := pattern.match(text, at):
            found.flames.append(why(match[0]))
            return match.end()
    if plastic := _plastic(text, at, bool(found.symbols)):
        end, written, symbol = plastic
        found.symbols.append(symbol)
        found.plastics.append(symbol if symbol != ANOTHER else LACKING.get(written, written))
        return end
    match = _FILLER.match(text, at)
    load = match and (match["load"] or match["apart"] or match["before"])
    if match and (load or _WITHOUT_LOAD.fullmatch(match[0])):
        found.fillers.append(_loads(_KIND.get(match["material"], "other"), load))
        return match.end()
    return match.end() if (match := _SPECIAL.match(text, at)) else 0


def _halogen(written: str) -> str:
    return f"{written.strip('()')} stands for a halogen, which heat drives out as acid fume"


def _plastic(text: str, at: int, beside: bool) -> tuple[int, str, str] | None:  # noqa: FBT001 - because it is private
    """Return where the longest name of a plastic ends that begins there, the name and its symbol."""
    for end in sorted((match.end() for match in _WORD.finditer(text, at)), reverse=True):
        raw = text[at:end]
        # People write "PA 6" for PA6 and "PE HD" for PE-HD.
        for written in (raw, re.sub(r"[\s-](?=\d)", "", raw), raw.replace(" ", "-")):
            if written in ALIASES and not (beside and written == _CARBON_FIBRE):
                return end, written, ALIASES[written]
    return None


def _loads(kind: str, load: str | None) -> tuple[str, ...]:
    if load is None:
        return (f"{kind} low", f"{kind} high")
    return (f"{kind} {'low' if float(load) < SPLIT else 'high'}",)


def _letters(text: str, found: _Found) -> Letters | None:
    if not (found.symbols or found.flames or found.fillers):
        return None
    kinds = frozenset(found.symbols)
    symbol = _BLENDS.get(kinds, ANOTHER) if len(kinds) > 1 else "".join(kinds)
    # A part that is not understood states something: a filler of any kind, or a flame retardant.
    other = ADDITIONS[1:] if found.rest else found.fillers[0] if found.fillers else ADDITIONS
    return Letters(
        text,
        symbol,
        ("flame retardant",) if found.flames else other,
        tuple(dict.fromkeys([*found.flames, *reasons_to_forbid(tuple(found.plastics))])),
        " ".join(found.rest),
    )
