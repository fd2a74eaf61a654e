"""How a chip burns: ignition, flame, smoke, drips, whether it goes out, and the smell after it.

Every row of the table is a description in words, mostly out of trade tables that share
ancestors; ``behaviour.csv`` beside this file adds better-sourced ones to the reference
table's own. What is printed holds for resins without additives, and flame retardants,
fillers and pigments change every word of it, for which the rows' frequencies, the
smoothing and the chance of a mishap allow.

The six words are seen on one chip in one flame, so they are not independent given the
resin; :data:`SHARE` states it once for all of them. All tests are off until a person
allows ``burn``.
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

__all__ = [
    "METHOD",
    "BurnDrips",
    "BurnFlame",
    "BurnIgnition",
    "BurnSelfExtinguishing",
    "BurnSmell",
    "BurnSmoke",
]

DANGER: Final = "burn"
"""What a person must allow before any test here counts or is recommended."""

BURNER: Final = "burner"

FOLDER: Final = Path(__file__).parent

MINUTES: Final = 5.0
"""[min] To set up, burn one chip, and let hood or air clear (common practice, no source)."""

SHARE: Final = 0.4
"""How much of their evidence two words on one burn have in common (common practice, no source).

Six words then count as two that are independent."""

ONE_BURN: Final = (
    "one chip in one flame seen by one person: its flame retardant, filler and pigment move every word at once "
    "(common practice, no source)"
)

RUNS: Final = Dependence("melt_flow", 0.3, "what melts thin also drips (common practice, no source)")

CAUTION: Final = (
    "Burning plastic gives off poison and can start a fire: when in doubt, do not. A chip no larger than a grain "
    "of rice, in tongs, in a fume hood or in open air with the wind at your back, over sand or a tin tray, with "
    "water at hand and nothing else that burns; goggles and gloves; burning drops stick to skin. Never burn PVC, "
    "acetal, fluoroplastic or celluloid on purpose: they give off hydrogen chloride, formaldehyde or hydrogen "
    "fluoride, and celluloid flares. Nitrogen in nylon, ABS, urethane or melamine can give hydrogen cyanide. Never "
    "smell directly over fume: flame out, arm's length, a hand to waft, or leave the smell out. Follow local codes "
    "and licensed practice."
)

OUTCOMES: Final[dict[str, tuple[str, ...]]] = {
    "burn_ignition": ("easily", "moderately", "hardly", "no"),
    "burn_flame": (
        "yellow",
        "orange",
        "blue with yellow tip",
        "blue",
        "yellow with green",
        "yellow with sparks",
        "bright white",
        "none",
    ),
    "burn_smoke": ("black soot", "little", "white", "none"),
    "burn_drips": ("yes", "no"),
    "burn_self_extinguishing": ("yes", "slowly", "no"),
    "burn_smell": (
        "acrid",
        "burnt hair",
        "burnt paper",
        "burnt rubber",
        "camphor",
        "candle",
        "fishy",
        "formaldehyde",
        "fruity",
        "hydrochloric acid",
        "phenol",
        "styrene",
        "sulphur",
        "sweet",
        "vinegar",
        "none",
        "other",
    ),
}
"""All that may be seen of one burn, by the name of the test."""


def _part(name: str) -> Aspect:
    """Return one of the parts of a burn, dependent on all the others."""
    others = tuple(Dependence(other, SHARE, ONE_BURN) for other in OUTCOMES if other != name)
    return Aspect(name, OUTCOMES[name], folder=FOLDER, depends=(*others, RUNS) if name == "burn_drips" else others)


@dataclass(frozen=True, slots=True)
class _Burn(AspectSeen):
    """What the tests of one burn have in common."""

    only_if_allowed: ClassVar[str] = DANGER
    second_step: ClassVar[str]

    @classmethod
    def plans(cls, have: Have) -> Iterator[Plan]:
        """Yield the burn where a burner is at hand."""
        if BURNER not in have.tools:
            return
        steps = (
            "Cold tests first, PVC, acetal and celluloid unlikely: hold a rice-grain chip in tongs to a small flame.",
            cls.second_step,
        )
        label = f"burn a tiny chip: {cls.test.removeprefix('burn_').replace('_', ' ')}"
        yield cls.plan(label, MINUTES, steps, needs=(BURNER,), caution=CAUTION, hazard=DANGER)


@dataclass(frozen=True, slots=True)
class BurnIgnition(_Burn):
    """How readily a chip lights: at once, after some seconds, only while held in the flame, or not at all."""

    test: ClassVar[str] = "burn_ignition"
    observes: ClassVar[Aspect] = _part("burn_ignition")
    second_step: ClassVar[str] = (
        "Easily: within 2 s; moderately: within 10 s; hardly: later or only in the flame; no: never."
    )
    outcome: str = choice(OUTCOMES["burn_ignition"])


@dataclass(frozen=True, slots=True)
class BurnFlame(_Burn):
    """The colour of the chip's own flame, beside the burner's."""

    test: ClassVar[str] = "burn_flame"
    observes: ClassVar[Aspect] = _part("burn_flame")
    second_step: ClassVar[str] = (
        "Take the chip just out of the burner's flame and name the colour of its own; none if none."
    )
    outcome: str = choice(OUTCOMES["burn_flame"])


@dataclass(frozen=True, slots=True)
class BurnSmoke(_Burn):
    """The smoke while a chip burns: black with soot, white, little, or none."""

    test: ClassVar[str] = "burn_smoke"
    observes: ClassVar[Aspect] = _part("burn_smoke")
    second_step: ClassVar[str] = (
        "Against a pale wall see the smoke: black with flakes of soot, white, a thin wisp, or none."
    )
    outcome: str = choice(OUTCOMES["burn_smoke"])


@dataclass(frozen=True, slots=True)
class BurnDrips(_Burn):
    """Whether drops fall from a burning chip, alight or not."""

    test: ClassVar[str] = "burn_drips"
    observes: ClassVar[Aspect] = _part("burn_drips")
    second_step: ClassVar[str] = "Over sand, see whether drops fall; threads or bubbles that stay on the chip are none."
    outcome: str = choice(OUTCOMES["burn_drips"])


@dataclass(frozen=True, slots=True)
class BurnSelfExtinguishing(_Burn):
    """Whether the flame goes out by itself once the burner is taken away.

    ``yes`` within some 5 s, ``slowly`` later with plastic left over, ``no`` if it burns on.
    """

    test: ClassVar[str] = "burn_self_extinguishing"
    observes: ClassVar[Aspect] = _part("burn_self_extinguishing")
    second_step: ClassVar[str] = (
        "Take the burner away. Yes: out within 5 s; slowly: later, plastic is left; no: burns on (put it out)."
    )
    outcome: str = choice(OUTCOMES["burn_self_extinguishing"])


@dataclass(frozen=True, slots=True)
class BurnSmell(_Burn):
    """The smell a while after the flame went out, wafted from arm's length; may always be left out."""

    test: ClassVar[str] = "burn_smell"
    observes: ClassVar[Aspect] = _part("burn_smell")
    second_step: ClassVar[str] = (
        "Flame out and fume gone, waft from arm's length, never over fume; at the first sting stop and step away."
    )
    outcome: str = choice(OUTCOMES["burn_smell"])


METHOD: Final = Method(
    name="burn",
    version="1",
    summary="How a tiny chip burns: ignition, flame, smoke, drips, going out, and smell.",
    caution=CAUTION,
    sources=("the rows of behaviour.csv and sources.csv", "common practice, no source"),
    tests=(BurnIgnition, BurnFlame, BurnSmoke, BurnDrips, BurnSelfExtinguishing, BurnSmell),
    tools=(BURNER,),
)
"""The method as the registry lists it."""
