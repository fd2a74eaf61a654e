"""What a melt looks like: clear or cloudy, stringing, running, melting at once or slowly."""

from __future__ import annotations

from functools import partial
from typing import Final

from resinid.methods.melt.heated import CAUTION, HAZARD
from resinid.methods.word_test import WordTest, word_test

__all__ = ["MeltClarity", "MeltOnset", "MeltPull", "MeltRunniness"]

MELT_MINUTES: Final = 5.0
"""[min] To look at a melt (common practice, no source)."""

_look: Final = partial(word_test, minutes=MELT_MINUTES, needs=("hot plate",), caution=CAUTION, hazard=HAZARD)


@_look(
    "melt_clarity",
    "look whether the melt of a natural, unpigmented speck is clear or cloudy",
    (
        "Melt a speck of natural, unpigmented material until no edge is left.",
        "Look through it against the light: clear or cloudy.",
    ),
)
class MeltClarity(WordTest):
    """Whether a natural, unpigmented chip is clear or cloudy when fully molten."""


@_look(
    "melt_pull",
    "pull a cold pin from the melt and see whether it strings",
    (
        "Melt a speck fully; touch it with a cold pin.",
        "Draw the pin away slowly: long strings, short ones or none.",
    ),
)
class MeltPull(WordTest):
    """Whether the melt draws into strings when a cold pin is pulled away from it."""


@_look(
    "melt_flow",
    "see whether the melt runs or keeps its shape",
    (
        "Heat a speck 20 to 30 K above where it softened.",
        "Tilt the plate: the melt runs, or keeps its shape.",
    ),
)
class MeltRunniness(WordTest):
    """Whether the melt runs by itself or keeps its shape, 20 to 30 K above softening."""


@_look(
    "melt_onset",
    "see whether a speck melts at once or softens slowly",
    (
        "Raise the plate by about 5 K a minute through the softening range.",
        "See whether it melts within a few kelvins or over tens of kelvins.",
    ),
)
class MeltOnset(WordTest):
    """Whether the chip melts within a few kelvins or softens over tens of kelvins."""
