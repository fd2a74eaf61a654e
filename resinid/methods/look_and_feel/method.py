"""Look and feel: transparency, how the surface feels, and how a piece sounds when it is dropped.

What the words mean is published in part only; the rows of the behaviour table and of
``behaviour.csv`` beside this file, which has what makers print of transparency, say which.
A piece looks as its pigment makes it look, so transparency is asked of natural, unpigmented
pieces. How a surface feels and how a piece sounds both go with stiffness, which the
dependences below state.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Final

from resinid.door.fields import choice
from resinid.methods.aspects import AspectSeen
from resinid.methods.contract import Method
from resinid.scoring.observed import Aspect, Dependence

if TYPE_CHECKING:
    from collections.abc import Iterator

    from resinid.planning.have import Have
    from resinid.planning.plan import Plan

__all__ = ["METHOD", "DropSound", "SurfaceFeel", "Transparency"]

FOLDER: Final = Path(__file__).parent

MINUTES: Final = 0.5
"""[min] To look, touch or drop (common practice, no source)."""

STIFF: Final = "soft and stiff pieces are told apart by it as well (common practice, no source)"

TRANSPARENCY: Final = Aspect("transparency", ("clear", "translucent", "opaque"), folder=FOLDER)

SURFACE_FEEL: Final = Aspect(
    "surface_feel",
    ("dry", "waxy", "rubbery", "tacky"),
    folder=FOLDER,
    depends=(Dependence("flexural_modulus", 0.3, STIFF),),
)

DROP_SOUND: Final = Aspect(
    "drop_sound",
    ("dull", "metallic ring"),
    folder=FOLDER,
    depends=(Dependence("flexural_modulus", 0.3, STIFF),),
)


@dataclass(frozen=True, slots=True)
class Transparency(AspectSeen):
    """Whether a natural, unpigmented piece 1 to 3 mm thick is clear, translucent or opaque."""

    test: ClassVar[str] = "transparency"
    observes: ClassVar[Aspect] = TRANSPARENCY
    outcome: str = choice(TRANSPARENCY.outcomes)

    @classmethod
    def plans(cls, have: Have) -> Iterator[Plan]:  # noqa: ARG003 - because eyes are always at hand
        """Yield the look through the piece."""
        steps = (
            "Only if the piece is natural, without pigment, and 1 to 3 mm thick: hold it over print.",
            "Clear shows the letters sharp, translucent lets light through, opaque lets none.",
        )
        yield cls.plan("look through a natural, unpigmented piece", MINUTES, steps, needs=(), caution="")


@dataclass(frozen=True, slots=True)
class SurfaceFeel(AspectSeen):
    """How a clean, dry surface feels to the finger."""

    test: ClassVar[str] = "surface_feel"
    observes: ClassVar[Aspect] = SURFACE_FEEL
    outcome: str = choice(SURFACE_FEEL.outcomes)

    @classmethod
    def plans(cls, have: Have) -> Iterator[Plan]:  # noqa: ARG003 - because a finger is always at hand
        """Yield the touch."""
        steps = (
            "Wash off grease and dust; dry the piece and your hands.",
            "Rub it with a finger: waxy slides like a candle, rubbery grips, tacky sticks, else dry.",
        )
        yield cls.plan("rub the clean surface with a finger", MINUTES, steps, needs=(), caution="")


@dataclass(frozen=True, slots=True)
class DropSound(AspectSeen):
    """How a piece sounds when it is dropped on a hard floor."""

    test: ClassVar[str] = "drop_sound"
    observes: ClassVar[Aspect] = DROP_SOUND
    outcome: str = choice(DROP_SOUND.outcomes)

    @classmethod
    def plans(cls, have: Have) -> Iterator[Plan]:  # noqa: ARG003 - because a floor is always at hand
        """Yield the drop."""
        steps = (
            "Drop a solid piece, neither film nor foam, from the height of a table on stone or steel.",
            "Hear whether it rings like metal or lands dull.",
        )
        yield cls.plan("drop a piece on a hard floor and listen", MINUTES, steps, needs=(), caution="")


METHOD: Final = Method(
    name="look and feel",
    version="1",
    summary="Transparency, how the surface feels, and how a piece sounds when it is dropped.",
    caution="",
    sources=("common practice, no source", "the rows of behaviour.csv and sources.csv"),
    tests=(Transparency, SurfaceFeel, DropSound),
)
"""The method as the registry lists it."""
