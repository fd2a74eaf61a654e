"""Columns of a table of pieces: what each header means, and which rows cannot be used.

A header is ``test.field [unit]``, ``test.field_u [unit]`` for the standard uncertainty of a reading, and
``test#2.field`` where a test was done a second time on the same piece. Where a test needs one field only, its
name is enough: ``density [g/cm3]`` and ``density_u [g/cm3]``, or ``Density (g/cm3)`` and ``density / g cm-3``.
Small and capital letters are the same, and so are a space and ``_``; either may stand for the dot. All other columns
pass by, but a near miss of a reading is refused: it was meant as one.
A cell that is empty (None or NaN) is missing; a test of which every cell is missing was not done.
"""

from __future__ import annotations

import difflib
import functools
import re
from collections import defaultdict
from dataclasses import dataclass
from itertools import islice
from typing import TYPE_CHECKING, Final, NamedTuple

from resinid.errors import Fault, Faults, InputError, NotAllowedError
from resinid.io.arguments import unplaced
from resinid.io.close_words import did_you_mean
from resinid.io.fields import field_rules, quantity_of, required_fields
from resinid.io.unit_conversion import conversion
from resinid.methods.registry import allowed, listed
from resinid.quantities import QUANTITIES, Quantity

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from resinid.methods.contract import Method, Observation

__all__ = ["CellSource", "ColumnPlan", "Done", "plan_columns"]

MOST_COLUMNS: Final = 1000
"""More columns of tests than this are taken for a slip."""

HEADER: Final = re.compile(r"\s*(.*?)\s*(?:\[([^\]]*)\])?\s*", re.DOTALL)
GAP: Final = re.compile(r"[\s,/]*[\s,/(]")
WORDS: Final = 8
"""A unit without brackets is looked for behind so many words at most."""
NAME: Final = re.compile(r"(.+?)(?:#(\d+))?(_u)?", re.DOTALL)

AGAIN: Final = re.compile(r"\.\d+$")

ALIKE: Final = 0.8
"""How alike, from 0 to 1, a header's name is to a test's that was meant (difflib's ratio; this project's choice)."""

SHORTEST: Final = 5
"""Letters that a name has at least to count as a near miss: words of four are often one letter apart."""

OURS: Final = frozenset({"outcome", "liquid"})
"""Fields that nothing but a test has: a header that ends so was meant as a reading."""

RELATIVE: Final = frozenset({"%", "percent"})


@dataclass(frozen=True, slots=True)
class CellSource:
    """Where a field's cells are: the column, and for a reading its conversion and its uncertainty's.

    ``unit`` is the header's, None where each cell has to say its own; ``share`` says that the column of
    uncertainties holds shares of the readings [%].
    """

    header: str
    quantity: Quantity | None
    scale: float = 1.0
    offset: float = 0.0
    u_header: str | None = None
    u_scale: float = 1.0
    unit: str | None = None
    share: bool = False


@dataclass(frozen=True, slots=True)
class Done:
    """One test as the columns hold it.

    Parameters
    ----------
    label : str
        Test and number, as in the headers.
    kind : type
        The test's class.
    fields : tuple of (str, CellSource)
        Field and where its cells are.
    """

    label: str
    kind: type[Observation]
    fields: tuple[tuple[str, CellSource], ...]


@dataclass(frozen=True, slots=True)
class ColumnPlan:
    """What the headers of a table say, checked once for all its rows.

    Parameters
    ----------
    tests : tuple of Done
    foreign : tuple of str
        Headers that name no test.
    """

    tests: tuple[Done, ...]
    foreign: tuple[str, ...] = ()

    @property
    def readings(self) -> tuple[str, ...]:
        """Headers of all columns of readings and of their uncertainties."""
        sources = [source for done in self.tests for _, source in done.fields if source.quantity is not None]
        return tuple(header for source in sources for header in (source.header, source.u_header) if header is not None)

    @property
    def words(self) -> tuple[str, ...]:
        """Headers of all columns that hold something else than readings."""
        return tuple(source.header for done in self.tests for _, source in done.fields if source.quantity is None)

    @property
    def looked_like(self) -> tuple[str, ...]:
        """Those of the foreign headers that have a dot or brackets, as readings have."""
        return tuple(header for header in self.foreign if {".", "[", "("} & set(header))


class _Named(NamedTuple):
    """What a header says: the test with its number, its class, the field and the unit."""

    label: str
    kind: type[Observation]
    field: str
    unit: str | None


def plan_columns(
    headers: Iterable[object],
    methods: Iterable[Method] = (),
    allow: Iterable[str] = (),
    *,
    kept: Iterable[str] = (),
) -> ColumnPlan:
    """Read the headers of a table.

    Parameters
    ----------
    headers : iterable
    methods, allow : optional
        As for :func:`resinid.identify`.
    kept : iterable of str, optional
        Columns that are copied: one without a dot is read only if it has a unit, and is no near miss of a reading.

    Raises
    ------
    InputError
        Every header that names a field or unit that its test has not, is nearly a reading's, or
        repeats another; and tests that lack a column they need.

    Examples
    --------
    >>> plan = plan_columns(["id", "density [kg/m3]", "density_u [kg/m3]"])
    >>> plan.tests[0].label, plan.foreign
    ('density', ('id',))
    """
    faults = Faults()
    methods, allow, kept = tuple(methods), tuple(allow), frozenset(kept)
    known = {_plain(test.test): test for entry in listed(methods) for test in entry.method.tests}
    found: dict[str, dict[str, tuple[str, str | None]]] = defaultdict(dict)
    kinds: dict[str, type[Observation]] = {}
    foreign: list[str] = []
    written = [header for header in headers if isinstance(header, str)]
    dotted = sum("." in header for header in written)
    if dotted > MOST_COLUMNS:
        raise InputError([Fault("", f"{dotted} columns have a dot in the name; at most {MOST_COLUMNS} are read")])
    for header in written:
        try:
            bare = not {".", "["} & set(header) and _without_brackets(header, known)[1] is None
            named = None if header in kept and bare else _named(header, known)
            if named is None:
                foreign.append(header)
                _refuse_again(header, written)
                continue
            kinds.setdefault(named.label, allowed(named.kind, allow))
        except NotAllowedError as error:
            faults.add(header, str(error))
            continue
        except InputError as error:
            if header in kept and "." not in header:
                foreign.append(header)
            else:
                faults.extend(error.faults, under=header[:100])
            continue
        if named.field in found[named.label]:
            faults.add(header, "is there twice")
        found[named.label][named.field] = (header, named.unit)
    tests = [_done(label, kinds[label], columns, faults) for label, columns in found.items() if label in kinds]
    if not found and not len(faults):
        seen = f": {', '.join(repr(header)[:30] for header in written[:3])}" if written else ""
        faults.add("", f"no column names a test{seen}; the first row names them, as test.field [unit], float.outcome")
    faults.check()
    return ColumnPlan(tuple(tests), tuple(foreign))


def _refuse_again(header: str, written: Iterable[str]) -> None:
    """Raise InputError for what pandas calls the second of two columns of one name."""
    if (same := AGAIN.sub("", header)) != header and same in written:
        raise unplaced(f"is there twice; rename one of the columns {same!r:.100}")


def _plain(name: str) -> str:
    return "_".join(name.lower().split())


def _named(header: str, known: Mapping[str, type[Observation]]) -> _Named | None:
    """Return what a header says, None where it is foreign.

    Raises
    ------
    InputError
        It is nearly a reading's.
    """
    matched = HEADER.fullmatch(header)
    if matched is None:
        return None
    left, unit = matched[1], (matched[2] or "").strip() or None
    if unit is None:
        left, unit = _without_brackets(left, known)
    name, dot, field = left.partition(".")
    matched = NAME.fullmatch(name.strip())
    if matched is None:
        return None
    base, number, spread = _plain(matched[1]), matched[2], matched[3] or ""
    if dot and spread:
        base, spread = base + spread, ""
    kind, own = (known.get(base), _plain(field.strip())) if dot else _meant(base, known)
    if kind is None:
        _refuse_near(base, own if dot else None, unit, known)
        return None
    label = f"{kind.test}#{number}" if number else kind.test
    if own is None:
        fields = ", ".join(f"{kind.test}.{each}" for each in field_rules(kind))
        raise unplaced(f"does not say which reading of the test {kind.test!r}; write one of {fields}, or another name")
    if not re.fullmatch(r"\w+", own):
        raise unplaced("is not test.field [unit]; write for example density.density [g/cm3]")
    return _Named(label, kind, own + spread, unit)


def _meant(name: str, known: Mapping[str, type[Observation]]) -> tuple[type[Observation] | None, str | None]:
    """Return the test and field that a plain name without a dot means; of a test with one field its name is enough."""
    if name in known:
        return known[name], _only_field(known[name])
    for test, kind in known.items():
        field = name.removeprefix(f"{test}_")
        if field != name and field in field_rules(kind):
            return kind, field
    return None, None


def _without_brackets(header: str, known: Mapping[str, type[Observation]]) -> tuple[str, str | None]:
    """Return name and unit of a header that has a unit, but not in square brackets: ``Density (g/cm3)``."""
    for gap in islice(GAP.finditer(header), WORDS):
        name, unit = header[: gap.start()], header[gap.end() :].strip()
        unit = unit[:-1] if gap[0].endswith("(") and unit.endswith(")") else unit
        kind, field = _meant(_plain(name).removesuffix("_u"), known)
        quantity = quantity_of(field_rules(kind)[field]) if kind and field else None
        if quantity is None:
            continue
        try:
            conversion(unit, quantity)
        except InputError:
            continue
        return name, unit
    return header, None


@functools.lru_cache(maxsize=256)
def _only_field(kind: type[Observation]) -> str | None:
    """Return the one field that a test needs, None where it needs several or none."""
    needed = required_fields(kind)
    return needed[0] if len(needed) == 1 else None


def _refuse_near(name: str, field: str | None, unit: str | None, known: Mapping[str, type[Observation]]) -> None:
    """Raise InputError where a header that names no test was meant to: its cells would be left out without a word."""
    close = difflib.get_close_matches(name, known, n=1, cutoff=ALIKE) if len(name) >= SHORTEST else []
    if field is not None:
        base = field.removesuffix("_u")
        fields = [each for test in close for each in field_rules(known[test])]
        if base not in OURS and not difflib.get_close_matches(base, fields, n=1, cutoff=ALIKE):
            return
    elif not close:
        return
    meant = f"; did you mean {close[0]!r}?" if close else "."
    bracket = f" [{unit}]" if unit is not None else ""
    example = f"{close[0] if close else 'float'}{f'.{field}' if field else ''}{bracket}"
    raise unplaced(f"is nearly a reading, but no test is called {name!r}{meant} Write {example!r}, or another name")


def _done(label: str, kind: type[Observation], columns: Mapping[str, tuple[str, str | None]], faults: Faults) -> Done:
    rules = field_rules(kind)
    fields: list[tuple[str, CellSource]] = []
    for field, (header, unit) in columns.items():
        if field.endswith("_u") and field.removesuffix("_u") in rules and field not in rules:
            if field.removesuffix("_u") not in columns:
                faults.add(header, f"is the uncertainty of {label}.{field.removesuffix('_u')}, which has no column")
            continue
        if field not in rules:
            faults.add(header, f"{label} has no field {field!r}; it has {', '.join(rules)}{did_you_mean(field, rules)}")
            continue
        quantity = quantity_of(rules[field])
        if quantity is None and unit and _is_liquid(field):
            quantity = QUANTITIES["density"]
        if quantity is None:
            fields.append((field, CellSource(header, None)))
            continue
        fields.append((field, _reading_source(header, unit, quantity, columns.get(f"{field}_u"), faults)))
    for field in required_fields(kind):
        if field not in columns:
            faults.add(label, f"lacks the column {label}.{field}")
    return Done(label, kind, tuple(fields))


def _is_liquid(field: str) -> bool:
    return field == "liquid"


def _reading_source(
    header: str, unit: str | None, quantity: Quantity, u_column: tuple[str, str | None] | None, faults: Faults
) -> CellSource:
    u_header, u_unit = u_column or (None, None)
    share = quantity.unit != "percent" and u_unit is not None and u_unit.strip() in RELATIVE
    difference = QUANTITIES["temperature_difference"] if quantity.unit == "degC" else quantity
    try:
        scale, offset = conversion(unit or quantity.unit, quantity)
        u_scale = 0.01 if share else conversion(u_unit or unit or quantity.unit, difference)[0]
    except InputError as error:
        faults.extend(error.faults, under=header)
        return CellSource(header, quantity)
    own = unit if unit is not None or quantity.unit else ""
    return CellSource(header, quantity, scale, offset, u_header, u_scale, own, share)
