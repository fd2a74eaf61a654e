"""What a piece smells of when it is rubbed: camphor tells of celluloid, which flares up when heated.

Celluloid gives off camphor when it is rubbed gently with a soft cloth (Reilly 1991, section 4.1.1). Old
pieces may have lost it, so that no smell says little; and a smell of camphor forbids heating, whatever else
speaks for another resin.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from resinid.methods.contract import Method
from resinid.methods.word_test import WordTest, word_test
from resinid.scoring.properties import CategoricalProperty, Dependence

__all__ = ["METHOD", "RUB_SMELL", "RubSmell"]

MINUTES: Final = 1.0
"""[min] To rub and smell (common practice, no source)."""

CAUTION: Final = (
    "A short sniff from a hand's breadth; no flame or hot plate near, for celluloid catches fire easily. Not with "
    "pieces from chemistry, medicine or the bin, nor with a powdery or weeping surface."
)

CAMPHOR: Final = "it smells of camphor, as celluloid does, which flares up when it is heated"

RUB_SMELL: Final = CategoricalProperty(
    "rub_smell",
    ("camphor", "nothing", "other"),
    folder=Path(__file__).parent,
    depends=(Dependence("burn_smell", 0.5, "camphor is smelt in both (common practice, no source)"),),
)


@word_test(
    RUB_SMELL,
    "rub the piece and smell it",
    (
        "Wipe the piece clean and dry; rub one spot with a soft, clean cloth for half a minute, gently.",
        "Smell the spot at once: camphor (moth balls, balm for colds), nothing, or anything else.",
    ),
    minutes=MINUTES,
    caution=CAUTION,
    forbids={"camphor": CAMPHOR},
)
class RubSmell(WordTest):
    """What a spot smells of that was rubbed with a soft cloth."""


METHOD: Final = Method(
    name="rub smell",
    version="1",
    summary="What a rubbed piece smells of: camphor, a sign of celluloid, nothing or something else.",
    caution=CAUTION,
    sources=("reilly-1991", "the rows of behaviour.csv and sources.csv", "common practice, no source"),
    tests=(RubSmell,),
)
