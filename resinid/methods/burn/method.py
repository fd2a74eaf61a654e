"""How a chip burns: ignition, flame, smoke, drips, whether it goes out, and the smell after it.

Every row of the table is a description in words, mostly out of trade tables that share
ancestors; ``behaviour.csv`` beside this file adds better-sourced ones to the reference
table's own. What is printed holds for resins without additives, and flame retardants,
fillers and pigments change every word of it, for which the rows' frequencies, the
smoothing and the chance of an outlier allow.

The six words are seen on one chip in one flame, so they are not independent given the
resin; :data:`SHARE` states it once for all of them. All tests are off until a person
allows ``burn``.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from resinid.methods.contract import Method
from resinid.methods.word_test import NONE, WordTest, word_test
from resinid.scoring.properties import CategoricalProperty, Dependence

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

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

FIRST_STEP: Final = (
    "Cold tests first, PVC, acetal and celluloid unlikely: hold a rice-grain chip in tongs to a small flame."
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


def _part(name: str, second_step: str, forbids: Mapping[str, str] = NONE) -> Callable[[type[WordTest]], type[WordTest]]:
    """Declare what is seen of one part of a burn, dependent on all the others."""
    others = tuple(Dependence(other, SHARE, ONE_BURN) for other in OUTCOMES if other != name)
    depends = (*others, RUNS) if name == "burn_drips" else others
    return word_test(
        CategoricalProperty(name, OUTCOMES[name], folder=FOLDER, depends=depends),
        f"burn a tiny chip: {name.removeprefix('burn_').replace('_', ' ')}",
        (FIRST_STEP, second_step),
        minutes=MINUTES,
        needs=(BURNER,),
        caution=CAUTION,
        hazard=DANGER,
        off_until_allowed=True,
        forbids=forbids,
    )


@_part(
    "burn_ignition",
    "Easily: within 2 s; moderately: within 10 s; hardly: later or only in the flame; no: never.",
)
class BurnIgnition(WordTest):
    """How readily a chip lights: at once, after some seconds, only while held in the flame, or not at all."""


@_part(
    "burn_flame",
    "Take the chip just out of the burner's flame and name the colour of its own; none if none.",
)
class BurnFlame(WordTest):
    """The colour of the chip's own flame, beside the burner's."""


@_part(
    "burn_smoke",
    "Against a pale wall see the smoke: black with flakes of soot, white, a thin wisp, or none.",
)
class BurnSmoke(WordTest):
    """The smoke while a chip burns: black with soot, white, little, or none."""


@_part(
    "burn_drips",
    "Over sand, see whether drops fall; threads or bubbles that stay on the chip are none.",
)
class BurnDrips(WordTest):
    """Whether drops fall from a burning chip, alight or not."""


GOES_OUT: Final = (
    "it goes out by itself, as what holds a halogen or a flame retardant does; polycarbonate and polyamide do so "
    "without, but nothing at the bench shows that they are without"
)
"""Why going out forbids heating: a phosphate shows in no halogen test (common practice, no source)."""


@_part(
    "burn_self_extinguishing",
    "Take the burner away. Yes: out within 5 s; slowly: later, plastic is left; no: burns on (put it out).",
    forbids={"yes": GOES_OUT},
)
class BurnSelfExtinguishing(WordTest):
    """Whether the flame goes out by itself once the burner is taken away.

    ``yes`` within some 5 s, ``slowly`` later with plastic left over, ``no`` if it burns on.
    """


@_part(
    "burn_smell",
    "Flame out and fume gone, waft from arm's length, never over fume; at the first sting stop and step away.",
    {"hydrochloric acid": "smelled of acid when burnt: it may hold chlorine"},
)
class BurnSmell(WordTest):
    """The smell a while after the flame went out, wafted from arm's length; may always be left out."""


METHOD: Final = Method(
    name="burn",
    version="1",
    summary="How a tiny chip burns: ignition, flame, smoke, drips, going out, and smell.",
    caution=CAUTION,
    sources=("the rows of behaviour.csv and sources.csv", "common practice, no source"),
    tests=(BurnIgnition, BurnFlame, BurnSmoke, BurnDrips, BurnSelfExtinguishing, BurnSmell),
    tools=(BURNER,),
)
