"""Lines of the files that say how resins get on when melted, and how they take up heat."""

from __future__ import annotations

from typing import TYPE_CHECKING

from resinid.reference.entries import (
    GRADES,
    LIMIT_EFFECTS,
    RATINGS,
    THERMAL,
    Blend,
    ContaminationLimit,
    MeltGroup,
    Solubility,
    Thermal,
)

if TYPE_CHECKING:
    from resinid.reference.line import Line

__all__ = ["blend", "limit", "melt_group", "solubility", "thermal"]


def blend(line: Line) -> Blend:
    """Read a line of blends.csv."""
    return Blend(
        first=line.text("first", needed=True),
        second=line.text("second", needed=True),
        rating=line.one_of("rating", RATINGS),
        note=line.text("note"),
        source=line.text("source"),
        locator=line.text("locator"),
        obtained=line.one_of("obtained", GRADES),
    )


def melt_group(line: Line) -> MeltGroup:
    """Read a line of melt_groups.csv."""
    members = tuple(line.text("members", needed=True).split())
    if len(set(members)) < len(members):
        line.fault("members", "names a resin twice")
    return MeltGroup(
        name=line.text("name", needed=True),
        members=members,
        source=line.text("source"),
        locator=line.text("locator"),
        obtained=line.one_of("obtained", GRADES),
        note=line.text("note"),
    )


def limit(line: Line) -> ContaminationLimit:
    """Read a line of contamination_limits.csv."""
    return ContaminationLimit(
        resin=line.text("resin", needed=True),
        contaminant=line.text("contaminant", needed=True),
        share=line.needed("share", 1e-5, 50),
        effect=line.one_of("effect", LIMIT_EFFECTS),
        note=line.text("note"),
        source=line.text("source"),
        locator=line.text("locator"),
        obtained=line.one_of("obtained", GRADES),
    )


def thermal(line: Line) -> Thermal:
    """Read a line of thermal.csv."""
    low, typical, high = (line.number(column, 1e-3, 1e5) for column in ("low", "typical", "high"))
    stated = [value for value in (low, typical, high) if value is not None]
    if not any(line.text(column) for column in ("low", "typical", "high")):
        line.fault("low", "low, typical and high are all empty; at least one is needed")
    elif stated != sorted(stated):
        line.fault("low", "low <= typical <= high does not hold")
    return Thermal(
        subject=line.text("subject", needed=True),
        property=line.one_of("property", THERMAL),
        low=low,
        typical=typical,
        high=high,
        condition=line.text("condition"),
        source=line.text("source"),
        locator=line.text("locator"),
        obtained=line.one_of("obtained", GRADES),
    )


def solubility(line: Line) -> Solubility:
    """Read a line of solubility.csv."""
    return Solubility(
        resin=line.text("resin", needed=True),
        value=line.needed("solubility_parameter", 10, 35),
        source=line.text("source"),
        locator=line.text("locator"),
        obtained=line.one_of("obtained", GRADES),
    )
