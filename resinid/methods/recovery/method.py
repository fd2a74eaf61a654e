"""What a stretched, folded or dented piece does when it is let go: it springs back, recovers slowly or stays.

A rubber, stretched to twice its length and held for a minute, shortens within a minute to less than
1.5 times its length: that is its definition (ASTM D1566). Flexible polyurethane foam keeps nine tenths of its
height. Polyethylene past its yield stays bent or drawn out. So what must never be heated and bends like
polyethylene is told from it with bare hands. Foam and crosslinked sheet of polyethylene and of EVAC spring
back as well, and have rows of their own.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from resinid.methods.by_variant import ByVariant
from resinid.methods.contract import Method
from resinid.methods.word_test import WordTest, word_test
from resinid.scoring.properties import Dependence

__all__ = ["METHOD", "SPRING_BACK", "SpringBack"]

MINUTES: Final = 2.0
"""[min] A minute held and a minute let go (common practice, no source)."""

ONE_SPRING: Final = "what springs back when dented does so when it is folded (common practice, no source)"

SPRING_BACK: Final = ByVariant(
    "spring_back",
    ("springs back", "slowly recovers", "stays bent or dented"),
    folder=Path(__file__).parent,
    depends=(
        Dependence("snap", 0.4, ONE_SPRING),
        Dependence("surface_feel", 0.3, "rubbers feel rubbery (common practice, no source)"),
        Dependence("flexural_modulus", 0.3, "rubbers are soft (common practice, no source)"),
    ),
    variants=("crosslinked foam", "foam", "foamed", "flexible foam", "rigid foam", "dense rigid foam"),
)


@word_test(
    SPRING_BACK,
    "stretch, fold or dent the piece, let go and see whether it springs back",
    (
        "Stretch a strip by half and hold it a minute; fold flat what is too stiff, dent foam deeply with a thumb.",
        "Back by more than half at once: springs back; within minutes: slowly recovers; else stays. Snaps: can't.",
    ),
    minutes=MINUTES,
    caution="Goggles: what is stiff may snap and fly.",
)
class SpringBack(WordTest):
    """What a piece does that was stretched, folded flat or dented for a minute, and is let go."""


METHOD: Final = Method(
    name="recovery",
    version="1",
    summary="Whether a stretched, folded or dented piece springs back, as rubber and soft foam do.",
    caution="Goggles: what is stiff may snap and fly.",
    sources=("astm-d1566", "the rows of behaviour.csv and sources.csv", "common practice, no source"),
    tests=(SpringBack,),
)
