"""Bags filled by chance, ordinary ones and ones with an item that must not be there, and how they are tested.

Items of one make share what the make is like and scatter about it; a reading in a hundred has nothing to do
with the item (:data:`BOTCHED`). What a resin's pieces are like is drawn as :mod:`simulate` draws it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

from simulate import FEELS, Piece, World

from resinid import Batch, default_reference
from resinid.quantities import ASPECTS

if TYPE_CHECKING:
    import numpy as np

__all__ = ["KINDS", "Kind", "bag_of", "read_by"]

BOTCHED: Final = 0.01
SCATTER: Final = 0.003
"""Relative scatter of density among items of one make."""

KELVIN: Final = 4.0
"""[K] Error of a hot plate's reading with a person's judgement of what is molten."""

BATHS: Final = {"W": ("water", 0.998), "E40": ("ethanol 40 %v/v", 0.948), "S": ("table salt saturated", 1.197)}
"""Liquids and their densities [g/cm3], from memory, to 0.002."""

WORDS: Final = ("snap", "whitening")
WORD_BOTCHED: Final = 0.06

PLATE: Final = (100.0, 120.0, 140.0, 155.0, 170.0, 190.0, 210.0, 230.0, 250.0, 270.0)
CAREFUL: Final = ("W", "E40", "plate")
COLD: Final = ("W", "E40")


@dataclass(frozen=True)
class Kind:
    """A kind of bag.

    Parameters
    ----------
    what : str
    resin : str
        Of the ordinary items.
    items : int
        How many of them were measured.
    tests : tuple of str
        Keys of :data:`BATHS`, ``"plate"``, ``"softening"``, ``"density"``.
    marked : tuple of (str, int)
        Counted marks beside them.
    contaminant : str
        Resin of one more item, measured likewise; empty for an ordinary bag.
    flakes : int
        Flakes floated in water.
    makes : bool
        Whether each item is of a make of its own.
    """

    what: str
    resin: str
    items: int
    tests: tuple[str, ...] = COLD
    marked: tuple[tuple[str, int], ...] = ()
    contaminant: str = ""
    flakes: int = 0
    makes: bool = False


HD: Final = Kind("PE-HD caps, floats and plate", "PE-HD", 10, CAREFUL)
LONE: Final = replace(HD, items=60)
MARKED: Final = Kind("PE-HD, marks and floats", "PE-HD", 10, COLD, (("PE-HD", 60),))
ORDINARY: Final = (
    HD,
    replace(HD, what="PE-HD caps, floats and softening", items=8, tests=(*COLD, "softening"), makes=True),
    LONE,
    Kind("PP tubs, floats and plate", "PP", 10, CAREFUL),
    Kind("PS pots, floats and plate", "PS", 10, ("W", "S", "plate")),
    MARKED,
    replace(MARKED, items=0, what="PE-HD, marks alone"),
    replace(MARKED, items=0, flakes=100, what="PE-HD, marks and flakes"),
    Kind("PP, marks and floats", "PP", 10, COLD, (("PP", 60),)),
    Kind("PP, marks and densities", "PP", 10, ("density",), (("PP", 60),)),
    Kind("PS, marks and floats", "PS", 10, ("W", "S"), (("PS", 60),)),
    Kind("ABS, marks and densities", "ABS", 10, ("density",), (("ABS", 60),)),
    Kind("PET, marks, floats and plate", "PET", 10, ("W", "S", "plate"), (("PET", 400),)),
)
FORBIDDEN: Final = ("PVC-U", "PVC-P", "NR", "PUR", "POM")
FOREIGN: Final = ("PET", "PS", "ABS", "PA6")
KINDS: Final = (
    *ORDINARY,
    *(replace(bag, contaminant=each) for bag in (HD, LONE, MARKED) for each in (*FORBIDDEN, *FOREIGN)),
    *(replace(ORDINARY[3], contaminant=each) for each in FORBIDDEN),
    replace(MARKED, marked=(("PE-HD", 49), ("PP", 1)), what="PE-HD, one mark in fifty says PP"),
    *(
        Kind(f"all {each}, marked PE-HD", each, items, ("S", *COLD), (("PE-HD", 400),), contaminant=each)
        for each in ("PVC-U", "POM", "PET")
        for items in (1, 9)
    ),
)


def bag_of(kind: Kind, rng: np.random.Generator) -> Batch:
    """Fill a bag and test it."""
    world = World()
    symbols = default_reference().symbols
    make = world.piece_of(rng, symbols.index(kind.resin))
    pieces = []
    for _ in range(kind.items):
        if kind.makes:
            make = world.piece_of(rng, symbols.index(kind.resin))
        pieces.append(read_by(make, kind.tests, rng))
    if kind.contaminant:
        pieces.append(read_by(world.piece_of(rng, symbols.index(kind.contaminant)), kind.tests, rng))
    order = rng.permutation(len(pieces)).tolist()
    floated = sum(_floats(make, 0.998, rng) for _ in range(kind.flakes))
    flakes = [{"liquid": "water", "floated": floated, "sank": kind.flakes - floated}] if kind.flakes else []
    return Batch.of("bag", pieces=[pieces[k] for k in order], marked=dict(kind.marked), flakes=flakes)


def _density(make: Piece, rng: np.random.Generator) -> float:
    return float(max(make.values["density"] * (1 + SCATTER * rng.standard_normal()), 0.02))


def _floats(make: Piece, liquid: float, rng: np.random.Generator) -> bool:
    if rng.random() < BOTCHED:
        return bool(rng.random() < 0.75)
    return bool(_density(make, rng) + 0.001 * rng.standard_normal() < liquid)


def read_by(make: Piece, tests: tuple[str, ...], rng: np.random.Generator) -> list[dict[str, Any]]:
    """Test an item."""
    out: list[dict[str, Any]] = []
    melts = make.values["softening_temperature"] + KELVIN * rng.standard_normal()
    for test in tests:
        if test in BATHS:
            liquid, density = BATHS[test]
            outcome = "floats" if _floats(make, density, rng) else "sinks"
            out.append({"test": "float", "liquid": liquid, "outcome": outcome})
        elif test == "feel":
            felt = make.values["flexural_modulus"] * math.exp(0.3 * rng.standard_normal())
            felt_as = [word for word, (low, high) in FEELS.items() if low <= felt < high]
            odd = rng.random() < WORD_BOTCHED
            out.append({"test": "feel", "outcome": str(rng.choice(list(FEELS))) if odd else felt_as[0]})
        elif test in WORDS:
            words = ASPECTS[test]
            place = int(rng.integers(len(words))) if rng.random() < WORD_BOTCHED else int(make.values[test])
            out.append({"test": test, "outcome": words[place]})
        elif test == "density":
            read = rng.uniform(0.7, 1.6) if rng.random() < BOTCHED else _density(make, rng) + rng.normal(0.0, 0.003)
            out.append({"test": "density", "density": f"{max(read, 0.01):.4f} ± 0.003 g/cm3"})
        elif test == "softening":
            at = rng.uniform(40.0, 300.0) if rng.random() < BOTCHED else melts
            if math.isfinite(at) and -100.0 < at < 300.0:
                out.append({"test": "softening", "temperature": f"{at:.1f} ± 2 degC"})
            else:
                out.append({"test": "hot_plate", "not_melted_at": "300 degC"})
        else:
            at = rng.uniform(40.0, 300.0) if rng.random() < BOTCHED else melts
            solid = [step for step in PLATE if step <= at]
            molten = [step for step in PLATE if step > at]
            rungs = ([("not_melted_at", solid[-1])] if solid else []) + ([("melted_at", molten[0])] if molten else [])
            out.append({"test": "hot_plate", **{key: f"{step:g} degC" for key, step in rungs}})
    return out
