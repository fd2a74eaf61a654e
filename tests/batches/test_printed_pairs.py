"""What the tool says of pairs that are published, from sources which the table of blends does not cite.

Each row of ``printed_pairs.csv`` names its source, what that says, and what of it was read. The rows were written
down before the tool was asked, and no figure of the tool is to be set by them. A row is ``compatible`` where the
source reports an alloy that holds together though it has two phases or is partly miscible. Run with ``-s`` to see
the table.
"""

from __future__ import annotations

import csv
import itertools
import re
from collections import Counter
from pathlib import Path
from typing import Final

from scipy.stats import binomtest

from resinid import Batch, default_reference
from resinid.batches.compatibility import judge
from resinid.batches.mix import mix_of
from resinid.batches.mix_part import mix_part
from resinid.batches.outcome import DELAMINATES, HEATS_APART, LIMITS, ONE_MELT
from resinid.batches.pair_compatibility import pair_of
from resinid.heating.verdict import DO_NOT_HEAT

TABLE: Final = default_reference()
with Path(__file__).with_name("printed_pairs.csv").open(encoding="utf-8", newline="") as opened:
    ROWS: Final = list(csv.DictReader(opened))

SAID: Final = (ONE_MELT, LIMITS, DELAMINATES, HEATS_APART)
AGREES: Final = {
    "miscible": {ONE_MELT},
    "compatible": {ONE_MELT, LIMITS},
    "delaminates": {DELAMINATES, HEATS_APART},
    "heats apart": {HEATS_APART},
}
HOLD: Final = ("miscible", "compatible")


def test_no_row_is_from_a_source_of_the_table() -> None:
    """A row shares no address, no volume and pages, and hardly a long word with any citation of the table's rows."""

    def words(text: str) -> set[str]:
        return set(re.findall(r"[^\W\d_]{6,}", text.casefold()))

    cited = [TABLE.source(key) for key in {key for row in TABLE.blends for key in row.source.split()}]
    for row, source in itertools.product(ROWS, cited):
        marks = re.findall(r"10\.\d{4,}/\S+|\b\d+-\d{2,}\b", row["source"])
        assert not [mark for mark in marks if mark in f"{source.citation} {source.url}"], row
        assert len(words(row["source"]) & words(source.citation)) < 6, (row, source)
    assert sum(row["read"] != "from memory" for row in ROWS) >= 40


def test_the_tool_hardly_ever_promises_more_than_is_printed() -> None:
    """What comes apart in print is called so nearly always; what holds in print often is not, for estimates err."""
    parts = {
        (resin, side): mix_part(Batch.of(side, marked={resin: 150}, mfr="5 ± 0.5 g/(10 min)"), TABLE)
        for row in ROWS
        for resin, side in ((row["first"], "a"), (row["second"], "b"))
    }
    said, rated, barred = Counter[tuple[str, str]](), Counter[tuple[bool, bool]](), 0
    for row in ROWS:
        share = float(row["share_of_second"]) / 100.0
        found = judge(
            mix_of([parts[row["first"], "a"], parts[row["second"], "b"]], [1.0 - share, share], TABLE), explain=False
        )
        said[row["published"], found.outcome] += 1
        barred += found.verdict == DO_NOT_HEAT
        rated[not pair_of(TABLE, row["first"], row["second"]).estimate, found.outcome in AGREES[row["published"]]] += 1
    print(f"\n{'in print':12}" + "".join(f"{word:>34}" for word in SAID))
    for kind in AGREES:
        print(f"{kind:12}" + "".join(f"{said[kind, word]:34}" for word in SAID))
    for what, known in (("rated by the table", True), ("estimated", False)):
        print(f"agree, {what}: {rated[known, True]} of {rated[known, True] + rated[known, False]}")
    memory = sum(row["read"] == "from memory" for row in ROWS)
    print(f"DO NOT HEAT whatever becomes of the melt: {barred} of {len(ROWS)}; rows from memory: {memory}")
    apart = sum(count for (kind, _), count in said.items() if kind not in HOLD)
    promised = sum(count for (kind, word), count in said.items() if kind not in HOLD and word in {ONE_MELT, LIMITS})
    assert binomtest(promised, apart).proportion_ci(method="wilson").high < 0.25
    assert not sum(said[kind, ONE_MELT] for kind in AGREES if kind not in HOLD)
