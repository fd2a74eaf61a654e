"""The files on resins melted together: sources, names, grades, and faults named by line and column."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from checksums import REFERENCE

from resinid.errors import TableError
from resinid.reference.entries import RATINGS
from resinid.reference.rules import UNSOURCED
from resinid.reference.table import default_reference

if TYPE_CHECKING:
    from pathlib import Path

TABLE = default_reference()


def test_every_row_has_a_source_or_says_that_it_has_none() -> None:
    known = {source.key: source for source in TABLE.sources}
    entries: list[Any] = [*TABLE.blends, *TABLE.limits, *TABLE.thermals, *TABLE.solubilities]
    for entry in entries:
        keys = entry.source.split()
        assert keys or entry.obtained in UNSOURCED, entry
        if any(known[key].read == "memory" for key in keys):
            assert entry.obtained in UNSOURCED, entry
        if entry.obtained not in UNSOURCED:
            assert entry.locator, entry


def test_pairs_are_rated_once_and_cover_what_a_workshop_meets() -> None:
    assert {row.rating for row in TABLE.blends} == set(RATINGS)
    assert len(TABLE.blends) >= 90
    rated = {frozenset((row.first, row.second)) for row in TABLE.blends}
    common = ("PE-HD", "PE-LD", "PP", "PS", "PET")
    assert all(frozenset((a, b)) in rated for a in common for b in common if a < b)


@pytest.mark.parametrize(
    ("file", "text", "place"),
    [
        ("blends", "first,second,rating,note,source,locator,obtained\nPE-HD,PP,good,,,,memory\n", ":2:rating"),
        ("blends", "first,second,rating,note,source,locator,obtained\nPE-HD,XX,limited,,,,memory\n", ":2:second"),
        ("blends", "first,second,rating,note,source,locator,obtained\nany,PP,limited,,,,memory\n", ":2:first"),
        (
            "contamination_limits",
            "resin,contaminant,share,effect,note,source,locator,obtained\nPP,PS,80,harm,,,,memory\n",
            ":2:share",
        ),
        (
            "thermal",
            "subject,property,low,typical,high,condition,source,locator,obtained,note\nPP,heat,1,,2,,,,memory,\n",
            ":2:property",
        ),
        (
            "thermal",
            "subject,property,low,typical,high,condition,source,locator,obtained,note\nPP,heat_capacity,3,,2,,,,memory,\n",
            ":2:low",
        ),
        ("solubility", "resin,solubility_parameter,source,locator,obtained,note\nPP,99,,,memory,\n", ":2:solub"),
        (
            "solubility",
            "resin,solubility_parameter,source,locator,obtained,note\nPP,17,nobody,,handbook,\n",
            ":2:source",
        ),
    ],
)
def test_a_wrong_row_is_named(tmp_path: Path, file: str, text: str, place: str) -> None:
    (tmp_path / f"{file}.csv").write_text(text, encoding="utf-8")
    with pytest.raises(TableError) as caught:
        TABLE.extended(tmp_path)
    assert any(place in fault.place for fault in caught.value.faults), caught.value


def test_ones_own_rating_replaces_ours(tmp_path: Path) -> None:
    from resinid.batches.pair_compatibility import pair_of

    text = "first,second,rating,note,source,locator,obtained\nPE-HD,PP,compatible,our own slabs,,,memory\n"
    (tmp_path / "blends.csv").write_text(text, encoding="utf-8")
    assert pair_of(TABLE.extended(tmp_path), "PP", "PE-HD").rating == "compatible"
    assert (REFERENCE / "blends.csv").is_file()
