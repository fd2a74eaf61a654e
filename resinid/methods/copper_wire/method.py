"""A hot copper wire turns a flame green where a piece holds chlorine or bromine (Beilstein).

Copper chloride and bromide are volatile and colour the flame; copper fluoride is not, so
fluoroplastics without chlorine show nothing (Pasto & Johnson 1979). The colour tells of
an element, not of a resin: flame retardants with bromine or chlorine, chlorinated
rubber and plasticizers, PVC dust and salt from fingers colour the flame too, and some
compounds of nitrogen with carbonyl, such as urea, faintly. Of flame-retarded housings some
hold phosphate and no halogen at all (Peeters and others 2014), which no halogen test shows: their
variants have rows of their own, and no green speaks against them only in part. The test is
off until a person allows ``copper wire``.
"""

from __future__ import annotations

from pathlib import Path
from typing import Final

from resinid.methods.by_variant import ByVariant
from resinid.methods.contract import Method
from resinid.methods.word_test import WordTest, word_test
from resinid.scoring.properties import Dependence

__all__ = ["METHOD", "CopperWire"]

DANGER: Final = "copper wire"
"""What a person must allow before the test counts or is recommended."""

WIRE: Final = "copper wire"
BURNER: Final = "burner"

MINUTES: Final = 5.0
"""[min] To burn a wire clean, let it cool, test and burn it clean again (common practice, no source)."""

CAUTION: Final = (
    "PVC gives off hydrogen chloride here, and brominated plastic hydrogen bromide and worse: a speck that clings "
    "to the wire, in a fume hood or in open air with the wind at your back; goggles; a wire in cork or pliers, for "
    "it is red hot; water at hand. Never with celluloid, which flares, nor fluoroplastic or acetal. Do not smell. "
    "Green tells of chlorine or bromine, not of PVC: halogenated flame retardants and salt from fingers colour the "
    "flame as well. No green does not clear a housing: of flame-retarded ones a third or more hold phosphate, which no "
    "halogen test shows. Follow local codes and licensed practice; when in doubt, do not."
)

HALOGEN: Final = "chlorine or bromine both colours the flame and puts it out (common practice, no source)"

COPPER_WIRE: Final = ByVariant(
    "copper_wire",
    ("green", "no green"),
    folder=Path(__file__).parent,
    depends=(Dependence("burn_flame", 0.3, HALOGEN), Dependence("burn_self_extinguishing", 0.3, HALOGEN)),
    variants=("flame-retarded",),
)
"""Depends only in part on how the piece burns: most that goes out by itself holds no halogen."""

FOUND: Final = "the copper wire turned the flame green: chlorine or bromine, which heat drives out as acid fume"
"""Why green forbids heating: the element, not the resin, is what harms."""


@word_test(
    COPPER_WIRE,
    "hot copper wire for chlorine or bromine",
    (
        "Glow the end of a bare copper wire until its flame has no green at all; do not touch it afterwards.",
        "Press it hot on a clean surface so that a speck clings; back in the flame, see whether it turns green.",
    ),
    minutes=MINUTES,
    needs=(WIRE, BURNER),
    caution=CAUTION,
    hazard=DANGER,
    off_until_allowed=True,
    forbids={"green": FOUND},
)
class CopperWire(WordTest):
    """Whether plastic on a clean, red-hot copper wire turns the flame green or blue-green."""


METHOD: Final = Method(
    name="copper wire",
    version="3",
    summary="Whether plastic on a hot copper wire turns a flame green, a sign of chlorine or bromine.",
    caution=CAUTION,
    sources=("pasto-johnson", "cci-17-1", "peeters-2014", "odegaard-spot", "katz-1998", "the rows of behaviour.csv"),
    tests=(CopperWire,),
    tools=(WIRE, BURNER),
)
