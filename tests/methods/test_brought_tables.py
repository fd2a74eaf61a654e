"""The tables that methods bring along: each row names a resin and sources that exist, or says that it has none."""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Final

import pytest

from resinid import default_reference
from resinid.analysis.method_sources import shares_brought, sources_brought
from resinid.reference.entries import GRADES
from resinid.reference.rules import UNSOURCED

METHODS: Final = Path(__file__).resolve().parents[2] / "resinid" / "methods"
FILES: Final = sorted(path for path in METHODS.glob("*/*.csv") if path.name != "sources.csv")


@pytest.mark.parametrize("path", FILES, ids=lambda path: f"{path.parent.name}/{path.name}")
def test_rows_say_where_they_are_from(path: Path) -> None:
    reference = default_reference()
    known = {source.key for source in (*reference.sources, *sources_brought())}
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert rows
    for row in rows:
        assert row["obtained"] in GRADES, row
        assert bool(row["source"]) or row["obtained"] in UNSOURCED, row
        assert set(row["source"].split()) <= known, row
        if "resin" in row:
            assert row["resin"] in reference.symbols, row


def test_the_report_counts_every_row() -> None:
    """What the report says of a method's rows is what the files hold."""
    found = shares_brought(default_reference())
    assert len(found) == len({path.parent for path in FILES})
    with (METHODS / "burn" / "behaviour.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert found["burn"].rows == len(rows)
    assert found["burn"].unsourced == sum(row["obtained"] in UNSOURCED for row in rows)
