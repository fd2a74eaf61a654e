"""Spot tests: what a drop of a solvent does to a piece within some minutes at room temperature.

Only solvents for which print says what they do to many resins are here. An amorphous
polymer dissolves where its Flory-Huggins parameter with the solvent is below one half
(Orwoll & Arnold 2007, table 14.1, whose values the rows quote); a semicrystalline one
resists near room temperature, and a crosslinked one swells at most. Print tells of
days of immersion, a person of minutes, so a row that says "dissolves" is often seen
as "softens"; the rows say both.

The drops meet one piece, whose crystals, additives and stresses are the same for all;
:data:`SHARE` states it once.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

from resinid.methods.contract import Method
from resinid.methods.word_test import WordTest, word_test
from resinid.scoring.properties import CategoricalProperty, Dependence

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["METHOD", "Acetone", "Cyclohexane", "EthylAcetate", "MethylEthylKetone", "Toluene"]

DANGER: Final = "solvent"

OUTCOMES: Final = ("no effect", "softens", "swells", "dissolves", "crazes")
"""All that a drop may be seen to do; crazes stands for fine cracks or a white bloom."""

SOLVENTS: Final = ("acetone", "ethyl_acetate", "methyl_ethyl_ketone", "toluene", "cyclohexane")

MINUTES: Final = 8.0
"""[min] A drop kept wet for 5 min, and a look and a scratch after it (common practice, no source)."""

SHARE: Final = 0.4
"""How much of their evidence two solvents on one piece have in common (common practice, no source)."""

ONE_PIECE: Final = (
    "drops on one piece: its crystals, crosslinks, additives and stresses stop or help every solvent "
    "(common practice, no source)"
)

CAUTION: Final = (
    "Highly flammable, and the vapour creeps along benches: a drop, not a bath; no flame, spark, cigarette or hot "
    "plate in the room. Fume hood or open air, goggles, solvent-proof gloves; the bottle closed; soaked rags into a "
    "lidded tin outdoors. Only a hidden spot of a piece that may be spoiled. Do not heat or burn a piece that is "
    "still wet. Follow local codes; when in doubt, do not."
)

HARMFUL: Final = " Toluene harms nerves and the unborn child: hood and licensed practice only."

IRRITANT: Final = " Cyclohexane is harmful if swallowed and toxic to water life: none down the drain."


def _drop(name: str, more_caution: str = "") -> Callable[[type[WordTest]], type[WordTest]]:
    """Declare what a drop of one solvent does, dependent on what the others do."""
    liquid = name.replace("_", " ")
    others = tuple(Dependence(other, SHARE, ONE_PIECE) for other in SOLVENTS if other != name)
    return word_test(
        CategoricalProperty(name, OUTCOMES, folder=Path(__file__).parent, depends=others),
        f"drop of {liquid}",
        (
            f"Keep a clean, hidden spot wet with {liquid} for 5 min; wipe it, and press a needle beside and in it.",
            "Dissolves: stringy or gone; swells: raised; softens: tacky, dented; crazes: fine cracks or white bloom.",
        ),
        minutes=MINUTES,
        needs=(liquid,),
        caution=CAUTION + more_caution,
        hazard=DANGER,
    )


@_drop("acetone")
class Acetone(WordTest):
    """What a drop of acetone does to a piece."""


@_drop("ethyl_acetate")
class EthylAcetate(WordTest):
    """What a drop of ethyl acetate does to a piece."""


@_drop("methyl_ethyl_ketone")
class MethylEthylKetone(WordTest):
    """What a drop of methyl ethyl ketone (2-butanone) does to a piece."""


@_drop("toluene", HARMFUL)
class Toluene(WordTest):
    """What a drop of toluene does to a piece."""


@_drop("cyclohexane", IRRITANT)
class Cyclohexane(WordTest):
    """What a drop of cyclohexane does to a piece."""


METHOD: Final = Method(
    name="solvents",
    version="1",
    summary="What a drop of acetone, ethyl acetate, methyl ethyl ketone, toluene or cyclohexane does to a piece.",
    caution=CAUTION + HARMFUL + IRRITANT,
    sources=("orwoll-arnold-2007", "the rows of behaviour.csv and sources.csv", "common practice, no source"),
    tests=(Acetone, EthylAcetate, MethylEthylKetone, Toluene, Cyclohexane),
    tools=tuple(name.replace("_", " ") for name in SOLVENTS),
)
