"""What was given is repeated in a message safely and briefly."""

from __future__ import annotations

import inspect
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import resinid
from resinid import Batch, MethodError, ResinidError, UnknownNameError
from resinid.errors import LONGEST, place_of, safe_repr
from resinid.methods.bench_parser import as_bench

if TYPE_CHECKING:
    from collections.abc import Callable

SEEN: Final = {"test": "density", "density": "0.95 ± 0.01 g/cm3"}


class Mute:
    """Fails at saying what it is."""

    def __repr__(self) -> str:
        raise RuntimeError


def deep() -> list[Any]:
    """Return a list in a list, too deep for any repr."""
    found: list[Any] = []
    for _ in range(100_000):
        found = [found]
    return found


@settings(deadline=None)
@given(st.one_of(st.text(max_size=300), st.integers(), st.floats(), st.lists(st.text()), st.none()))
def test_it_is_the_repr_cut_short(value: object) -> None:
    """Law: at most so many characters, and the repr itself where that is short."""
    told = safe_repr(value)
    assert len(told) <= LONGEST
    assert told == repr(value) or (len(repr(value)) > LONGEST and told.endswith("..."))


def test_what_has_no_repr_is_named_by_its_kind() -> None:
    assert [safe_repr(each) for each in (Mute(), deep(), 10**5000)] == ["<Mute>", "<list>", "<int>"]
    assert place_of("prior", Mute()) == "prior.<Mute>"


CALLS: Final[dict[str, Callable[[Any], object]]] = {
    "observations": resinid.identify,
    "an observation": lambda wrong: resinid.identify([wrong]),
    "a test": lambda wrong: resinid.identify([{"test": wrong}]),
    "a test by name": resinid.observe,
    "a prior": lambda wrong: resinid.identify([SEEN], prior=wrong),
    "a weight": lambda wrong: resinid.identify([SEEN], prior={"PP": wrong}),
    "a resin of a prior": lambda wrong: resinid.identify([SEEN], prior={wrong: 1.0}),
    "a piece": lambda wrong: resinid.identify([SEEN], piece=[wrong]),  # type: ignore[arg-type]  # because all is wrong on purpose
    "a table": lambda wrong: resinid.identify([SEEN], reference=wrong),
    "dangers": lambda wrong: resinid.identify([SEEN], allow=[wrong]),
    "a danger limit": lambda wrong: resinid.identify([SEEN], danger_limit=wrong),
    "a question": lambda wrong: resinid.next_tests([SEEN], question=wrong),
    "an answer": lambda wrong: resinid.next_tests([SEEN], question={wrong: ["nope"]}),
    "resins of an answer": lambda wrong: resinid.next_tests([SEEN], question={"a": [wrong]}),
    "a ranking": lambda wrong: resinid.next_tests([SEEN], by=wrong),
    "what is at hand": as_bench,
    "a reagent": lambda wrong: resinid.Bench(reagents=[wrong]),  # type: ignore[arg-type]  # as above
    "a scale": lambda wrong: resinid.Bench(scale=wrong),
    "a liquid": lambda wrong: resinid.identify([{"test": "float", "liquid": wrong, "outcome": "floats"}]),
    "a solute": lambda wrong: resinid.parse_liquid({"solute": wrong, "amount": "5 %w/w"}),
    "an outcome": lambda wrong: resinid.identify([{"test": "float", "liquid": "water", "outcome": wrong}]),
    "a reading": lambda wrong: resinid.identify([{"test": "density", "density": wrong}]),
    "a chance": lambda wrong: resinid.identify([{**SEEN, "outlier": wrong}]),
    "steps": lambda wrong: resinid.ladder(["PP", "PS"], steps=wrong),
    "a mark": lambda wrong: resinid.observe("mark", reads=[wrong]),
    "a batch": resinid.batch_composition,
    "a marked resin": lambda wrong: resinid.batch_composition(Batch.of("b", marked={wrong: 1})),
    "a count": lambda wrong: Batch.of("b", marked={"PP": wrong}),
    "a remark": lambda wrong: Batch.of("b", remarks=[wrong]),
    "a test in a bag": lambda wrong: Batch.of("b", pieces=[[{"test": wrong}]]),
    "shares": lambda wrong: resinid.melt_together(Batch("a"), Batch("b"), shares=[wrong]),
    "a concentration": lambda wrong: resinid.batch_composition(Batch("a"), concentration=wrong),
    "a candidate": lambda wrong: resinid.identify([SEEN])[wrong],
}
WRONG: Final[dict[str, Callable[[], Any]]] = {"mute": Mute, "deep": deep, "long": lambda: "x" * 1_000_000}


@pytest.mark.parametrize("call", CALLS)
def test_no_message_fails_or_is_as_long_as_what_was_given(call: str) -> None:
    for name, wrong in WRONG.items():
        if name == "deep" and call in {"a resin of a prior", "an answer", "a marked resin"}:
            continue  # a list is no key
        with pytest.raises(ResinidError) as caught:
            CALLS[call](wrong())
        assert len(str(caught.value)) < 10_000, name


def test_numbers_of_numpys_are_numbers() -> None:
    weights: Any = {"PP": np.int64(2), "PS": np.float32(0.5)}
    limit: Any = np.float32(0.01)
    given_ = resinid.identify([SEEN], prior=weights, danger_limit=limit)
    assert given_.probability == resinid.identify([SEEN], prior={"PP": 2, "PS": 0.5}).probability
    for wrong in ({"PP": True}, {"PP": np.float64("nan")}, {"PP": 1j}):
        with pytest.raises(ResinidError, match=r"prior\.PP.* is not a weight"):
            resinid.identify([SEEN], prior=wrong)  # type: ignore[arg-type]  # as above


DOCUMENTED: Final[dict[str, tuple[Callable[..., object], type[ResinidError]]]] = {
    "identify, prior": (lambda: resinid.identify([SEEN], prior="nope"), UnknownNameError),
    "identify, methods": (lambda: resinid.identify([{"test": "nope"}], methods=[5]), MethodError),  # type: ignore[list-item]  # as above
    "observe, methods": (lambda: resinid.observe("nope", methods=[5]), MethodError),  # type: ignore[list-item]  # as above
    "next_tests, prior": (lambda: resinid.next_tests([SEEN], prior="nope"), UnknownNameError),
    "next_tests, question": (lambda: resinid.next_tests([SEEN], question="nope"), UnknownNameError),
    "next_tests, methods": (lambda: resinid.next_tests([SEEN], methods=[5]), MethodError),  # type: ignore[list-item]  # as above
    "same_resin, prior": (lambda: resinid.same_resin(Batch("a"), Batch("b"), prior="nope"), UnknownNameError),
    "batch_composition, prior": (lambda: resinid.batch_composition(Batch("a"), prior="nope"), UnknownNameError),
    "melt_together, prior": (lambda: resinid.melt_together(Batch("a"), Batch("b"), prior="nope"), UnknownNameError),
    "stock_matrix, prior": (lambda: resinid.stock_matrix([Batch("a")], prior="nope"), UnknownNameError),
}


@pytest.mark.parametrize("name", DOCUMENTED)
def test_what_a_function_raises_is_in_its_docstring(name: str) -> None:
    call, error = DOCUMENTED[name]
    with pytest.raises(error) as caught:
        call()
    function = getattr(resinid, name.partition(",")[0])
    raised = (inspect.getdoc(function) or "").partition("Raises\n")[2].partition("Notes\n")[0]
    assert f"\n{type(caught.value).__name__}\n" in raised
