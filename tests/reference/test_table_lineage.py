"""A copy tells nothing new, and what kind of statement a row is decides how wide and how heavy it is."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from resinid.reference.mixture import mixture
from resinid.reference.rules import RULES, SAYS
from resinid.reference.table import default_reference

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.reference.entries import Statement
    from resinid.reference.mixture import Normal
    from resinid.reference.table import ReferenceTable

TABLE: Final = default_reference()
DENSITIES: Final = tuple(row for row in TABLE.statements if row.property == "density" and row.low and row.high)


def normals(reference: ReferenceTable, row: Statement) -> tuple[Normal, ...]:
    variant = next(v for v in reference.variants if (v.resin, v.name) == (row.resin, row.variant))
    return mixture(reference, variant, row.property).normals


def density_of(found: tuple[Normal, ...], at: NDArray[np.float64]) -> NDArray[np.float64]:
    parts = [n.weight / n.sd * np.exp(-0.5 * ((at - n.mean) / n.sd) ** 2) for n in found]
    out: NDArray[np.float64] = np.sum(parts, axis=0) / math.sqrt(2 * math.pi)
    return out


def copied(row: Statement, times: int, lineage: str) -> ReferenceTable:
    """Return the table with a statement printed again by works of a lineage of their own or of the same one."""
    source = TABLE.source(row.source)
    copies = [replace(source, key=f"copy-{i}", lineage=lineage or f"copy-{i}") for i in range(times)]
    rows = [replace(row, source=copy.key) for copy in copies]
    return replace(
        TABLE,
        sources=(*TABLE.sources, *copies),
        statements=(*TABLE.statements, *rows),
        digest=f"{row!r} {times} {lineage}",
    )


@given(st.sampled_from(DENSITIES), st.integers(1, 5))
@settings(max_examples=25, deadline=None)
def test_a_copy_tells_nothing_new(row: Statement, times: int) -> None:
    """A statement that others copied is heard once: printed again in its lineage, the distribution stays.

    Its sources may have further statements in the cell, with which the copies share one weight; so only rows
    that stand alone in their lineage are free of any change.
    """
    lineage = TABLE.source(row.source).lineage or row.source
    same = [
        other
        for other in TABLE.statements
        if (other.resin, other.variant, other.property) == (row.resin, row.variant, row.property)
        and ((TABLE.source(other.source).lineage or other.source) == lineage or other.kind == row.kind == "class")
    ]
    if len(same) > 1:
        return
    at = np.linspace(math.log(0.8), math.log(2.3), 400)
    before, after = normals(TABLE, row), normals(copied(row, times, lineage), row)
    np.testing.assert_allclose(density_of(after, at), density_of(before, at), rtol=1e-9, atol=1e-12)


@pytest.mark.parametrize("kind", sorted(set(SAYS) - {"class"}))
def test_others_that_say_the_same_count(kind: str) -> None:
    """The same statement by an independent work makes it weigh more."""
    row = next(r for r in DENSITIES if (r.resin, r.source) == ("PS", "finemech"))
    row = replace(row, kind=kind)
    before = normals(copied(row, 1, ""), row)
    after = normals(copied(row, 2, ""), row)
    weight = [sum(n.weight for n in found if n.source.startswith("copy-")) for found in (before, after)]
    assert weight[1] > weight[0] > 0.0


def test_a_definition_counts_once_whoever_prints_it() -> None:
    """ASTM D2238 and two tables print one class of 0.926 to 0.940 g/cm3; together they weigh as one of them."""
    row = next(r for r in TABLE.statements if (r.resin, r.source, r.property) == ("PE-MD", "astm-d2238", "density"))
    rows = [r for r in TABLE.statements if r.kind == "class" and r.resin == "PE-MD"]
    assert len(rows) == 3
    alone = replace(
        TABLE, statements=tuple(r for r in TABLE.statements if r not in rows or r is row), digest="one definition"
    )
    share = [
        sum(n.weight for n in normals(t, row) if n.statement is not None and n.statement.kind == "class")
        for t in (TABLE, alone)
    ]
    assert share[0] == pytest.approx(share[1])


def test_limits_of_a_class_are_those_of_an_even_spread() -> None:
    """What may lie anywhere between two limits has a standard deviation of their distance over the root of 12.

    Of ASTM D2238 type II: ln(0.940/0.926)/3.4641 = 0.00433; to a range over grades belongs 1/3.29 of it, 0.00456.
    """
    row = next(r for r in TABLE.statements if (r.resin, r.source, r.property) == ("PE-MD", "astm-d2238", "density"))
    one = replace(TABLE, statements=(row,), digest="a class")
    grades = replace(TABLE, statements=(replace(row, kind="range"),), digest="a range")
    assert RULES["density"].floor < 0.00433
    assert normals(one, row)[0].sd == pytest.approx(0.00433, abs=5e-6)
    assert normals(grades, row)[0].sd == pytest.approx(0.00456, abs=5e-6)
