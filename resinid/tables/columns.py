"""Columns of a table of pieces: what each header means, and which rows cannot be used.

A header is ``test.field``, ``test.field [unit]`` for a reading, ``test.field_u [unit]``
for its standard uncertainty, and ``test#2.field`` where a test was done a second time
on the same piece. Columns whose header has no dot are left alone, unless they look as if
they were meant for a test. A cell that is empty (None or NaN) is missing; a test of which
every cell is missing was not done.
"""

from __future__ import annotations

import math
import re
from collections import defaultdict
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from resinid.errors import Fault, Faults, InputError, NotAllowedError, UnknownNameError
from resinid.io.close_words import did_you_mean
from resinid.io.fields import field_rules, quantity_of, required_fields
from resinid.io.unit_conversion import conversion
from resinid.methods.registry import allowed, find_test, listed
from resinid.quantities import QUANTITIES, Quantity

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.methods.contract import Method, Observation

    Words = NDArray[np.object_]

__all__ = ["ColumnPlan", "Done", "plan_columns", "unused"]

MOST_COLUMNS: Final = 1000
"""More columns of tests than this are taken for a slip."""

UNDOTTED: Final = re.compile(r"(?:#\d+)?(?:_u)?$")
"""What may stand behind the name of a test: that it was done again, or that this is its uncertainty."""

HEADER: Final = re.compile(r"\s*(\w+)(?:#(\d+))?\.(\w+)\s*(?:\[([^\]]*)\])?\s*")


@dataclass(frozen=True, slots=True)
class CellSource:
    """Where a field's cells are: the column, and for a reading its conversion and its uncertainty's."""

    header: str
    quantity: Quantity | None
    scale: float = 1.0
    offset: float = 0.0
    u_header: str | None = None
    u_scale: float = 1.0


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
    """What the headers of a table say, checked once for all its rows."""

    tests: tuple[Done, ...]


def plan_columns(headers: Iterable[object], methods: Iterable[Method] = (), allow: Iterable[str] = ()) -> ColumnPlan:
    """Read the headers of a table.

    Raises
    ------
    InputError
        Every header that names no test, field or unit, lacks its uncertainty, or
        repeats another; and tests that lack a column they need.

    Examples
    --------
    >>> plan_columns(["id", "density.density [kg/m3]", "density.density_u [kg/m3]"]).tests[0].label
    'density'
    """
    faults = Faults()
    methods, allow = tuple(methods), tuple(allow)
    found: dict[str, dict[str, tuple[str, str | None]]] = defaultdict(dict)
    kinds: dict[str, type[Observation]] = {}
    written = [header for header in headers if isinstance(header, str)]
    dotted = [header for header in written if "." in header]
    if len(dotted) > MOST_COLUMNS:
        raise InputError([Fault("", f"{len(dotted)} columns have a dot in the name; at most {MOST_COLUMNS} are read")])
    _refuse_undotted(written, methods, faults)
    for header in dotted:
        match = HEADER.fullmatch(header)
        if match is None:
            faults.add(header[:100], "is not test.field [unit]; write for example density.density [g/cm3]")
            continue
        test, number, field, unit = match.groups()
        label = f"{test}#{number}" if number else test
        try:
            kinds.setdefault(label, allowed(find_test(test, methods), allow))
        except (UnknownNameError, NotAllowedError) as error:
            faults.add(header, str(error))
            continue
        if field in found[label]:
            faults.add(header, "is there twice")
        found[label][field] = (header, unit)
    tests = [_done(label, kinds[label], columns, faults) for label, columns in found.items() if label in kinds]
    if not found and not len(faults):
        faults.add("", "no column names a test; headers are test.field [unit], such as float.outcome")
    faults.check()
    return ColumnPlan(tuple(tests))


def _refuse_undotted(headers: Iterable[str], methods: Iterable[Method], faults: Faults) -> None:
    """Note headers that were meant for a test but name no field: their cells would be left out without a word."""
    tests = {test.test: test for entry in listed(methods) for test in entry.method.tests}
    for header in headers:
        bare, bracket, unit = header.partition("[")
        name = UNDOTTED.sub("", bare.strip().lower())
        if "." in header or not (bracket or name in tests):
            continue
        field = next(iter(required_fields(tests[name])), "field") if name in tests else "field"
        example = f"{name if name in tests else 'test'}.{field}{' [' + unit if unit else ''}"
        faults.add(
            header[:100],
            f"names no field of a test; write test.field [unit], here {example!r}, or another name without a bracket",
        )


def unused(headers: Iterable[object], keep: Iterable[str]) -> tuple[str, ...]:
    """Return the headers that name no test and are not kept.

    Examples
    --------
    >>> unused(["id", "colour", "float.outcome"], ["id"])
    ('colour',)
    """
    kept = set(keep)
    return tuple(str(header) for header in headers if "." not in str(header) and header not in kept)


def _done(label: str, kind: type[Observation], columns: Mapping[str, tuple[str, str | None]], faults: Faults) -> Done:
    rules = field_rules(kind)
    fields: list[tuple[str, CellSource]] = []
    for field, (header, unit) in columns.items():
        if field.endswith("_u") and field.removesuffix("_u") in columns and field not in rules:
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
    known = quantity
    example = f"{header.split('[', maxsplit=1)[0].strip()} [{known.label}]"
    if unit is None and known.unit:
        faults.add(header, f"names no unit; write it in brackets, for example {example!r}")
        return CellSource(header, quantity)
    if u_column is None:
        faults.add(
            header,
            f"has no uncertainty; add a column {header.split('[', maxsplit=1)[0].strip() + '_u'!r} with its unit",
        )
        return CellSource(header, quantity)
    try:
        scale, offset = conversion(unit or "", quantity)
        u_unit = u_column[1] if u_column[1] is not None else (unit or "")
        difference = QUANTITIES["temperature_difference"] if known.unit == "degC" else quantity
        u_scale, _ = conversion(u_unit, difference)
    except InputError as error:
        faults.extend(error.faults, under=header)
        return CellSource(header, quantity)
    return CellSource(header, quantity, scale, offset, u_column[0], u_scale)


def usable_readings(
    source: CellSource, values: Array, spreads: Array, errors: dict[int, list[str]]
) -> tuple[Array, Array]:
    """Return a reading's values and uncertainties in canonical units; note rows that cannot be.

    Missing values stay NaN; a row that is faulty becomes NaN and is noted in ``errors``.
    """
    quantity = source.quantity or QUANTITIES["density"]
    value = values * source.scale + source.offset
    u = spreads * source.u_scale
    given = ~np.isnan(value)
    wrong = (value < quantity.low) | (value > quantity.high)
    for row in np.flatnonzero(wrong):
        _note(errors, row, f"{source.header}: {values[row]:g} is impossible; expected {_range(source)}")
    bad_u = given & ~((u >= 0) & np.isfinite(u))
    for row in np.flatnonzero(bad_u):
        _note(errors, row, f"{source.u_header}: {spreads[row]:g} is no uncertainty; give a number of at least zero")
    out = wrong | bad_u
    value[out], u[out] = math.nan, math.nan
    return value, u


def _range(source: CellSource) -> str:
    quantity = source.quantity or QUANTITIES["density"]
    low, high = ((end - source.offset) / source.scale for end in (quantity.low, quantity.high))
    return f"{low:g} to {high:g} in the column's unit"


def _note(errors: dict[int, list[str]], row: Any, message: str) -> None:  # noqa: ANN401 - numpy integers and int alike
    errors.setdefault(int(row), []).append(message)
