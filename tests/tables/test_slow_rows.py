"""What whole tables compute one by one is counted, and told once."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING

import pandas as pd
import pytest

from resinid import TableWarning, identify_table
from resinid.tables import frame as whole
from resinid.tables import stream

if TYPE_CHECKING:
    from pathlib import Path

TWICE = pd.DataFrame(
    {
        "density [g/cm3]": [0.950, 0.951, 0.951, 0.953],
        "density_u [g/cm3]": 0.004,
        "density#2.density [g/cm3]": [0.952, 0.953, 0.953, None],
        "density#2.density_u [g/cm3]": 0.004,
    }
)
"""Four pieces: two different pairs of readings, one of them twice, and one reading that is alone."""


def test_combinations_are_counted_and_told_once(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Equal combinations are one; few are not told; many are told once, of a file as well."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert identify_table(TWICE).singly == 2
        assert identify_table(TWICE.iloc[3:]).singly == 0
    monkeypatch.setattr(whole, "MANY", 2)
    with pytest.warns(TableWarning, match="2 combinations of readings were computed one by one"):
        assert identify_table(TWICE).to_dict()["singly"] == 2
    TWICE.to_csv(tmp_path / "in.csv", index=False)
    found = stream.identify_file(tmp_path / "in.csv", tmp_path / "out.csv")
    assert [note for note in found.notes if "one by one" in note] == list(whole.slow_notes(2))
