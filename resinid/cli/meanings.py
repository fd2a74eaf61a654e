"""What each possible answer of the guided bench means, in a line: what a person sees (common practice, no source)."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from collections.abc import Mapping

__all__ = ["MEANINGS", "meaning_of"]

_SOLVENT: Final = {
    "no effect": "the wetted place is as it was: neither dull, tacky nor raised",
    "softens": "the surface turns tacky, and a fingernail or a toothpick marks it",
    "swells": "the place rises or gets thicker, and does not come off",
    "dissolves": "plastic comes off on the cotton bud, or the drop turns to a syrup",
    "crazes": "fine cracks or whitening, above all where the piece is bent",
}

_SEEN: Final[dict[str, dict[str, str]]] = {
    "float": {
        "floats": "let go under the surface, it rises to the top",
        "hovers": "it stays where it is let go, for some seconds at least",
        "sinks": "it goes to the bottom",
    },
    "feel": {
        "limp": "a strip hangs down by its own weight, as cloth or film does",
        "flexible": "it bends as easily as soft rubber, as a flip-flop or a hose does",
        "semi-rigid": "it bends easily between two fingers and stands by itself, as the soft lid of a food box does",
        "rigid": "it bends only with force, as a screw cap does, or breaks first, as a clear box does",
    },
    "whitening": {
        "none": "the fold looks as before",
        "slight": "the fold turns a little paler",
        "strong": "the fold turns clearly white",
    },
    "snap": {
        "snaps": "it breaks in two before it is folded double",
        "creases": "it stays folded, with a sharp line",
        "springs back": "it unfolds by itself, and no crease is left",
    },
    "transparency": {
        "clear": "print can be read through it, held 1 cm away",
        "translucent": "light comes through, print cannot be read",
        "opaque": "no light comes through; pigment makes any plastic so",
    },
    "surface_feel": {
        "dry": "neither slippery nor sticky",
        "waxy": "slippery, as a candle",
        "rubbery": "the finger is held back, as on an eraser",
        "tacky": "sticks to the finger",
    },
    "drop_sound": {
        "dull": "a thud, as of wood or a candle",
        "metallic ring": "a clear, high note, as of a coin or a saucer",
    },
    "melt_clarity": {"clear": "molten, it is clear as glass", "cloudy": "molten, it is still milky"},
    "melt_pull": {
        "long strings": "a toothpick draws threads of a hand's breadth or more",
        "short strings": "threads break within a few millimetres to centimetres",
        "no strings": "it pulls off without a thread",
    },
    "melt_flow": {
        "runny": "it spreads by itself, as syrup",
        "stiff": "it keeps its shape until it is pushed",
    },
    "melt_onset": {
        "sharp": "hard until it melts, within a few degrees",
        "gradual": "it gets softer over tens of degrees",
    },
    "copper_wire": {
        "green": "the flame turns green or blue-green, if only for a moment: there is a halogen",
        "no green": "yellow or colourless throughout",
    },
    "scratch_fingernail": {
        "easily": "a light stroke leaves a mark",
        "hardly": "only a hard stroke leaves a mark",
        "no": "no stroke leaves a mark",
    },
    "burn_ignition": {
        "easily": "it burns within a second or two",
        "moderately": "it needs some seconds",
        "hardly": "it needs the flame for long",
        "no": "it does not catch fire",
    },
    "burn_smoke": {
        "black soot": "black flakes fly",
        "little": "hardly any smoke",
        "white": "white or grey smoke",
        "none": "no smoke is seen",
    },
    "burn_drips": {"yes": "drops fall, burning or not", "no": "nothing drips"},
    "burn_self_extinguishing": {
        "yes": "it goes out as soon as the flame is taken away",
        "slowly": "it goes out after some seconds",
        "no": "it burns on",
    },
    "process": {
        "injection moulded": "a gate point, ribs, ejector marks, walls of one thickness",
        "blow moulded": "hollow, with a pinched seam at the bottom",
        "film": "thin and even, as bags are",
        "extruded": "one section along its length, with fine lines",
        "thermoformed": "of sheet, thin at the corners, without ribs",
        "3D printed": "fine lines of layers, one on the other, all over",
        "foamed": "cells or beads can be seen at a cut",
        "cast or pressed": "flash all round, or a thick block",
        "fibre": "threads, woven or not",
    },
    "article": {"other": "none of the words fits, or it cannot be seen any more; that is no evidence"},
    **dict.fromkeys(("acetone", "ethyl_acetate", "methyl_ethyl_ketone", "toluene", "cyclohexane"), _SOLVENT),
}

MEANINGS: Final[Mapping[str, Mapping[str, str]]] = MappingProxyType(
    {test: MappingProxyType(words) for test, words in _SEEN.items()}
)
"""By test and answer; words that say it all themselves, and those of plug-ins, are not among them."""


def meaning_of(test: str, word: str) -> str:
    """Return what an answer means; empty where the word says it itself.

    Examples
    --------
    >>> meaning_of("float", "sinks"), meaning_of("article", "pipe")
    ('it goes to the bottom', '')
    """
    return MEANINGS.get(test, {}).get(word, "")
