"""Whether a fresh cut is solid or cellular, which parts foams from solids whatever the resin.

The table says of each variant whether it is filled with gas, so no rows are needed: a foam shows cells
and a solid does not. It is a look at the piece itself and so may clear it: a solid cut takes foamed
polyurethane and polystyrene away. It says nothing of what gas-free polyurethane or PVC there may be.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.methods.contract import Method
from resinid.methods.shapes import WALL
from resinid.methods.word_test import WordTest, word_test
from resinid.scoring.latents import Latent
from resinid.scoring.properties import CategoricalProperty, Dependence

if TYPE_CHECKING:
    from resinid.reference.table import ReferenceTable

__all__ = ["CUT_FACE", "METHOD", "CutFace"]

MINUTES: Final = 1.0
"""[min] To cut and look (common practice, no source)."""

CAUTION: Final = "A sharp blade: cut away from hand and body."

CELLS_SEEN: Final = 0.95
"""Chance that cells are seen at a cut through a foam; very fine ones look solid (common practice, no source)."""

CELLS_IN_SOLID: Final = 0.03
"""Chance that a solid shows cells: structural foam mouldings have a cellular core, and mouldings have voids
(common practice, no source)."""


class Cells(CategoricalProperty):
    """Solid or cellular, by whether a variant is filled with gas."""

    __slots__ = ()

    def latent(self, reference: ReferenceTable) -> Latent:
        """Return the chance of each outcome for each variant; for none of these half the average and half even."""
        cells = [CELLS_SEEN if variant.filler == "gas" else CELLS_IN_SOLID for variant in reference.variants]
        average = np.average(cells, weights=[variant.weight for variant in reference.variants])
        cellular = np.array([*cells, 0.5 * average + 0.25])
        mass = np.column_stack([1.0 - cellular, cellular])
        values = np.arange(2.0)
        mass.flags.writeable = values.flags.writeable = False
        count = len(cells)
        return Latent(self.name, values, mass, (True,) * count, (frozenset[str](),) * count)


CUT_FACE: Final = Cells(
    "cut_face",
    ("solid", "cellular"),
    depends=(Dependence("process", 0.3, "cells at a cut are how a foam is told there, too (common practice)"),),
)


@word_test(
    CUT_FACE,
    "cut the piece and look whether the cut is solid or cellular",
    (
        "Cut off an edge with a sharp knife, through skin and core; look at the cut under a lamp, with a lens if any.",
        "Solid: one mass, smooth or torn; cellular: pores or beads all over, not one void or two.",
    ),
    minutes=MINUTES,
    caution=CAUTION,
    needs_shape=(WALL,),
)
class CutFace(WordTest):
    """Whether a fresh cut through the piece is solid or full of cells."""


METHOD: Final = Method(
    name="cut face",
    version="1",
    summary="Whether a fresh cut is solid or full of cells, as foams are.",
    caution=CAUTION,
    sources=("the table's variants that are filled with gas", "common practice, no source"),
    tests=(CutFace,),
)
