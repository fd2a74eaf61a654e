"""What a melt looks like: clear or cloudy, stringing, running, melting at once or slowly."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Final

from resinid.door.fields import choice
from resinid.methods.aspects import AspectSeen
from resinid.methods.melt.heated import CAUTION, HAZARD
from resinid.vocabulary import ASPECTS

if TYPE_CHECKING:
    from collections.abc import Iterator

    from resinid.planning.have import Have
    from resinid.planning.plan import Plan

__all__ = ["MeltClarity", "MeltFlow", "MeltOnset", "MeltPull"]

MELT_MINUTES: Final = 5.0
"""[min] To look at a melt (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class MeltClarity(AspectSeen):
    """Whether a natural, unpigmented chip is clear or cloudy when fully molten."""

    test: ClassVar[str] = "melt_clarity"
    observes: ClassVar[str] = "melt_clarity"
    outcome: str = choice(ASPECTS["melt_clarity"])

    @classmethod
    def plans(cls, have: Have) -> Iterator[Plan]:
        """Yield the look at the melt."""
        steps = (
            "Melt a speck of natural, unpigmented material until no edge is left.",
            "Look through it against the light: clear or cloudy.",
        )
        yield from _look(cls, have, "look whether the melt of a natural, unpigmented speck is clear or cloudy", steps)


@dataclass(frozen=True, slots=True)
class MeltPull(AspectSeen):
    """Whether the melt draws into strings when a cold pin is pulled away from it."""

    test: ClassVar[str] = "melt_pull"
    observes: ClassVar[str] = "melt_pull"
    outcome: str = choice(ASPECTS["melt_pull"])

    @classmethod
    def plans(cls, have: Have) -> Iterator[Plan]:
        """Yield the look at the melt."""
        steps = (
            "Melt a speck fully; touch it with a cold pin.",
            "Draw the pin away slowly: long strings, short ones or none.",
        )
        yield from _look(cls, have, "pull a cold pin from the melt and see whether it strings", steps)


@dataclass(frozen=True, slots=True)
class MeltFlow(AspectSeen):
    """Whether the melt runs by itself or keeps its shape, 20 to 30 K above softening."""

    test: ClassVar[str] = "melt_flow"
    observes: ClassVar[str] = "melt_flow"
    outcome: str = choice(ASPECTS["melt_flow"])

    @classmethod
    def plans(cls, have: Have) -> Iterator[Plan]:
        """Yield the look at the melt."""
        steps = (
            "Heat a speck 20 to 30 K above where it softened.",
            "Tilt the plate: the melt runs, or keeps its shape.",
        )
        yield from _look(cls, have, "see whether the melt runs or keeps its shape", steps)


@dataclass(frozen=True, slots=True)
class MeltOnset(AspectSeen):
    """Whether the chip melts within a few kelvins or softens over tens of kelvins."""

    test: ClassVar[str] = "melt_onset"
    observes: ClassVar[str] = "melt_onset"
    outcome: str = choice(ASPECTS["melt_onset"])

    @classmethod
    def plans(cls, have: Have) -> Iterator[Plan]:
        """Yield the look at the melt."""
        steps = (
            "Raise the plate by about 5 K a minute through the softening range.",
            "See whether it melts within a few kelvins or over tens of kelvins.",
        )
        yield from _look(cls, have, "see whether a speck melts at once or softens slowly", steps)


def _look(kind: type[AspectSeen], have: Have, label: str, steps: tuple[str, str]) -> Iterator[Plan]:
    if have.hot_plate is not None:
        yield kind.plan(label, MELT_MINUTES, steps, needs=("hot plate",), caution=CAUTION, hazard=HAZARD)
