"""What was given is repeated in a message safely and briefly."""

from __future__ import annotations

from typing import Any

from hypothesis import given
from hypothesis import strategies as st

from resinid.errors import LONGEST, place_of, shown


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


@given(st.one_of(st.text(max_size=300), st.integers(), st.floats(), st.lists(st.text()), st.none()))
def test_it_is_the_repr_cut_short(value: object) -> None:
    """Law: at most so many characters, and the repr itself where that is short."""
    told = shown(value)
    assert len(told) <= LONGEST
    assert told == repr(value) or (len(repr(value)) > LONGEST and told.endswith("..."))


def test_what_has_no_repr_is_named_by_its_kind() -> None:
    assert [shown(each) for each in (Mute(), deep(), 10**5000)] == ["<Mute>", "<list>", "<int>"]
    assert place_of("prior", Mute()) == "prior.<Mute>"
