"""What a reading says besides itself: that a melting peak has a temperature implies that there is one.

A test names it in the class attribute ``implies``, as observations of other tests. Each is added to a
piece's observations unless the piece has that test already, so that what a reader would infer is scored
and shown like any other observation.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from resinid.methods.registry import is_built_in

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.methods.contract import Observation

__all__ = ["implied_by", "with_implied"]


def implied_by(test: type[Observation]) -> tuple[Observation, ...]:
    """Return what any reading of a test implies; a plug-in's implies nothing."""
    said: tuple[Observation, ...] = getattr(test, "implies", ())
    return said if is_built_in(test) else ()


def with_implied(observations: Iterable[Observation]) -> tuple[Observation, ...]:
    """Return the observations of one piece and, after them, what they imply and is not among them.

    Examples
    --------
    >>> from resinid import observe
    >>> [each.describe() for each in with_implied([observe("dsc_peak", temperature="164 degC")])]
    ['melting peak at 164.0 °C', 'melting peak: seen']
    """
    out = list(observations)
    for test in dict.fromkeys(map(type, out)):
        out += [each for each in implied_by(test) if not any(isinstance(done, type(each)) for done in out)]
    return tuple(out)
