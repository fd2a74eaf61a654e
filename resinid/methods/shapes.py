"""Which shapes a test asks for, and which of them a kind of article does not have.

A test says in ``needs_shape`` what its steps take for granted of the piece, such as a strip that can be
clamped; an observation of the article says in ``lacks_shape()`` what such an article never offers. What
meets is not offered. A reading that means something else without the shape says so itself, in
``without_shape()``: how limp a film is tells of its thickness and not of its resin.

Only built-in tests are asked what a piece lacks: a plug-in must not silence others.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Final, TypeVar

from resinid.methods.registry import is_built_in

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from resinid.methods.contract import Observation
    from resinid.methods.test_plan import TestPlan

T = TypeVar("T")

__all__ = [
    "FLAT_FACE",
    "LONG_STRIP",
    "SHAPES",
    "SOLID_WALL",
    "THICK_STRIP",
    "WALL",
    "as_shaped",
    "shaped",
    "shapes_lacked",
    "suited",
]

WALL: Final = "wall"
SOLID_WALL: Final = "solid wall"
THICK_STRIP: Final = "thick strip"
LONG_STRIP: Final = "long strip"
FLAT_FACE: Final = "flat face"

SHAPES: Final = MappingProxyType(
    {
        WALL: "neither film nor fibre: some tenths of a millimetre thick",
        SOLID_WALL: "the same, and no foam",
        THICK_STRIP: "a strip 2 to 3 mm thick, a finger wide",
        LONG_STRIP: "an even strip 60 to 100 mm long",
        FLAT_FACE: "a flat, solid face, a finger wide and 2 mm thick or more",
    }
)
"""What tests ask for; what articles offer is common practice, no source."""


def shapes_lacked(observations: Iterable[Observation]) -> frozenset[str]:
    """Return the shapes that a piece does not have, by what was observed of it.

    Examples
    --------
    >>> from resinid import observe
    >>> sorted(shapes_lacked([observe("article", outcome="screw cap")]))
    ['flat face', 'long strip', 'thick strip']
    """
    lacked: set[str] = set()
    for each in observations:
        tell: Callable[[], Iterable[str]] | None = getattr(each, "lacks_shape", None)
        if tell and is_built_in(type(each)):
            lacked.update(tell())
    return frozenset(lacked)


def suited(plans: Iterable[TestPlan], observations: Iterable[Observation]) -> list[TestPlan]:
    """Return the plans that ask for no shape the piece lacks."""
    lacked = shapes_lacked(observations)
    return [plan for plan in plans if not lacked.intersection(plan.needs_shape)]


def shaped(observation: T, lacked: frozenset[str]) -> T:
    """Return an observation as it must be read of a piece that lacks some shapes."""
    change: Callable[[frozenset[str]], T] | None = getattr(observation, "without_shape", None)
    return change(lacked) if change and lacked and is_built_in(type(observation)) else observation


def as_shaped(observations: tuple[Observation, ...]) -> tuple[Observation, ...]:
    """Return the observations of one piece, each as it must be read given what the others say of its shape.

    Examples
    --------
    >>> from resinid import observe
    >>> as_shaped((observe("article", outcome="film or bag"), observe("feel", outcome="limp")))[1].describe()
    'feels limp, as any film or fibre does (not counted)'
    """
    lacked = shapes_lacked(observations)
    return tuple(shaped(each, lacked) for each in observations) if lacked else observations
