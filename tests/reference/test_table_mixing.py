"""The files on resins melted together: sources, names, grades, and faults named by line and column."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pytest
from checksums import REFERENCE

from resinid.errors import TableError
from resinid.reference.entries import RATINGS
from resinid.reference.rules import UNSOURCED
from resinid.reference.table import default_reference, load_reference

if TYPE_CHECKING:
    from pathlib import Path

TABLE = default_reference()
GROUPS = "name,members,source,locator,obtained,note\n"


def test_every_row_has_a_source_or_says_that_it_has_none() -> None:
    known = {source.key: source for source in TABLE.sources}
    entries: list[Any] = [*TABLE.blends, *TABLE.limits, *TABLE.thermals, *TABLE.solubilities]
    entries += [*TABLE.demand, *TABLE.melt_groups]
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
        ("demand", "resin,share,part,source,locator,obtained,note\nXX,2,1,,,memory,\n", ":2:resin"),
        ("demand", "resin,share,part,source,locator,obtained,note\nPP,2,1.1,,,memory,\n", ":2:part"),
        ("demand", "resin,share,part,source,locator,obtained,note\nPP,2,1,nobody,,trade table,\n", ":2:source"),
        ("melt_groups", f"{GROUPS}nylon,PA12 XX,,,memory,\n", ":2:members"),
        ("melt_groups", f"{GROUPS}nylon,PA12 PA12,,,memory,\n", ":2:members"),
        ("melt_groups", f"{GROUPS}nylon,PA12 PA6,,,memory,\n", ":2:members"),
        ("melt_groups", f"{GROUPS}PP,PP EVAC,,,memory,\n", ":2:name"),
        ("melt_groups", f"{GROUPS}nylon,PA12,nobody,,handbook,\n", ":2:source"),
        ("melt_groups", f"{GROUPS}nylon,PA12,,,handbook,\n", ":2:source"),
    ],
)
def test_a_wrong_row_is_named(tmp_path: Path, file: str, text: str, place: str) -> None:
    (tmp_path / f"{file}.csv").write_text(text, encoding="utf-8")
    with pytest.raises(TableError) as caught:
        TABLE.extended(tmp_path)
    assert any(place in fault.place for fault in caught.value.faults), caught.value


def test_melt_groups_are_loaded_extended_and_part_of_the_digest(tmp_path: Path) -> None:
    """A group of the same name replaces ours; a folder without the file has no groups of its own."""
    assert [group.name for group in TABLE.melt_groups] == ["polyethylene", "polystyrene", "polyamide 6 and 66"]
    (tmp_path / "melt_groups.csv").write_text(f"{GROUPS}polystyrene,PS PS-HI,,,memory,ours\n", encoding="utf-8")
    own = TABLE.extended(tmp_path)
    assert {group.name: group.members for group in own.melt_groups}["polystyrene"] == ("PS", "PS-HI")
    assert own != TABLE
    alone = tmp_path / "alone"
    alone.mkdir()
    for name in ("sources", "resins", "variants", "properties", "components"):
        (alone / f"{name}.csv").write_bytes((REFERENCE / f"{name}.csv").read_bytes())
    assert load_reference(alone).melt_groups == ()


def test_ones_own_rating_replaces_ours(tmp_path: Path) -> None:
    from resinid.batches.pair_compatibility import pair_of

    text = "first,second,rating,note,source,locator,obtained\nPE-HD,PP,compatible,our own slabs,,,memory\n"
    (tmp_path / "blends.csv").write_text(text, encoding="utf-8")
    assert pair_of(TABLE.extended(tmp_path), "PP", "PE-HD").rating == "compatible"
    assert (REFERENCE / "blends.csv").is_file()
