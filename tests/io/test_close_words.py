"""Which word may be meant: never the opposite of what was written."""

from __future__ import annotations

import pytest

from resinid import Batch, InputError, observe
from resinid.cli.meanings import MEANINGS
from resinid.io.close_words import nearest, same_word
from resinid.methods.registry import listed
from resinid.report.lists import words_of

FLOATS = ("floats", "hovers", "sinks")


@pytest.mark.parametrize(
    ("word", "names", "meant"),
    [
        ("swims", FLOATS, "floats"),
        ("Swims", FLOATS, "floats"),
        ("flaots", FLOATS, "floats"),
        ("sank", FLOATS, "sinks"),
        ("drowns", FLOATS, "sinks"),
        ("marks", ("batch", "piece", "flakes", "marked", "remarks"), "marked"),
        ("remark", ("marked", "remarks"), "remarks"),
        ("see-through", ("clear", "translucent", "opaque"), "clear"),
        ("unmarked", ("marked", "remarks"), ""),
        ("inflexible", ("limp", "flexible"), ""),
        ("not green", ("green", "yellow"), ""),
        ("zzz", FLOATS, ""),
    ],
)
def test_nearest(word: str, names: tuple[str, ...], meant: str) -> None:
    assert nearest(word, names) == meant


def test_no_everyday_word_is_an_outcome_of_the_test_it_is_read_for() -> None:
    """Then it would be taken for another one."""
    for entry in listed():
        for test in entry.method.tests:
            for words in words_of(test).values():
                for word in words:
                    assert nearest(word, words) in {word.lower(), nearest(word, [word])}


@pytest.mark.parametrize(
    "way", ["injection moulded", "injection moulding", "Injection molded", "injection-molding", "INJECTION MOLDING"]
)
def test_pieces_and_bags_take_how_it_was_made_in_the_same_words(way: str) -> None:
    """Pieces once said "injection moulded" only, and bags "injection moulding"."""
    assert observe("process", outcome=way) == observe("process", outcome="injection moulded")
    assert Batch.of("caps", marked={"PE-HD": 3}, process=way).process == "injection moulding"


def test_other_ways_and_what_is_not_clear() -> None:
    assert observe("process", outcome="extrusion") == observe("process", outcome="extruded")
    assert Batch.of("caps", marked={"PP": 3}, process="thermoformed").process == "thermoforming"
    assert same_word("moulded", ("injection moulded", "blow moulded")) == ""
    with pytest.raises(InputError, match="is not one of"):
        observe("process", outcome="moulded")


def test_float_misspelt_in_a_document_is_no_opposite() -> None:
    with pytest.raises(InputError, match="did you mean 'floats'") as caught:
        observe("float", liquid="water", outcome="swims")
    assert "did you mean 'sinks'" not in str(caught.value)


def test_a_bag_with_marks_is_told_of_marked() -> None:
    with pytest.raises(InputError, match="did you mean 'marked'"):
        Batch.of("caps", marks={"PP": 3})  # type: ignore[call-arg]  # because it is misspelt on purpose


def test_every_meaning_is_of_an_answer_that_can_be_given() -> None:
    words = {
        test.test: {word for options in words_of(test).values() for word in options}
        for entry in listed()
        for test in entry.method.tests
    }
    for test, meanings in MEANINGS.items():
        assert set(meanings) <= words[test], test
    for test in ("float", "feel", "snap", "transparency", "acetone", "process"):
        assert set(MEANINGS[test]) == words[test] - ({"strip", "film"} if test == "feel" else set()), (
            test
        )  # a field not asked for
