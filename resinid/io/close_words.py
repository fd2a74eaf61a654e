"""Which word may be meant: everyday words first, then near misses, and never the opposite of what was written."""

from __future__ import annotations

import difflib
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from resinid.errors import Fault, safe_repr

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = ["did_you_mean", "nearest", "same_word", "unknown_keys"]

_LONGEST: Final = 200
_MOST_STRANGE: Final = 20
"""Unknown keys that are named; of more only the number is told."""

_EVERYDAY: Final = (
    (("swims", "swim", "swam", "floating", "buoyant", "rises", "comes up", "on top", "up"), ("floats",)),
    (("sank", "sunk", "drowns", "drowned", "goes down", "falls", "drops", "at the bottom", "down"), ("sinks",)),
    (("hangs", "drifts", "stays", "in between", "suspended"), ("hovers",)),
    (("transparent", "see-through", "see through", "glassy"), ("clear",)),
    (("milky", "hazy", "frosted", "misty"), ("translucent", "cloudy")),
    (("not see-through", "solid colour"), ("opaque",)),
    (("bendy", "pliable", "bends"), ("flexible",)),
    (("floppy", "droops", "soft"), ("limp", "softens")),
    (("hard", "stiff"), ("rigid",)),
    (("breaks", "shatters", "cracks", "brittle"), ("snaps",)),
    (("folds", "stays folded", "stays bent"), ("creases",)),
    (("elastic", "returns", "jumps back"), ("springs back",)),
    (("greasy", "slippery", "soapy", "oily"), ("waxy",)),
    (("sticky", "gluey"), ("tacky",)),
    (("thin", "watery", "liquid"), ("runny",)),
    (("thick", "pasty"), ("stiff",)),
    (("nothing", "unaffected", "no change"), ("no effect", "unchanged", "none")),
    (("burnt", "blackened", "black"), ("charred",)),
    (("melts away", "goes into solution", "disappears"), ("dissolves",)),
    (("rings", "clinks", "metallic"), ("metallic ring",)),
    (("thud", "thuds"), ("dull",)),
)

_MEANT: Final[Mapping[str, tuple[str, ...]]] = MappingProxyType(
    {word: meant for words, meant in _EVERYDAY for word in words}
)

_NEGATIONS: Final = ("not ", "no ", "non-", "non", "un", "in", "im", "dis")
_ALIKE: Final = 0.8
"""How alike, from 0 to 1, two words are that differ by a slip; difflib's ratio."""

_BEGINS: Final = 3
"""Letters that a word begins with; of near misses one that begins so is likelier meant."""

_STEMS: Final = (
    (("moulding", "moulded", "molding", "molded"), "mould"),
    (("extrusion", "extruded", "extruding"), "extru"),
    (("thermoforming", "thermoformed"), "thermoform"),
)
"""Endings of how a thing is made and how it was made, which say the same."""


def nearest(word: str, names: Iterable[str]) -> str:
    """Return the name that may be meant, in small letters; empty where none is near.

    Examples
    --------
    >>> nearest("flaots", ["floats", "sinks"]), nearest("swims", ["floats", "hovers", "sinks"])
    ('floats', 'floats')
    >>> nearest("marks", ["remarks", "marked"]), nearest("changed", ["charred", "unchanged"])
    ('marked', 'charred')
    """
    written = " ".join(word.lower().split())
    small = [name.lower() for name in names]
    everyday = [name for name in _MEANT.get(written, ()) if name in small]
    if everyday:
        return everyday[0]
    close = difflib.get_close_matches(written, dict.fromkeys(small), n=5)
    close = [name for name in close if not _negates(written, name)]
    close.sort(key=lambda name: not name.startswith(written[:_BEGINS]))  # stable: of equals the more alike comes first
    return close[0] if close else ""


def _negates(one: str, other: str) -> bool:
    """Return whether one word is the other with a negation before it."""
    for longer, shorter in ((one, other), (other, one)):
        for prefix in _NEGATIONS:
            if longer.startswith(prefix) and not shorter.startswith(prefix):
                rest = longer.removeprefix(prefix)
                if difflib.SequenceMatcher(None, rest, shorter).ratio() >= _ALIKE:
                    return True
    return False


def same_word(word: str, names: Iterable[str]) -> str:
    """Return the one name that says the same as a word, in another form of it; empty where none does.

    Examples
    --------
    >>> same_word("injection moulding", ["injection moulded", "film"]), same_word("extruded", ["extrusion"])
    ('injection moulded', 'extrusion')
    >>> same_word("moulded", ["injection moulded", "blow moulded"])
    ''
    """
    found = [name for name in names if _stem(name) == _stem(word)]
    return found[0] if len(found) == 1 else ""


def _stem(word: str) -> str:
    stem = " ".join(word.lower().replace("-", " ").split())
    for endings, short in _STEMS:
        for ending in endings:
            stem = stem.replace(ending, short)
    return stem


def did_you_mean(value: object, names: Iterable[str]) -> str:
    """Return ``"; did you mean ...?"`` for a near miss, else nothing.

    Examples
    --------
    >>> did_you_mean("flaots", ["floats", "sinks"])
    "; did you mean 'floats'?"
    """
    near = nearest(value[:_LONGEST], names) if isinstance(value, str) else ""
    return f"; did you mean {near!r}?" if near else ""


def unknown_keys(
    entries: Iterable[object], known: Iterable[str], why: str = "is not known here; expected"
) -> list[Fault]:
    """Return a fault for each key that is not known; of more than some, only how many there are.

    Examples
    --------
    >>> print(*unknown_keys(["test", "liqiud"], ["test", "liquid"]))
    liqiud: is not known here; expected test, liquid; did you mean 'liquid'?
    """
    names = tuple(known)
    strange = [key for key in entries if key not in names]
    found = [
        Fault(safe_repr(key).strip("'"), f"{why} {', '.join(names)}{did_you_mean(key, names)}")
        for key in strange[:_MOST_STRANGE]
    ]
    if len(strange) > _MOST_STRANGE:
        found.append(Fault("", f"and {len(strange) - _MOST_STRANGE} more keys that are not known"))
    return found
