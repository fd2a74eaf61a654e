"""A batch: pieces and flakes sampled from one bag, and what is known of how they were made."""

from __future__ import annotations

import hashlib
import json
from dataclasses import dataclass, fields
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final, TypedDict, cast

from resinid.batches.bag_entries import (
    FACTS,
    MOST_ITEMS,
    PROCESSES,
    WASHES,
    Facts,
    Flakes,
    as_list,
    flake_items,
    gathered,
    numbered_items,
    parse_alike,
    parse_article,
    parse_flakes,
    parse_holds,
    parse_labels,
    parse_marked,
    parse_pieces,
    parse_reading,
    parse_remarks,
    piece_beside,
)
from resinid.errors import Fault, Faults, InputError, safe_repr
from resinid.io.arguments import as_tuple
from resinid.io.build import build, unbuild
from resinid.io.close_words import unknown_keys
from resinid.io.document import (
    FORMAT,
    check_format,
    check_kind_of_document,
    named_liquids,
    parse_dangers,
    parse_observations,
    parsed,
)
from resinid.methods.dangers import allowed_dangers
from resinid.notebook import Answer
from resinid.quantities import QUANTITIES

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from os import PathLike
    from pathlib import Path
    from typing import Unpack

    from resinid.io.reading import Reading
    from resinid.liquids import Liquid
    from resinid.methods.contract import Observation

__all__ = ["Batch", "as_batches", "read_batch"]


class Entries(TypedDict, total=False):
    """What may be written of a batch beside its name, so that type checkers refuse another name."""

    pieces: object
    flakes: object
    marked: object
    process: object
    mfr: object
    mfr_condition: object
    remarks: object
    mass: object
    article: object
    labels: object
    wash: object
    melted_before: object
    holds: object
    allow: object


ENTRIES: Final = tuple(Entries.__annotations__)[3:]
KEYS: Final = ("format", "batch", "piece", "flakes", "marked", *ENTRIES, "liquid")


USUAL: Final = MappingProxyType(
    {
        "process": PROCESSES[0],
        "mfr_condition": "",
        "article": "",
        "wash": WASHES[0],
        "melted_before": 0,
        "holds": None,
    }
)
"""Plain entries of a batch as they are where nothing is stated."""


@dataclass(frozen=True, slots=True)
class Batch(Answer):
    """Pieces sampled from one bag, each with its own observations; counted flakes; and remarks.

    Make one from plain entries with :meth:`of`, or from a document with :func:`read_batch`.

    Parameters
    ----------
    name : str
        What the bag is called. Two batches of equal name and content are one batch.
    pieces : tuple of tuple of Observation
        For each sampled piece, its observations.
    flakes : tuple of Flakes
        Counts of flakes by float and sink.
    marked : tuple of (str, int)
        How many pieces bear the resin code of, or come from goods known to be of, a resin.
    process : str
        One of :data:`PROCESSES`.
    mfr : Reading or None
        Measured melt flow rate [g/10 min].
    mfr_condition : str
        Its temperature and load, such as ``190 C/2.16 kg``; the resin's usual one where empty.
    remarks : tuple of str
        Some of :data:`REMARKS`.
    mass : Reading or None
        Mass of the whole bag [g].
    article : str
        Kind of article, a word of the test ``article``.
    labels : tuple of str
        What sticks to the items or is drawn over them: some of :data:`LABELS`.
    wash : str
        One of :data:`WASHES`.
    melted_before : int
        How often the stock was melted in a workshop before.
    holds : int or None
        How many items the bag holds, where that is known: those looked at are then not taken for a sample only.

    Raises
    ------
    InputError
        Every entry that :meth:`of` refuses.
    """

    name: str
    pieces: tuple[tuple[Observation, ...], ...] = ()
    flakes: tuple[Flakes, ...] = ()
    marked: tuple[tuple[str, int], ...] = ()
    process: str = PROCESSES[0]
    mfr: Reading | None = None
    mfr_condition: str = ""
    remarks: tuple[str, ...] = ()
    mass: Reading | None = None
    article: str = ""
    labels: tuple[str, ...] = ()
    wash: str = WASHES[0]
    melted_before: int = 0
    holds: int | None = None

    def __repr__(self) -> str:
        return f"<Batch {self.name!r} of {self.items} items looked at>"

    @classmethod
    def of(cls, name: str, **entries: Unpack[Entries]) -> Batch:
        """Make a batch from what a person wrote.

        Parameters
        ----------
        name : str
        **entries
            ``pieces``: a list of lists of observations (objects or mappings with the key
            ``test``); ``flakes``: a list of mappings with ``liquid``, ``floated`` and
            ``sank``; ``marked``: counts by resin; ``allow``: dangers allowed, such as ``["burn"]``;
            all others as the attributes, quantities as texts with units.

        Raises
        ------
        InputError
            Every fault, with its place.

        Examples
        --------
        >>> caps = Batch.of("caps", marked={"PE-HD": 12}, process="injection moulding", mass="2.5 kg")
        >>> caps.items
        12
        """
        faults = Faults()
        written: dict[str, object] = {**entries}
        faults.extend(unknown_keys(written, tuple(Entries.__annotations__)))
        _check_name(name, faults)
        allow = gathered(faults, "", allowed_dangers, parse_dangers(written.pop("allow", ()), faults)) or ()
        read = _read(written, allow, faults)
        faults.check()
        return cls(name, **read)

    def __post_init__(self) -> None:
        """Refuse what :meth:`of` would, however the batch was made; hold the rest as that holds it."""
        faults = Faults()
        _check_name(self.name, faults)
        entries = {each.name: getattr(self, each.name) for each in fields(self)[1:]}
        for key, value in _read(entries, (), faults).items():
            object.__setattr__(self, key, value)
        faults.check()

    @property
    def items(self) -> int:
        """How many pieces and flakes were looked at."""
        return numbered_items(self.pieces, self.flakes, self.marked)

    def flake_items(self) -> list[tuple[str, tuple[Observation, ...], int]]:
        """Return what was seen of counted flakes: what to call one of them, its readings, and how many there are."""
        return flake_items(self.flakes)

    def to_dict(self) -> dict[str, Any]:
        """Return the batch as JSON types, from which :func:`read_batch` makes an equal one."""
        data: dict[str, Any] = {"batch": self.name}
        if self.pieces:
            data["piece"] = [{"observation": [{"test": o.test, **unbuild(o)} for o in piece]} for piece in self.pieces]
        dangers = {danger for piece in self.pieces for o in piece if (danger := getattr(o, "only_if_allowed", ""))}
        if dangers:
            data["allow"] = sorted(dangers)
        if self.flakes:
            data["flakes"] = [unbuild(counted) for counted in self.flakes]
        if self.marked:
            data["marked"] = dict(self.marked)
        for key, quantity in (("mfr", "melt_flow_rate"), ("mass", "mass")):
            found: Reading | None = getattr(self, key)
            if found is not None:
                data[key] = {"value": found.value, "u": found.u, "unit": QUANTITIES[quantity].unit}
        data |= {key: list(getattr(self, key)) for key in ("remarks", "labels") if getattr(self, key)}
        data |= {key: getattr(self, key) for key, usual in USUAL.items() if getattr(self, key) != usual}
        return data

    def to_json(self) -> str:
        """Return the batch as the JSON text of a document, from which :func:`read_batch` makes an equal one."""
        return json.dumps({"format": FORMAT, **self.to_dict()}, ensure_ascii=False, allow_nan=False)

    @property
    def stream(self) -> int:
        """A number that depends on name and content only, in whatever order: each batch has draws of its own."""
        return _stream_number(self.to_dict())

    @property
    def content(self) -> int:
        """The same, but of the content only: what is worked out of that must not depend on what a bag is called."""
        return _stream_number({**self.to_dict(), "batch": ""})


def as_batches(given: object, place: str = "batches") -> tuple[Batch, ...]:
    """Return a list of batches.

    Raises
    ------
    InputError
        It is no list, or something in it is no batch.

    Examples
    --------
    >>> [batch.name for batch in as_batches([Batch("caps")])]
    ['caps']
    """
    faults = Faults()
    listed = as_tuple(place, cast("Iterable[object]", given), "caps, pots")
    for index, each in enumerate(listed, start=1):
        if not isinstance(each, Batch):
            faults.add(f"{place}[{index}]", f"{safe_repr(each)} is no batch; make one with resinid.Batch.of")
    faults.check()
    return cast("tuple[Batch, ...]", listed)


def _check_name(name: object, faults: Faults) -> None:
    if not isinstance(name, str) or not name.strip():
        faults.add("batch", f"{safe_repr(name, 50)} is no name; give the bag one")


def _read(entries: Mapping[str, Any], allow: tuple[str, ...], faults: Faults) -> dict[str, Any]:
    """Return what a batch holds beside its name; add what is wrong to ``faults``."""
    facts = gathered(faults, "", build, Facts, {k: entries[k] for k in FACTS if k in entries})
    read: dict[str, Any] = {
        "pieces": parse_pieces(entries.get("pieces", ()), faults, allow),
        "flakes": parse_flakes(entries.get("flakes", ()), faults),
        "marked": parse_marked(entries.get("marked", {}), faults),
        "process": facts.process if facts else PROCESSES[0],
        "mfr": parse_reading(entries.get("mfr"), "melt_flow_rate", "mfr", faults),
        "mfr_condition": facts.mfr_condition if facts else "",
        "remarks": parse_remarks(entries.get("remarks", ()), faults),
        "mass": parse_reading(entries.get("mass"), "mass", "mass", faults),
        "article": parse_article(entries.get("article"), faults),
        "labels": parse_labels(entries.get("labels", ()), faults),
        "wash": facts.wash if facts else WASHES[0],
        "melted_before": facts.melted_before if facts else 0,
        "holds": parse_holds(entries.get("holds"), faults),
    }
    if not len(faults):
        items = numbered_items(read["pieces"], read["flakes"], read["marked"])
        if items > MOST_ITEMS:
            faults.add("batch", f"has {items} pieces and flakes; at most {MOST_ITEMS} are read")
        if read["holds"] is not None and items > read["holds"]:
            faults.add("holds", f"is {read['holds']}, and {items} pieces and flakes were looked at")
    return read


def _stream_number(written: Mapping[str, Any]) -> int:
    return int.from_bytes(hashlib.sha256(_unordered(written).encode()).digest()[:8], "big")


def _unordered(written: object) -> str:
    """Return JSON types as text in which entries of a list, pieces as well as their observations, are sorted."""
    if isinstance(written, dict):
        return json.dumps({key: _unordered(value) for key, value in written.items()}, sort_keys=True)
    if isinstance(written, list):
        return json.dumps(sorted(map(_unordered, written)))
    return json.dumps(written)


def read_batch(text_: str | PathLike[str], name: str = "", folder: Path | None = None) -> Batch:
    r"""Read a batch from a TOML or JSON document.

    Parameters
    ----------
    text_ : str or path
        A path, or text: JSON where it starts with a brace, else TOML. Keys: ``batch`` (its name),
        ``[[piece]]`` with ``[[piece.observation]]``, ``[[flakes]]``, ``[marked]``,
        ``process``, ``mfr``, ``mfr_condition``, ``remarks``, ``mass``, ``article``, ``labels``, ``wash``,
        ``melted_before``, ``holds``,
        ``format`` (1 or 2), ``allow`` (dangers, such as ``["burn"]``) and ``[liquid]`` with named jugs.
        A ``[[piece]]`` may be all that a piece's own document holds, or name its ``file``; with
        ``alike = 8`` it stands for eight pieces that were each tested and read the same. Entries of
        ``[[flakes]]`` with one ``sample`` are the same flakes, floated again in another liquid.
    name : str, optional
        Name where the document gives none.
    folder : pathlib.Path, optional
        Where documents of pieces named by ``file`` are.

    Raises
    ------
    InputError
        Every fault of the document, each with its place; of one piece only that it is one.

    Examples
    --------
    >>> read_batch('batch = "lids"\nprocess = "injection moulding"\n[marked]\nPP = 8').marked
    (('PP', 8),)
    """
    data = parsed(text_)
    check_kind_of_document(data, bag=True)
    faults = Faults()
    faults.extend(unknown_keys(data, KEYS))
    check_format(data, faults)
    jugs = named_liquids(data.get("liquid", {}), faults)
    pieces: list[object] = []
    allow = list(parse_dangers(data.get("allow", []), faults))
    for index, entry in enumerate(as_list(data.get("piece", []), "piece", faults), start=1):
        inner = Faults()
        for observations, number in _sampled(entry, jugs, folder, allow, inner):
            pieces += [observations] * number
        faults.extend(inner, under=f"piece[{index}]")
    flakes = [
        {**entry, "liquid": jugs.get(str(entry.get("liquid")), entry.get("liquid"))}
        if isinstance(entry, dict) and "liquid" in entry
        else entry
        for entry in as_list(data.get("flakes", []), "flakes", faults)
    ]
    entries: dict[str, Any] = {key: data[key] for key in KEYS[4:-1] if key in data}
    entries |= {"pieces": pieces, "flakes": flakes, "allow": list(dict.fromkeys(allow))}
    named = data.get("batch", name)
    if not isinstance(named, str):
        faults.add("batch", "is not a text")
    made = gathered(faults, "", lambda: Batch.of(str(named), **entries))
    faults.check()
    if made is None:
        raise InputError([Fault("", "is no batch")])
    return made


PIECE_KEYS: Final = ("observation", "piece", "prior", "allow", "format", "liquid", "alike", "file")
"""Keys of a sampled piece: those of a piece's own document, of which the bag uses no ``prior``, and the bag's own."""


def _sampled(
    entry: object, jugs: Mapping[str, Liquid], folder: Path | None, allow: list[str], faults: Faults
) -> list[tuple[list[object], int]]:
    """Return a sampled piece's observations and how many pieces were read like it; add what it allows."""
    if not isinstance(entry, dict) or not {"observation", "file"} & set(entry):
        faults.add("", "is not a table with the key observation, or file")
        return []
    faults.extend(unknown_keys(entry, PIECE_KEYS))
    number = gathered(faults, "alike", parse_alike, entry.get("alike", 1)) or 1
    if "file" in entry:
        found = gathered(faults, "file", piece_beside, entry["file"], folder)
        if found is None:
            return []
        allow += found.allow
        return [([dict(each) for each in found.observations], number)]
    check_format(entry, faults)
    allow += parse_dangers(entry.get("allow", []), faults)
    own = {**jugs, **named_liquids(entry.get("liquid", {}), faults)}
    return [(list(parse_observations(entry["observation"], own, faults)), number)]
