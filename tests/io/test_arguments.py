"""An argument of the wrong kind is refused by name, with a way out; no other error leaves the public functions."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any, Final

import pandas as pd
import pytest

from resinid import (
    InputError,
    UnknownNameError,
    default_reference,
    identify,
    identify_file,
    identify_table,
    ladder,
    mix_bath,
    next_tests,
    observe,
)
from resinid.methods.registry import built_in

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

METHOD: Final = built_in()[0]
SEEN: Final = [{"test": "float", "liquid": "water", "outcome": "floats"}]
PIECES: Final = pd.DataFrame({"float.liquid": ["water"], "float.outcome": ["floats"]})


CALLS: Final[dict[str, Callable[..., object]]] = {
    "identify": partial(identify, SEEN),
    "identify_table": partial(identify_table, PIECES),
    "next_tests": partial(next_tests, SEEN),
    "observe": partial(observe, "float", liquid="water", outcome="floats"),
    "ladder": partial(ladder, ["PP", "PS"]),
    "ladder of": ladder,
    "observe a": lambda **given: observe(given["test"]),
    "recipe": partial(mix_bath, "1.05 g/cm3", "500 mL", "table salt"),
    "recipe from": lambda solute: mix_bath("1.05 g/cm3", "500 mL", solute),
}
WHOLE: Final = ("identify", "identify_table", "next_tests")
WRONG: Final[list[tuple[tuple[str, ...], str, tuple[object, ...]]]] = [
    (WHOLE, "prior", (["PP"], None, 3, {1: 2})),
    ((*WHOLE, "observe"), "allow", (None, "burn", [1], {"burn": True})),
    ((*WHOLE, "observe"), "methods", (None, METHOD, "float")),
    (("observe a",), "test", ([1], None)),
    (("next_tests",), "enough", ("0.9", True)),
    (("next_tests", "ladder"), "bench", (["strip"], 3)),
    (("next_tests",), "question", ([1],)),
    (("next_tests",), "without", (None,)),
    (("ladder of",), "resins", ([1, 2], 3)),
    (("recipe from",), "solute", (None,)),
    (("recipe", "ladder"), "allow", (None, "flammable bath")),
    (("identify_table",), "top", (0, -1, "a", True, 1.5)),
    (("identify_table",), "workers", (0, -1, "a")),
]


@pytest.mark.parametrize(("calls", "name", "every"), WRONG, ids=[f"{calls[0]} {name}" for calls, name, _ in WRONG])
def test_it_is_refused_by_name(calls: tuple[str, ...], name: str, every: tuple[object, ...]) -> None:
    for call in calls:
        for wrong in every:
            with pytest.raises(InputError, match=name):
                CALLS[call](**{name: wrong})


def test_all_faulty_counts_are_told_together() -> None:
    with pytest.raises(InputError, match=r"top(?s:.*)workers"):
        identify_table(PIECES, top=0, workers=0)


@pytest.mark.parametrize("name", [1, None, ["PP"]])
def test_no_name_is_no_resin(name: Any) -> None:  # noqa: ANN401 - because it is wrong on purpose
    with pytest.raises(UnknownNameError, match="not the name of a resin"):
        default_reference().resin(name)


REFUSED: Final[dict[str, dict[str, Any]]] = {
    "a column to keep that is not there": {"keep": ["zz"]},
    "columns to keep as one text": {"keep": "id"},
    "an unknown prior": {"prior": "nope"},
    "no rows at a time": {"chunk": 0},
    "no workers": {"workers": -1},
    "no resins": {"top": 0},
}


@pytest.mark.parametrize("options", REFUSED.values(), ids=REFUSED)
def test_a_refused_file_leaves_nothing_behind(options: dict[str, Any], tmp_path: Path) -> None:
    source = tmp_path / "pieces.csv"
    PIECES.to_csv(source, index=False)
    with pytest.raises((InputError, UnknownNameError)):
        identify_file(source, tmp_path / "answers.csv", **options)
    assert [path.name for path in tmp_path.iterdir()] == ["pieces.csv"]
