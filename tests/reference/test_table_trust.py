"""What nobody published is marked and counts for less than what was seen in print."""

from __future__ import annotations

import csv
from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from resinid.analysis.coverage import grade_shares, scoring_statements
from resinid.analysis.table_report import report_data, report_text
from resinid.quantities import ASPECTS
from resinid.reference.files import own_folder
from resinid.reference.mixture import mixture
from resinid.reference.rules import DOUBT, RULES, TRUST, UNSOURCED
from resinid.reference.table import default_reference
from resinid.scoring.properties import observed

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.reference.entries import Behaviour, Statement
    from resinid.reference.mixture import Normal
    from resinid.reference.table import ReferenceTable

TABLE: Final = default_reference()
PRINTED: Final = tuple(row for row in scoring_statements(TABLE) if row.obtained not in UNSOURCED)


def grades_of(row: Behaviour) -> set[str]:
    """Return the grades of all rows of the same resin and aspect."""
    return {one.obtained for one in TABLE.behaviours if (one.resin, one.aspect) == (row.resin, row.aspect)}


WORDS: Final = tuple(
    row
    for row in TABLE.behaviours
    if row.aspect in ASPECTS and row.obtained not in UNSOURCED and len(grades_of(row)) == 1
)


def test_no_published_grade_counts_as_little_as_memory() -> None:
    published = TRUST.keys() - UNSOURCED
    assert max(TRUST[grade] for grade in UNSOURCED) < min(TRUST[grade] for grade in published)
    assert min(DOUBT[grade] for grade in UNSOURCED) > max(DOUBT[grade] for grade in published)


def normals_of(reference: ReferenceTable, row: Statement) -> list[Normal]:
    """Return the normals that a statement is part of in its own variant."""
    variant = next(v for v in reference.variants if (v.resin, v.name) == (row.resin, row.variant))
    found = [mixture(reference, variant, name) for name in RULES]
    return [normal for one in found for normal in one.normals if normal.statement == row]


@given(st.sampled_from(PRINTED))
@settings(max_examples=30, deadline=None)
def test_a_statement_from_memory_weighs_less_and_is_wider(row: Statement) -> None:
    """Were a printed statement only remembered, its share would not grow and its spread would."""
    recalled = replace(row, obtained="memory")
    statements = tuple(recalled if other is row else other for other in TABLE.statements)
    reference = replace(TABLE, statements=statements, digest=f"{row!r} from memory")
    for before, after in zip(normals_of(TABLE, row), normals_of(reference, recalled), strict=True):
        assert after.weight <= before.weight * (1 + 1e-12)
        assert after.sd > before.sd


def spread(reference: ReferenceTable, row: Behaviour) -> NDArray[np.float64]:
    latent = observed(row.aspect).latent(reference)
    place = next(i for i, variant in enumerate(reference.variants) if variant.resin == row.resin)
    out: NDArray[np.float64] = latent.mass[place]
    return out


@given(st.sampled_from(WORDS))
@settings(max_examples=20, deadline=None)
def test_outcomes_from_memory_say_less(row: Behaviour) -> None:
    """Were all rows of a resin and aspect only remembered, its outcomes would be nearer to even.

    The parts that are not spread evenly are 85 and 70 %.
    """
    rows = tuple(
        replace(other, obtained="memory") if (other.resin, other.aspect) == (row.resin, row.aspect) else other
        for other in TABLE.behaviours
    )
    before = spread(TABLE, row)
    after = spread(replace(TABLE, behaviours=rows, digest=f"{row!r} from memory"), row)
    even = 1.0 / before.size
    np.testing.assert_allclose(after - even, (before - even) * 0.7 / 0.85, rtol=1e-9, atol=1e-12)


def test_report_prints_the_share_of_every_file() -> None:
    """Properties, behaviour, hazards and each other file that cites sources have a line; counts are the files' own."""
    found = grade_shares(TABLE)
    text = report_text(TABLE)
    files = {"behaviour": "behaviour", "hazards": "hazards", "variants": "variants", "components": "components"}
    files |= {"crystallinity": "crystallinity", "blends": "blends", "thermal": "thermal", "solubility": "solubility"}
    files |= {"contamination limits": "contamination_limits", "demand": "demand", "melt groups": "melt_groups"}
    for name, file in files.items():
        with (own_folder() / f"{file}.csv").open(encoding="utf-8", newline="") as lines:
            rows = list(csv.DictReader(lines))
        unsourced = sum(row["obtained"] in UNSOURCED or not row["source"].split() for row in rows)
        assert found[name].rows == len(rows), name
        assert found[name].unsourced >= unsourced, name
        assert any(line.startswith(f"{name} ") for line in text.splitlines()), name
        assert report_data(TABLE)["shares"][name]["rows"] == len(rows)
