"""What is recalled rather than read counts for less, in numbers and in words."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from resinid import default_table
from resinid.scoring.latents import aspect_latent
from resinid.table.entries import GRADES, UNSOURCED
from resinid.table.rules import DOUBT, TRUST
from resinid.vocabulary import ASPECTS

TABLE = default_table()


def test_numbers() -> None:
    """A statement from memory has less weight than any other grade's, and is wider."""
    read = [grade for grade in GRADES if grade not in UNSOURCED]
    assert max(TRUST[grade] for grade in UNSOURCED) < min(TRUST[grade] for grade in read)
    assert min(DOUBT[grade] for grade in UNSOURCED) > max(DOUBT[grade] for grade in read)


def test_words() -> None:
    """Were a cell of the behaviour table recalled, each outcome would tell less of the resin."""
    rows = [row for row in TABLE.behaviours if row.aspect == "snap"]
    symbols = {row.resin for row in rows if row.obtained not in UNSOURCED}
    recalled = tuple(replace(row, obtained="memory") if row.aspect == "snap" else row for row in TABLE.behaviours)
    read = aspect_latent(TABLE, "snap", ASPECTS["snap"])
    told = aspect_latent(replace(TABLE, behaviours=recalled, digest="recalled"), "snap", ASPECTS["snap"])
    even = 1.0 / len(ASPECTS["snap"])
    compared = 0
    for index, variant in enumerate(TABLE.variants):
        if variant.resin in symbols:
            compared += 1
            assert np.abs(told.mass[index] - even).max() < np.abs(read.mass[index] - even).max()
    assert compared > 20
