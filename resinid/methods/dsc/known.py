"""What is known of the resins' melting peaks, heats of fusion and glass transitions."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid.quantities import QUANTITIES, Quantity
from resinid.reference.method_rows import statements_of
from resinid.reference.rules import SpreadRule
from resinid.scoring.grid import Axis
from resinid.scoring.latents import Latent, scalar_latent
from resinid.scoring.properties import ContinuousProperty, Dependence

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.reference.entries import Statement, Variant
    from resinid.reference.table import ReferenceTable

__all__ = ["GLASS_TRANSITION", "HEAT", "HEAT_OF_FUSION", "MELTING_PEAK", "HeatOfFusion", "MeltingPeak"]

FOLDER: Final = Path(__file__).parent

GAS: Final = "gas"
"""Filler of a foam, which weighs nothing."""

SEEN: Final = {"melting": 0.96, "either": 0.85, "glass": 0.6, "never": 0.9}
"""Chance that a melting peak is seen in a resin that crystallises, by how its variant softens: one that
is a glass on the plate mostly crystallises while it is heated slowly, and then melts; what never
softens, such as PTFE or crosslinked foam of polyethylene, has crystals all the same (common
practice, no source)."""

NONE_SEEN: Final = 0.04
"""Chance that a peak is seen in an amorphous or crosslinked one: wax, lubricant, a second phase
(common practice, no source)."""

UNLISTED: Final = 0.5
"""The same for a resin that is not listed."""


@dataclass(frozen=True, slots=True)
class MeltingPeak:
    """Whether a melting peak is seen on heating; it follows from the resin's kind in resins.csv."""

    name: str = "melting_peak"
    outcomes: tuple[str, ...] = ("seen", "none")
    depends: tuple[Dependence, ...] = (
        Dependence("melt_onset", 0.8, "crystals melt at once, glasses soften bit by bit: one thing seen twice"),
    )

    def latent(self, reference: ReferenceTable) -> Latent:
        """Return the chance of a peak for each variant."""
        kinds = {resin.symbol: resin.kind for resin in reference.resins}
        chance = [_seen(kinds[variant.resin], variant) for variant in reference.variants]
        mass = np.array([[p, 1.0 - p] for p in (*chance, UNLISTED)])
        values = np.arange(2, dtype=np.float64)
        for array in (mass, values):
            array.flags.writeable = False
        none: frozenset[str] = frozenset()
        return Latent(self.name, values, mass, (True,) * len(chance), (none,) * len(chance))


def _seen(kind: str, variant: Variant) -> float:
    return SEEN[variant.softens] if kind == "semicrystalline" else NONE_SEEN


MELTING_PEAK: Final = MeltingPeak()


HEAT: Final = Quantity(
    "heat_of_fusion", "J/g", 0.5, 350.0, "180 J/g", "Area of the melting peak over the sample's mass, ISO 11357-3."
)


HEAT_AXIS: Final = Axis(math.log(0.5), math.log(350.0), centre=4.3, below=3.0, above=3.0, step=0.08, logarithmic=True)

# Crystallinity varies with grade and cooling: the sources of PE-HD, the two heatings of PP and the
# ranges recalled differ by a fifth; nothing is known better than to a tenth.
HEAT_RULE: Final = SpreadRule(
    logarithmic=True, scatter=0.2, floor=0.1, widening=0.15, unlisted=0.7, any_plastic=(math.log(60.0), 0.9)
)


@dataclass(frozen=True, slots=True)
class HeatOfFusion:
    """Heat of fusion of a piece [J/g of the whole, filler included].

    A filled variant without a row of its own has the base resin's heat times the mass
    share of resin.
    """

    name: str = HEAT.name
    axis: ClassVar[Axis] = HEAT_AXIS
    depends: tuple[Dependence, ...] = (
        Dependence(
            "density", 0.5, "both follow crystallinity: heat = x heat of crystals, 1/rho = x/rho_c + (1 - x)/rho_a"
        ),
    )

    def latent(self, reference: ReferenceTable, features: Iterable[tuple[float, float]] = ()) -> Latent:
        """Return the distribution for each variant, on a grid that resolves narrow features where any are given."""
        own = statements_of(FOLDER, HEAT)
        diluted = [row for variant in reference.variants for row in _diluted(variant, own)]
        whole = replace(reference, statements=(*own, *diluted), digest=f"{reference.digest} {FOLDER} {self.name}")
        return scalar_latent(whole, self.name, HEAT_AXIS, HEAT_RULE, features)


def _diluted(variant: Variant, rows: tuple[Statement, ...]) -> list[Statement]:
    """Return the base resin's rows for a filled variant that has none, its share of resin counted."""
    of_resin = [row for row in rows if row.resin == variant.resin]
    filled = variant.filler and variant.filler != GAS and variant.load_low is not None and variant.load_high is not None
    if not filled or any(row.variant == variant.name for row in of_resin):
        return []
    share = 1.0 - ((variant.load_low or 0.0) + (variant.load_high or 0.0)) / 200.0

    def less(value: float | None) -> float | None:
        return None if value is None else value * share

    return [
        replace(row, variant=variant.name, low=less(row.low), typical=less(row.typical), high=less(row.high))
        for row in of_resin
    ]


HEAT_OF_FUSION: Final = HeatOfFusion()

GLASS_TRANSITION: Final = ContinuousProperty(
    QUANTITIES["glass_transition_temperature"],
    Axis(-160.0, 280.0, centre=60.0, below=400.0, above=400.0, step=3.2, logarithmic=False),
    # Printed values of one resin differ by 5 to 10 K with the method (DSC, DMA, dilatometer), the rate and
    # moisture; a DSC in hand is good to about 3 K.
    SpreadRule(logarithmic=False, scatter=6.0, floor=4.0, widening=6.0, unlisted=40.0, any_plastic=(50.0, 80.0)),
    folder=FOLDER,
    depends=(
        Dependence(
            "softening_temperature",
            0.5,
            "an amorphous resin softens a few kelvins above its glass transition, a crystalline one does not",
        ),
    ),
)
