"""The reference table as one frozen value, loaded from a folder of CSV files."""

from __future__ import annotations

import functools
import hashlib
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from resinid.errors import Fault, Faults, InputError, TableError, UnknownNameError, safe_repr
from resinid.io.arguments import as_folder
from resinid.io.close_words import did_you_mean
from resinid.notebook import Answer
from resinid.reference.check import check_together
from resinid.reference.files import own_folder, read_csv
from resinid.reference.parse import FILES, OPTIONAL, parse

if TYPE_CHECKING:
    from pathlib import Path

    from resinid.reference.entries import (
        Behaviour,
        Blend,
        Component,
        ContaminationLimit,
        Crystal,
        Demand,
        Hazard,
        MeltGroup,
        Resin,
        Solubility,
        Source,
        Statement,
        Stream,
        Thermal,
        Variant,
    )
    from resinid.reference.files import Cells

__all__ = ["ReferenceTable", "default_reference", "load_reference", "reference_or_default"]

_REQUIRED: Final = ("sources", "resins", "variants", "properties")


@dataclass(frozen=True, eq=False, repr=False)
class ReferenceTable(Answer):
    """Everything published that this package scores with.

    Make one with :func:`default_reference` or :func:`load_reference`; add to one with
    :meth:`extended`. Two tables are equal when they were read from the same bytes.
    """

    resins: tuple[Resin, ...]
    variants: tuple[Variant, ...]
    statements: tuple[Statement, ...]
    components: tuple[Component, ...]
    behaviours: tuple[Behaviour, ...]
    hazards: tuple[Hazard, ...]
    streams: tuple[Stream, ...]
    sources: tuple[Source, ...]
    crystals: tuple[Crystal, ...] = ()
    blends: tuple[Blend, ...] = ()
    limits: tuple[ContaminationLimit, ...] = ()
    thermals: tuple[Thermal, ...] = ()
    solubilities: tuple[Solubility, ...] = ()
    demand: tuple[Demand, ...] = ()
    melt_groups: tuple[MeltGroup, ...] = ()
    digest: str = field(default="", kw_only=True)

    def __eq__(self, other: object) -> bool:
        """Compare by what the tables were read from."""
        return isinstance(other, ReferenceTable) and self.digest == other.digest

    def __repr__(self) -> str:
        return f"<ReferenceTable of {len(self.resins)} resins, {len(self.statements)} statements, {self.digest[:12]}>"

    def __hash__(self) -> int:
        """Hash what the table was read from."""
        return hash(self.digest)

    @property
    def symbols(self) -> tuple[str, ...]:
        """Symbols of the resins, in table order."""
        return tuple(resin.symbol for resin in self.resins)

    def resin(self, name: str) -> Resin:
        """Return the resin of that symbol or alias (letter case ignored).

        Raises
        ------
        UnknownNameError
            No resin goes by that name.

        Examples
        --------
        >>> default_reference().resin("HDPE").symbol
        'PE-HD'
        """
        if not isinstance(name, str):
            raise UnknownNameError(f"{safe_repr(name)} is not the name of a resin; known: {', '.join(self.symbols)}")
        wanted = name.strip().casefold()
        for resin in self.resins:
            if wanted in {word.casefold() for word in (resin.symbol, *resin.aliases)}:
                return resin
        known = [word for resin in self.resins for word in (resin.symbol, *resin.aliases)]
        raise UnknownNameError(
            f"no resin is called {safe_repr(name)}; known: {', '.join(self.symbols)}{did_you_mean(name, known)}"
        )

    def source(self, key: str) -> Source:
        """Return the source of that key; raise UnknownNameError if there is none."""
        for source in self.sources:
            if source.key == key:
                return source
        raise UnknownNameError(
            f"no source has the key {safe_repr(key)}{did_you_mean(key, [s.key for s in self.sources])}"
        )

    def extended(self, folder: str | Path) -> ReferenceTable:
        """Return this table with the lines of another folder's files added.

        Parameters
        ----------
        folder : path
            Holds any of the table's files; lines of a resin, variant or source
            that this table already has under the same name replace it.

        Raises
        ------
        InputError
            What was given is no path.
        TableError
            A file is faulty, or the whole does not fit together.
        """
        return _assembled(*_read(as_folder("folder", folder), required=()), self)


def load_reference(folder: str | Path) -> ReferenceTable:
    """Load a table of your own from a folder laid out as ``reference/`` is.

    Parameters
    ----------
    folder : path
        Holds at least sources.csv, resins.csv, variants.csv and properties.csv.

    Raises
    ------
    InputError
        What was given is no path.
    TableError
        Every fault found, each with file, line and column.

    Examples
    --------
    >>> load_reference(own_folder()).symbols == default_reference().symbols
    True
    """
    return _assembled(*_read(as_folder("folder", folder), required=_REQUIRED), None)


@functools.cache
def default_reference() -> ReferenceTable:
    """Return the table that comes with the package (read once, then shared).

    Examples
    --------
    >>> "PE-HD" in default_reference().symbols
    True
    """
    return load_reference(own_folder())


def reference_or_default(given: object) -> ReferenceTable:
    """Return the table that was given, or the package's own for None.

    Raises
    ------
    InputError
        It is something else, such as the name of a folder.

    Examples
    --------
    >>> reference_or_default(None) is default_reference()
    True
    """
    if given is None:
        return default_reference()
    if not isinstance(given, ReferenceTable):
        raise InputError(
            [
                Fault(
                    "reference",
                    f"{safe_repr(given)} is no reference table; make one with resinid.load_reference(folder)",
                )
            ]
        )
    return given


_Entries: TypeAlias = dict[str, tuple[Any, ...]]


def _read(folder: Path, *, required: tuple[str, ...]) -> tuple[_Entries, dict[int, Cells], str]:
    """Return the entries by file, the line of each by ``id``, and a digest of the files."""
    faults = Faults(TableError)
    found: _Entries = {}
    places: dict[int, Cells] = {}
    hashed = hashlib.sha256()
    for name, (columns, _) in FILES.items():
        path = folder / f"{name}.csv"
        if not path.is_file():
            if name in required:
                faults.add(str(path), "does not exist; a table needs " + ", ".join(f"{f}.csv" for f in required))
            continue
        try:
            lines = read_csv(path, columns, OPTIONAL.get(name, ()))
        except TableError as error:
            faults.extend(error.faults)
            continue
        hashed.update(name.encode() + b"\0" + path.read_bytes())
        parsed = parse(lines, name, faults)
        found[name] = tuple(entry for entry, _ in parsed)
        places |= {id(entry): cells for entry, cells in parsed}
    if not found and not len(faults):
        raise TableError([Fault(str(folder), "holds no table file; expected " + ", ".join(f"{f}.csv" for f in FILES))])
    faults.check()
    return found, places, hashed.hexdigest()


def _assembled(new: _Entries, places: dict[int, Cells], digest: str, base: ReferenceTable | None) -> ReferenceTable:
    def join(name: str, old: tuple[Any, ...], key: str | None = None) -> tuple[Any, ...]:
        added = new.get(name, ())
        if key is None:
            return (*old, *added)
        identity = _identity(key)
        merged = {identity(entry): entry for entry in old}
        for entry in added:
            merged[identity(entry)] = entry
        return tuple(merged.values()) if base is not None else added

    old = base or ReferenceTable((), (), (), (), (), (), (), ())
    reference = ReferenceTable(
        resins=join("resins", old.resins, "symbol"),
        variants=join("variants", old.variants, "resin name"),
        statements=join("properties", old.statements),
        components=join("components", old.components, "name"),
        behaviours=join("behaviour", old.behaviours),
        hazards=join("hazards", old.hazards),
        streams=join("waste_streams", old.streams),
        sources=join("sources", old.sources, "key"),
        crystals=join("crystallinity", old.crystals, "resin"),
        blends=join("blends", old.blends, "first second"),
        limits=join("contamination_limits", old.limits, "resin contaminant effect"),
        thermals=join("thermal", old.thermals),
        solubilities=join("solubility", old.solubilities, "resin"),
        demand=join("demand", old.demand, "resin"),
        melt_groups=join("melt_groups", old.melt_groups, "name"),
    )
    check_together(reference, places)
    if base is not None:
        digest = hashlib.sha256(f"{base.digest}+{digest}".encode()).hexdigest()
    return replace(reference, digest=digest)


def _identity(names: str) -> Any:  # noqa: ANN401 - a key of one or more attributes
    def of(entry: object) -> tuple[object, ...]:
        return tuple(getattr(entry, name) for name in names.split())

    return of
