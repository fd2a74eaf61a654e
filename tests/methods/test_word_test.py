"""Tests declared in words: what the declaration alone decides."""

from __future__ import annotations

import pickle

import pytest

from resinid import MethodError, observe
from resinid.methods.bench import Bench
from resinid.methods.registry import built_in
from resinid.methods.word_test import WordTest, word_test

STEPS = ("Fold a strip double.", "See what it does.")


@word_test("snap", "fold", STEPS, minutes=1.0, needs=("strip", "hot plate", "vice"), actions=1)
class Fold(WordTest):
    """What a folded strip does."""


def test_it_is_a_class_like_any_other() -> None:
    """Found again by its name when unpickled; frozen; equal where the word is."""
    kept = pickle.dumps(Fold("creases"))
    assert pickle.loads(kept) == Fold("creases") != Fold("snaps")  # noqa: S301 - because it was pickled in this test
    assert (Fold.__module__, Fold.__qualname__, Fold.__doc__) == (__name__, "Fold", "What a folded strip does.")
    with pytest.raises(AttributeError):
        Fold("snaps").outcome = "creases"  # type: ignore[misc]  # because that is what is tested


def test_offered_only_where_all_it_needs_is_at_hand() -> None:
    every = Bench(tools=("vice",))
    assert [plan.needs for plan in Fold.plans(every)] == [("strip", "hot plate", "vice")]
    for short in (Bench(), Bench(strip=False, tools=("vice",)), Bench(hot_plate=None, tools=("vice",))):
        assert list(Fold.plans(short)) == []


def test_chance_of_a_mishap_follows_the_actions() -> None:
    """One action goes wrong in 3 %, two, as most tests have, in 1 - 0.97^2."""
    assert Fold("snaps").term().outlier == pytest.approx(0.03)
    assert observe("snap", outcome="snaps").term().outlier == pytest.approx(1 - 0.97**2)


def test_a_misspelt_outcome_cannot_forbid_heating() -> None:
    """Else it would forbid nothing, and no one would know."""
    declare = word_test("snap", "fold", STEPS, minutes=1.0, forbids={"snapped": "it flies"})
    with pytest.raises(MethodError, match=r"snap: \['snapped'\] cannot forbid heating"):
        declare(type("Misspelt", (WordTest,), {"__doc__": "Misspelt."}))


def test_outcomes_that_forbid_heating() -> None:
    """Of all tests in words: green on the wire, going out by itself, the smell of hydrochloric acid or camphor."""
    words = [test for method in built_in() for test in method.tests if issubclass(test, WordTest)]
    forbidding = {(test.test, word) for test in words for word in test.words() if test(word).forbids_heating()}
    assert forbidding == {
        ("copper_wire", "green"),
        ("burn_self_extinguishing", "yes"),
        ("burn_smell", "hydrochloric acid"),
        ("rub_smell", "camphor"),
    }
