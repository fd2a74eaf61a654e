"""A piece written down in a TOML or JSON document: its observations, jugs and prior."""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import dataclass
from os import PathLike
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from resinid.errors import Fault, Faults, InputError, safe_repr
from resinid.io.arguments import check_text, unplaced
from resinid.io.close_words import did_you_mean, unknown_keys
from resinid.io.liquid_parser import parse_liquid

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.liquids import Liquid

__all__ = [
    "Document",
    "check_format",
    "check_kind_of_document",
    "is_bag",
    "named_liquids",
    "parse_dangers",
    "parse_observations",
    "parsed",
    "read_document",
]

FORMAT: Final = 2
"""Version of the documents written now. Those that state none are read as if they stated this or an older one."""

KEYS: Final = ("format", "piece", "prior", "allow", "liquid", "observation")
BAG_KEYS: Final = frozenset({"batch", "flakes", "marked"})
"""Keys that only the document of a bag has; its pieces are also a list of tables."""

RENAMED: Final = MappingProxyType({"mishap": "outlier"})
"""Fields of observations that documents of format 1 called something else."""

LONGEST: Final = 1_000_000
"""[characters] A longer document is refused."""

MOST_KEYS: Final = 1000
"""A document with more keys at its top is refused."""

MOST_JUGS: Final = 100
"""More named liquids than this in one document are taken for a slip."""

_DEEP: Final = re.compile(r"""(?<![\w-])(?:(?:[\w-]+|"(?:[^"\\\n]|\\.)*+"|'[^'\n]*+')[ \t]*\.[ \t]*){50}""")
"""A dotted TOML key of more than fifty parts."""


@dataclass(frozen=True, slots=True)
class Document:
    """What a document says, its jugs put in where observations name them.

    Parameters
    ----------
    piece : str
    prior : str or mapping
        As :func:`resinid.identify` takes it.
    observations : tuple of mapping
        As :func:`resinid.identify` takes them.
    allow : tuple of str
        Dangers that the person who wrote it allows.
    """

    piece: str
    prior: str | Mapping[str, float]
    observations: tuple[Mapping[str, object], ...]
    allow: tuple[str, ...] = ()


def read_document(text: str | PathLike[str]) -> Document:
    r"""Read a document.

    Parameters
    ----------
    text : str or path
        A path, or text: JSON where it starts with a brace, else TOML. Keys: ``observation``, a list
        of tables each with the key ``test`` and that test's readings; optionally
        ``format`` (1 or 2), ``piece``, ``prior``, ``allow`` (dangers, such as ``["burn"]``), and ``liquid``, a table
        of named jugs that observations may refer to.

    Raises
    ------
    InputError
        Every fault of the document, each with its place; of a bag only that it is one.

    Examples
    --------
    >>> read_document('piece = "cap"\n[[observation]]\ntest = "snap"\noutcome = "creases"').piece
    'cap'
    """
    data = parsed(text)
    check_kind_of_document(data, bag=False)
    faults = Faults()
    faults.extend(unknown_keys(data, KEYS))
    check_format(data, faults)
    piece = data.get("piece", "")
    if not isinstance(piece, str):
        faults.add("piece", "is not a text")
    prior = data.get("prior", "default")
    if not isinstance(prior, (str, dict)):
        faults.add("prior", "is neither a name nor a table of weights")
    allow = parse_dangers(data.get("allow", []), faults)
    jugs = named_liquids(data.get("liquid", {}), faults)
    observations = parse_observations(data.get("observation"), jugs, faults)
    faults.check()
    return Document(piece, prior, observations, allow)


def check_kind_of_document(data: Mapping[str, object], *, bag: bool) -> None:
    """Raise InputError where a bag's document is read as one piece's, or the other way round."""
    like_a_bag = bool(BAG_KEYS & set(data)) or isinstance(data.get("piece"), list)
    if not bag and is_bag(data):
        raise unplaced("this is a bag and not one piece; use batch, together or plan")
    if bag and not like_a_bag and "observation" in data:
        raise unplaced("this is one piece and not a bag; use identify, next or sheet")


def is_bag(data: Mapping[str, object]) -> bool:
    """Return whether a document is that of a bag.

    Examples
    --------
    >>> is_bag({"marked": {"PE-HD": 60}}), is_bag({"piece": "cap", "observation": []})
    (True, False)
    """
    like_a_bag = bool(BAG_KEYS & set(data)) or isinstance(data.get("piece"), list)
    return like_a_bag and "observation" not in data


def check_format(data: Mapping[str, object], faults: Faults) -> None:
    """Add to ``faults`` where a document states a format that this version does not read."""
    stated = data.get("format", FORMAT)
    if isinstance(stated, bool) or stated not in range(1, FORMAT + 1):
        faults.add("format", f"is {safe_repr(stated, 50)}; this version reads 1 to {FORMAT}")


_PATH: Final = re.compile(r"[^\n{=]{1,4000}\.(?:toml|json)", re.IGNORECASE)


def parsed(text: str | PathLike[str], longest: int = LONGEST) -> dict[str, Any]:
    """Return what a TOML or JSON text, or the file of a path, says; raise InputError where it is neither, or too much.

    A text without a line's end that ends in ``.toml`` or ``.json`` is a path.
    """
    if isinstance(text, PathLike) or _PATH.fullmatch(str(text)):
        text = _content(Path(text), longest)
    check_text("", text)
    if len(text) > longest:
        raise InputError([Fault("", f"is longer than {longest} characters; split it")])
    if not text.strip():
        raise InputError([Fault("", "is empty; write down what was observed")])
    is_json = text.lstrip("\ufeff \t\r\n").startswith("{")
    try:
        if is_json:
            data = json.loads(text.lstrip("\ufeff"), object_pairs_hook=_unique, parse_constant=_no_constant)
            json.dumps(data, ensure_ascii=False).encode()  # no half of a surrogate pair can be written down again
        else:
            data = _toml(text.lstrip("\ufeff"))
    except InputError:
        raise
    except (ValueError, RecursionError) as error:
        kind = "JSON" if is_json else "TOML"
        raise InputError([Fault("", f"is not {kind}: {str(error)[:200] or 'nested too deeply'}")]) from error
    if len(data) > MOST_KEYS:
        raise InputError([Fault("", f"has {len(data)} keys; at most {MOST_KEYS} are read")])
    return dict(data)


def _content(path: Path, longest: int) -> str:
    """Return the text of a file, as far as it is read; a pipe would be waited for."""
    place = safe_repr(str(path), 200)
    try:
        if path.exists() and not path.is_file():
            raise IsADirectoryError(0, "it is no plain file")
        with path.open(encoding="utf-8-sig") as file:
            return file.read(longest + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or "no text in UTF-8"
        raise InputError([Fault(place, f"cannot be read: {why}")]) from error


def _toml(text: str) -> dict[str, Any]:
    if _DEEP.search(text):
        raise RecursionError  # the reader's time would grow with the square of the depth
    found = tomllib.loads(text)
    try:
        repr(found)
    except ValueError as error:  # in base sixteen a number may have more digits than Python writes
        raise InputError(
            [Fault("", "holds a number of thousands of digits; write readings as texts with units")]
        ) from error
    return found


def _unique(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for key, value in pairs:
        if key in out:
            raise InputError([Fault(key[:100], "is there twice; keep one")])
        out[key] = value
    return out


def _no_constant(name: str) -> float:
    raise InputError([Fault("", f"holds {name}, which is no number; write readings as texts with units")])


def parse_dangers(given: object, faults: Faults) -> tuple[str, ...]:
    """Return a list of dangers allowed; add what is wrong to ``faults``."""
    if isinstance(given, (list, tuple)) and all(isinstance(danger, str) for danger in given):
        return tuple(given)
    faults.add("allow", "is not a list of dangers, such as ['burn']")
    return ()


def named_liquids(given: object, faults: Faults) -> dict[str, Liquid]:
    """Return the jugs of a document by name; add what is wrong to ``faults``."""
    if not isinstance(given, dict):
        faults.add("liquid", "is not a table of named jugs")
        return {}
    if len(given) > MOST_JUGS:
        faults.add("liquid", f"names {len(given)} jugs; at most {MOST_JUGS} are read")
        return {}
    jugs: dict[str, Liquid] = {}
    for name, entry in given.items():
        labelled = {"label": name, **entry} if isinstance(entry, dict) else entry
        try:
            jugs[name] = parse_liquid(labelled)
        except InputError as error:
            faults.extend(error.faults, under=f"liquid.{name[:100]}")
    return jugs


def parse_observations(given: object, jugs: Mapping[str, Liquid], faults: Faults) -> tuple[Mapping[str, object], ...]:
    """Return a list of observations with the jugs they name put in; add what is wrong to ``faults``."""
    if given is None:
        faults.add("observation", "is missing; write at least one [[observation]] with the key test")
        return ()
    if not isinstance(given, list):
        faults.add("observation", "is not a list; in TOML write [[observation]] with two brackets")
        return ()
    out: list[Mapping[str, object]] = []
    for index, entry in enumerate(given, start=1):
        if not isinstance(entry, dict):
            faults.add(f"observation[{index}]", "is not a table with the key test")
            continue
        entry = {RENAMED.get(key, key): value for key, value in entry.items()}  # noqa: PLW2901 - the same, as it is called now
        named = entry.get("liquid")
        if isinstance(named, str) and named not in jugs and did_you_mean(named, jugs):
            try:
                parse_liquid(named)
            except InputError:  # neither a liquid nor a jug, but nearly one of the jugs
                place = f"observation[{index}].liquid"
                faults.add(
                    place,
                    f"{safe_repr(named)} is neither a jug of this document nor a liquid{did_you_mean(named, jugs)}",
                )
                continue
        out.append({**entry, "liquid": jugs[named]} if isinstance(named, str) and named in jugs else entry)
    return tuple(out)
