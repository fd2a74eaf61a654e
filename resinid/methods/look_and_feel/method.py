"""Look and feel: transparency, how the surface feels, and how a piece sounds when it is dropped.

What the words mean is published in part only; the rows of the behaviour table and of
``behaviour.csv`` beside this file, which has what makers print of transparency, say which.
A piece looks as its pigment makes it look, so transparency is asked of natural, unpigmented
pieces. How a surface feels and how a piece sounds both go with stiffness, which the
dependences below state.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from resinid.methods.by_variant import ByVariant
from resinid.methods.contract import Method
from resinid.methods.shapes import SOLID_WALL
from resinid.methods.word_test import WordTest, word_test
from resinid.scoring.properties import CategoricalProperty, Dependence

__all__ = ["METHOD", "DropSound", "SurfaceFeel", "Transparency"]

FOLDER: Final = Path(__file__).parent

MINUTES: Final = 0.5
"""[min] To look, touch or drop (common practice, no source)."""

STIFF: Final = "soft and stiff pieces are told apart by it as well (common practice, no source)"


def _stiff(name: str, outcomes: tuple[str, ...]) -> CategoricalProperty:
    return CategoricalProperty(name, outcomes, folder=FOLDER, depends=(Dependence("flexural_modulus", 0.3, STIFF),))


TRANSPARENCY: Final = ByVariant(
    "transparency",
    ("clear", "translucent", "opaque"),
    folder=FOLDER,
    variants=("crosslinked foam", "foam", "foamed", "flame-retarded"),
)
SURFACE_FEEL: Final = _stiff("surface_feel", ("dry", "waxy", "rubbery", "tacky"))
DROP_SOUND: Final = _stiff("drop_sound", ("dull", "metallic ring"))


@word_test(
    TRANSPARENCY,
    "look through a natural, unpigmented piece",
    (
        "Only if the piece is natural, without pigment, and 1 to 3 mm thick: hold it over print.",
        "Clear shows the letters sharp, translucent lets light through, opaque lets none.",
    ),
    minutes=MINUTES,
    needs_shape=(SOLID_WALL,),
)
class Transparency(WordTest):
    """Whether a natural, unpigmented piece 1 to 3 mm thick is clear, translucent or opaque."""


@word_test(
    SURFACE_FEEL,
    "rub the clean surface with a finger",
    (
        "Wash off grease and dust; dry the piece and your hands.",
        "Rub it with a finger: waxy slides like a candle, rubbery grips, tacky sticks, else dry.",
    ),
    minutes=MINUTES,
)
class SurfaceFeel(WordTest):
    """How a clean, dry surface feels to the finger."""


@word_test(
    DROP_SOUND,
    "drop a piece on a hard floor and listen",
    (
        "Drop a solid piece, neither film nor foam, from the height of a table on stone or steel.",
        "Hear whether it rings like metal or lands dull.",
    ),
    minutes=MINUTES,
    needs_shape=(SOLID_WALL,),
)
class DropSound(WordTest):
    """How a piece sounds when it is dropped on a hard floor."""


METHOD: Final = Method(
    name="look and feel",
    version="2",
    summary="Transparency, how the surface feels, and how a piece sounds when it is dropped.",
    caution="",
    sources=("common practice, no source", "the rows of behaviour.csv and sources.csv"),
    tests=(Transparency, SurfaceFeel, DropSound),
)
