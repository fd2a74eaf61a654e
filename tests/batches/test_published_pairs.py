"""Published pairs of resins melted together, from sources other than the table's own rows.

Each line of ``tests/published/blend_pairs.csv`` names what its source says (an abstract seen
in a stored copy), and which verdicts agree with it. Where the source gives a good alloy a
verdict between one melt and usable with limits is taken; where it says immiscible, not one
melt. ``DO NOT HEAT`` is allowed where one of the two melts only above what the other bears.
Lines marked ``pair:`` hold a resin that must not be heated, so only the pair's rating is compared.
"""

from __future__ import annotations

import csv
from collections import Counter
from functools import cache
from pathlib import Path

import pytest

from resinid import Batch
from resinid.batches.compatibility import MeltCompatibility, judge
from resinid.batches.mix import mix_of
from resinid.batches.mix_part import MixPart, mix_part
from resinid.batches.outcome import DELAMINATES, HEATS_APART, judged
from resinid.batches.pair_compatibility import pair_of
from resinid.heating.verdict import DO_NOT_HEAT, NOT_YET
from resinid.reference.table import default_reference

TABLE = default_reference()
FILE = Path(__file__).parents[1] / "published" / "blend_pairs.csv"
with FILE.open(encoding="utf-8", newline="") as opened:
    ROWS = list(csv.DictReader(opened))


@cache
def well_known(resin: str, name: str) -> MixPart:
    """A bag that is certainly of a resin, its grade left open by a moderate measured flow."""
    return mix_part(Batch.of(name, marked={resin: 150}, mfr="5 ± 0.5 g/(10 min)"), TABLE)


def melted(first: str, second: str, share: float) -> MeltCompatibility:
    """Melt two such bags, so large a share of the second."""
    return judge(mix_of([well_known(first, "a"), well_known(second, "b")], [1.0 - share, share], TABLE), explain=False)


def test_there_are_enough() -> None:
    """At least 30 pairs, a good part of them ones that the table does not rate, of which the estimate speaks."""
    pairs = Counter(frozenset((row["first"], row["second"])) for row in ROWS)
    assert len(pairs) >= 30
    guessed = [pair for pair in pairs if pair_of(TABLE, *sorted(pair)).estimate]
    assert len(guessed) >= 5


@pytest.mark.parametrize("row", ROWS, ids=lambda row: f"{row['first']}/{row['second']}-{row['share_of_second']}")
def test_published_pair(row: dict[str, str]) -> None:
    pair = pair_of(TABLE, row["first"], row["second"])
    for key in pair.source.split():
        assert row["tag"] not in TABLE.source(key).citation, "the table's own row"
    allowed = row["allowed"].split("|")
    if allowed[0].startswith("pair:"):
        assert f"pair: {judged(pair.chances)}" in allowed, (row["says"], pair)
        return
    share = float(row["share_of_second"]) / 100.0
    found = melted(row["first"], row["second"], share)
    verdict = found.outcome if found.verdict == NOT_YET else found.verdict
    verdict = DELAMINATES if verdict == HEATS_APART else verdict
    assert verdict in allowed, (row["says"], found.deciding, found.chances)


def test_rows_of_the_table_are_reproduced() -> None:
    """Every rated pair comes out at its rating at a large share (a regression over the table's own rows)."""
    expected = {
        "miscible": {"one melt"},
        "compatible": {"one melt"},
        "limited": {"usable with limits"},
        "incompatible": {"will delaminate"},
        "dangerous": {"will delaminate"},
    }
    for row in TABLE.blends:
        other = "PE-HD" if row.second == "any" else row.second
        if {row.first, other} == {"CA", "PE-HD"} and row.second == "any":
            continue
        assert judged(pair_of(TABLE, row.first, other).chances) in expected[row.rating], row


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("PVC-U", "POM"),  # Routsis Training 2021: never in one machine, nor side by side
        ("PVC-P", "POM"),  # vinyl compound safety sheet, reactivity section
        ("PVC-U", "PET"),  # hydrogen chloride at PET temperatures
        ("PTFE", "PE-HD"),  # SPI guide, from memory
        ("CN", "PP"),  # HSE leaflet INDG469; NBS tests
        ("PUR", "PE-LD"),  # isocyanates
        ("NR", "PP"),
        ("PF", "PE-HD"),
        ("POM", "PET"),
    ],
)
def test_dangerous_pairs_are_never_heated(first: str, second: str) -> None:
    for share in (0.5, 0.05, 0.001):
        found = melted(first, second, 1.0 - share)
        assert found.verdict == DO_NOT_HEAT
        assert found.hazards[0].caution
