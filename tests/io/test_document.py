"""Documents: every fault listed with its place, nothing else escapes."""

from __future__ import annotations

import json

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from resinid import InputError, ResinidError, identify
from resinid.io.document import read_document

GOOD = """
piece = "cap"
prior = "uniform"

[liquid.jug]
solute = "ethanol"
amount = "40 %v/v"

[[observation]]
test = "float"
liquid = "jug"
outcome = "sinks"

[[observation]]
test = "float"
liquid = "water"
outcome = "floats"
"""


def test_jugs_are_put_in() -> None:
    document = read_document(GOOD)
    first, second = document.observations
    assert getattr(first["liquid"], "label", None) == "jug"
    assert second["liquid"] == "water"
    assert document.prior == "uniform"
    assert identify(document.observations, prior=document.prior).leader


def test_json_says_the_same() -> None:
    data = {
        "piece": "cap",
        "prior": "uniform",
        "liquid": {"jug": {"solute": "ethanol", "amount": "40 %v/v"}},
        "observation": [
            {"test": "float", "liquid": "jug", "outcome": "sinks"},
            {"test": "float", "liquid": "water", "outcome": "floats"},
        ],
    }
    assert read_document(json.dumps(data)) == read_document(GOOD)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "is empty"),
        ("   \n", "is empty"),
        ("piece = ", "is not TOML"),
        ('{"piece": ', "is not JSON"),
        ('{"piece": NaN, "observation": []}', "NaN"),
        ('{"piece": "a", "piece": "b"}', "twice"),
        ("{" + '"a":{' * 100000, "is not JSON"),
        ("a = " + "[" * 100000, "is not TOML"),
        ("x" * 1_000_001, "longer than"),
        ('peice = "cap"', "did you mean 'piece'"),
        ('piece = "cap"', "observation: is missing"),
        ("observation = 3", "two brackets"),
        ("[observation]\ntest = 'float'", "two brackets"),
        ("observation = [3]", "is not a table"),
        ("piece = 3", "is not a text"),
        ("prior = 3", "neither a name"),
        ("liquid = 3", "named jugs"),
        ("[liquid.a]\nsolute = 'blorg'", "liquid.a: no liquid is named"),
    ],
)
def test_faults(text: str, says: str) -> None:
    with pytest.raises(InputError, match=says):
        read_document(text)


def test_all_faults_of_all_observations_at_once() -> None:
    entries = [
        {"test": "float", "liquid": "water", "outcome": "flaots"},
        {"test": "weighing", "in_air": "-5 g", "in_liqiud": "1 g", "liquid": "water"},
        {"test": "wieghing"},
        {"tset": "float"},
        {"test": "density", "density": "0.95 g"},
        {"test": "hot_plate", "not_melted_at": "170 degC", "melted_at": "150 degC"},
        {"test": "weighing", "in_air": "5 g", "in_liquid": "6 g", "liquid": "water"},
        {"test": "cylinder", "in_air": "50.0 g", "before": "50.0 mL", "after": "51.0 mL"},
        3,
    ]
    with pytest.raises(InputError) as caught:
        identify(entries)  # type: ignore[arg-type]  # because the last entry is wrong on purpose
    places = [str(fault) for fault in caught.value.faults]
    expected = [
        ("observation[1].outcome", "did you mean 'floats'"),
        ("observation[2].in_air", "impossible"),
        ("observation[2].in_liqiud", "did you mean 'in_liquid'"),
        ("observation[2].in_liquid", "is missing"),
        ("observation[3]", "did you mean 'weighing'"),
        ("observation[4].test", "is missing"),
        ("observation[5].density", "is not one of density"),
        ("observation[6].melted_at", "does not harden"),
        ("observation[7].in_liquid", "lighter in a liquid"),
        ("observation[8]", "impossible for a plastic"),
        ("observation[9]", "neither an observation"),
    ]
    for place, says in expected:
        assert any(line.startswith(f"{place}:") and says in line for line in places), (place, says, places)


TREES = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=8),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)


@settings(deadline=None)
@given(TREES, TREES, TREES)
def test_any_tree_is_read_or_refused(piece: object, jug: object, observation: object) -> None:
    """Whatever JSON a document holds, only our own errors escape."""
    text = json.dumps(
        {"piece": piece, "liquid": {"a": jug}, "observation": [observation, {"test": "float", "liquid": jug}]}
    )
    try:
        identify(read_document(text).observations)
    except ResinidError:
        return


@settings(deadline=None)
@given(st.text(max_size=60))
def test_any_text_is_read_or_refused(text: str) -> None:
    """Whatever text a document is, only our own errors escape."""
    try:
        read_document(text)
    except ResinidError:
        return
