"""What a film or bag cannot be asked: a test of a strip or a solid part says there how thin it is."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

__all__ = ["FILMS", "OF_SOLID_PARTS", "unsuited"]

FILMS: Final = frozenset({("article", "film or bag"), ("process", "film")})
"""Tests and outcomes by which a piece is a film."""

OF_SOLID_PARTS: Final = ("feel", "cantilever_bend", "snap", "whitening", "drop_sound", "transparency")
"""Tests whose steps ask for a strip or a solid part of 1 mm or more (common practice, no source)."""


def unsuited(entries: Iterable[Mapping[str, object]]) -> tuple[str, ...]:
    """Return the tests that make no sense after some observations, as written.

    Examples
    --------
    >>> unsuited([{"test": "article", "outcome": "Film or bag"}])[0], unsuited([{"test": "article", "outcome": "pipe"}])
    ('feel', ())
    """
    seen = {(entry.get("test"), str(entry.get("outcome")).strip().lower()) for entry in entries}
    return OF_SOLID_PARTS if seen & FILMS else ()
