"""Turn lines of the table's files into entries, naming every fault by file, line and column."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from resinid.quantities import ASPECTS, PROPERTIES, QUANTITIES
from resinid.reference.entries import (
    FREQUENCIES,
    GRADES,
    KINDS,
    STATEMENT_KINDS,
    Behaviour,
    Component,
    Crystal,
    Demand,
    Hazard,
    Resin,
    Source,
    Statement,
    Stream,
    Variant,
)
from resinid.reference.line import Line
from resinid.reference.parse_mixing import blend, limit, melt_group, solubility, thermal

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping
    from typing import Any

    from resinid.errors import Faults
    from resinid.quantities import Quantity
    from resinid.reference.files import Cells

__all__ = ["FILES", "OPTIONAL", "PRINTED_UNITS", "behaviour", "parse", "source", "statement"]

PRINTED_UNITS: Final = {
    name: {"": "", "percent": "%", "g/cm**3": "g/cm3", "g/(10*min)": "g/10min", "MPa**0.5": "MPa^0.5"}.get(
        QUANTITIES[name].unit, QUANTITIES[name].unit
    )
    for name in PROPERTIES
}
"""The one unit in which the table states each property."""

STATED: Final = {name: QUANTITIES[name] for name in PROPERTIES}
"""What the table may state of a resin."""

SOFTENS: Final = ("melting", "glass", "either", "never")
BARS: Final = ("yes", "conditional", "no")
READ: Final = ("read", "excerpt", "memory")
SOURCE_KINDS: Final = (*GRADES[:-1],)


def source(line: Line) -> Source:
    """Return the source that a line states."""
    return Source(
        key=line.text("key", needed=True),
        citation=line.text("citation", needed=True),
        year=line.text("year"),
        kind=line.one_of("kind", SOURCE_KINDS),
        url=line.text("url"),
        read=line.one_of("read", READ),
        note=line.text("note"),
        lineage=line.text("lineage"),
    )


def _resin(line: Line) -> Resin:
    return Resin(
        symbol=line.text("resin", needed=True),
        name=line.text("name", needed=True),
        group=line.text("group", needed=True),
        kind=line.one_of("kind", KINDS),
        aliases=tuple(line.text("aliases").split()),
        note=line.text("note"),
    )


def _variant(line: Line) -> Variant:
    low, high = line.number("load_low", 0, 90), line.number("load_high", 0, 90)
    filler = line.text("filler")
    if filler and (low is None or high is None or low > high):
        line.fault("load_low", "a filled variant needs load_low <= load_high in mass %")
    return Variant(
        resin=line.text("resin", needed=True),
        name=line.text("variant", needed=True),
        weight=line.needed("weight", 0, 1),
        softens=line.one_of("softens", SOFTENS),
        filler=filler,
        load_low=low,
        load_high=high,
        source=line.text("source"),
        obtained=line.one_of("obtained", GRADES),
    )


def statement(line: Line, quantities: Mapping[str, Quantity] = STATED) -> Statement:
    """Return what a line states of a property, one of ``quantities``."""
    name = line.one_of("property", quantities)
    low: float | None = None
    typical: float | None = None
    high: float | None = None
    if name in quantities:
        quantity = quantities[name]
        low, typical, high = (line.number(c, quantity.low, quantity.high) for c in ("low", "typical", "high"))
        unit = PRINTED_UNITS.get(name, quantity.unit)
        if line.text("unit") != unit:
            line.fault("unit", f"{line.text('unit')!r} is not allowed; {name} is stated in {unit!r}")
    stated = [value for value in (low, typical, high) if value is not None]
    if not any(line.text(column) for column in ("low", "typical", "high")):
        line.fault("low", "low, typical and high are all empty; at least one is needed")
    elif stated != sorted(stated):
        line.fault("low", "low <= typical <= high does not hold")
    return Statement(
        resin=line.text("resin", needed=True),
        variant=line.text("variant", needed=True),
        property=name,
        low=low,
        typical=typical,
        high=high,
        condition=line.text("condition"),
        specimen=line.text("specimen"),
        source=line.text("source", needed=True),
        locator=line.text("locator"),
        obtained=line.one_of("obtained", GRADES),
        note=line.text("note"),
        kind=line.one_of("kind", STATEMENT_KINDS) if line.text("kind") else _kind(low, high),
    )


def _kind(low: float | None, high: float | None) -> str:
    """Return the kind of a statement that does not say: limits are of grades, a single value is typical."""
    return "typical" if low is None or high is None else "range"


def _component(line: Line) -> Component:
    line.number("density_low", 0.001, 10)
    line.number("density_high", 0.001, 10)
    return Component(
        name=line.text("component", needed=True),
        density=line.needed("density_typical", 0.001, 10),
        source=line.text("source"),
        obtained=line.one_of("obtained", GRADES),
    )


def _crystal(line: Line) -> Crystal:
    amorphous, crystal = line.needed("density_amorphous", 0.5, 3), line.needed("density_crystal", 0.5, 3)
    if amorphous >= crystal:
        line.fault("density_crystal", "is not above density_amorphous; crystals are the denser part")
    return Crystal(
        resin=line.text("resin", needed=True),
        density_amorphous=amorphous,
        density_crystal=crystal,
        heat_of_fusion=line.number("heat_of_fusion_J_g", 1, 1000),
        melting_slope=line.number("melting_slope_K", 0, 1000),
        source=line.text("source"),
        obtained=line.one_of("obtained", GRADES),
    )


def behaviour(line: Line, aspects: Mapping[str, tuple[str, ...]] = ASPECTS) -> Behaviour:
    """Return what a line states of an aspect; of those in ``aspects`` the outcomes are known."""
    aspect, outcome = line.text("aspect", needed=True), line.text("outcome", needed=True)
    if aspect in aspects:
        outcome = line.one_of("outcome", aspects[aspect])
    return Behaviour(
        resin=line.text("resin", needed=True),
        aspect=aspect,
        outcome=outcome,
        frequency=line.one_of("frequency", FREQUENCIES),
        source=line.text("source"),
        locator=line.text("locator"),
        obtained=line.one_of("obtained", GRADES),
    )


def _hazard(line: Line) -> Hazard:
    return Hazard(
        applies_to=line.text("applies_to", needed=True),
        hazard=line.text("hazard", needed=True),
        onset=line.number("onset_degC", -50, 1000),
        limits_melt=line.one_of("limits_melt", ("yes", "no")) == "yes",
        bar=line.one_of("bar", BARS),
        caution=line.text("caution", needed=True),
        never_with=tuple(line.text("never_with").split()),
        source=line.text("source"),
        obtained=line.one_of("obtained", GRADES),
    )


def _stream(line: Line) -> Stream:
    return Stream(
        name=line.text("stream", needed=True),
        resins=tuple(line.text("resins").split()),
        share=line.needed("share", 0, 100),
        source=line.text("source", needed=True),
    )


def _demand(line: Line) -> Demand:
    return Demand(
        resin=line.text("resin", needed=True),
        share=line.needed("share", 0, 100),
        part=line.needed("part", 0, 1),
        source=line.text("source"),
        locator=line.text("locator"),
        obtained=line.one_of("obtained", GRADES),
        note=line.text("note"),
    )


def _columns(names: str) -> tuple[str, ...]:
    return tuple(names.split())


FILES: Final[dict[str, tuple[tuple[str, ...], Callable[[Any], Any]]]] = {
    "sources": (_columns("key citation year kind url read note"), source),
    "resins": (_columns("resin name group kind aliases note"), _resin),
    "variants": (
        _columns("resin variant weight softens filler load_low load_high source locator obtained note"),
        _variant,
    ),
    "properties": (
        _columns("resin variant property low typical high unit condition specimen source locator obtained note"),
        statement,
    ),
    "components": (
        _columns("component density_low density_typical density_high source locator obtained note"),
        _component,
    ),
    "crystallinity": (
        _columns(
            "resin density_amorphous density_crystal heat_of_fusion_J_g melting_slope_K source locator obtained note"
        ),
        _crystal,
    ),
    "behaviour": (_columns("resin aspect outcome frequency source locator obtained note"), behaviour),
    "hazards": (
        _columns("applies_to hazard onset_degC limits_melt bar caution never_with source locator obtained note"),
        _hazard,
    ),
    "waste_streams": (_columns("stream resins share source locator obtained note"), _stream),
    "demand": (_columns("resin share part source locator obtained note"), _demand),
    "melt_groups": (_columns("name members source locator obtained note"), melt_group),
    "blends": (_columns("first second rating note source locator obtained"), blend),
    "contamination_limits": (_columns("resin contaminant share effect note source locator obtained"), limit),
    "thermal": (_columns("subject property low typical high condition source locator obtained note"), thermal),
    "solubility": (_columns("resin solubility_parameter source locator obtained note"), solubility),
}
"""By file name (without ``.csv``): its columns, and what makes an entry of a line."""

OPTIONAL: Final[dict[str, tuple[str, ...]]] = {"sources": ("lineage",), "properties": ("kind",)}
"""By file name: columns that a table may leave out, as if they were empty."""


def parse(lines: Iterable[Cells], file: str, faults: Faults) -> list[tuple[Any, Cells]]:
    """Return the entries of one file with their lines; add what is wrong to ``faults``."""
    make = FILES[file][1]
    return [(make(Line(cells, faults)), cells) for cells in lines]
