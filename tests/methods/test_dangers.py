"""A danger is allowed by its name; a misspelt one is told in every place that takes one."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd
import pytest

import resinid
from resinid.batches.bag import read_batch
from resinid.methods.dangers import DANGERS, allowed_dangers
from resinid.methods.registry import listed
from resinid.tables.stream import identify_file

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

PIECES = pd.DataFrame({"float.liquid": ["water"], "float.outcome": ["floats"]})
FLOATS = [{"test": "float", "liquid": "water", "outcome": "floats"}]

PLACES: list[Callable[[Any], object]] = [
    lambda allow: resinid.identify(FLOATS, allow=allow),
    lambda allow: resinid.observe("snap", outcome="snaps", allow=allow),
    lambda allow: resinid.next_tests(FLOATS, allow=allow),
    lambda allow: resinid.identify_table(PIECES, allow=allow),
    lambda allow: resinid.ladder(["PP", "PS"], allow=allow),
    lambda allow: resinid.mix_bath("1.07 g/cm3", "1 L", "table salt", allow=allow),
    lambda allow: resinid.correct_bath("1.06 g/cm3", "1 L", "1.07 g/cm3", "table salt", allow=allow),
    lambda allow: resinid.Batch.of("caps", marked={"PP": 3}, allow=allow),
]


@pytest.mark.parametrize("place", PLACES)
def test_a_misspelt_danger_is_told_everywhere(place: Callable[[Any], object]) -> None:
    with pytest.raises(resinid.InputError, match=r"allow: 'brun' is no danger known here; .*did you mean 'burn'"):
        place(["brun"])
    with pytest.raises(resinid.InputError, match=r"allow.*is not a list"):
        place("burn")
    for danger in DANGERS:
        place([danger])


def test_a_misspelt_danger_leaves_no_file_behind(tmp_path: Path) -> None:
    source = tmp_path / "pieces.csv"
    PIECES.to_csv(source, index=False)
    with pytest.raises(resinid.InputError, match="did you mean 'burn'"):
        identify_file(source, tmp_path / "answers.csv", allow=["brun"])
    assert [file.name for file in tmp_path.iterdir()] == ["pieces.csv"]


def test_a_bag_tells_it_with_its_other_faults() -> None:
    with pytest.raises(resinid.InputError) as caught:
        read_batch('batch = "caps"\nallow = ["brun"]\nprocess = "by hand"\n')
    assert {fault.place for fault in caught.value.faults} >= {"allow", "process"}


def test_dangers_of_all_built_in_tests_are_known() -> None:
    """Else a built-in test could be allowed only by asking every plug-in first."""
    asked = {getattr(test, "only_if_allowed", "") for entry in listed() for test in entry.method.tests}
    assert asked - {""} <= set(DANGERS)


def test_the_order_and_the_number_of_names_stay() -> None:
    assert allowed_dangers(("burn", "solvent", "burn")) == ("burn", "solvent", "burn")
