"""What is known of the resins' melt flow rates, for a reading at any condition and any process.

One piece has one melt, whatever condition it is measured at. So the property is the rate at
the resin's own usual condition. A reading at another condition is carried over, by a
factor that depends on the resin; therefore a node of this property is a kind of melt, a
process and a rate, numbered through. The first kind of melt is any melt: that of resins
of which no rate is known, and of "none of these"; its rate is that at the condition the
reading was taken at.

A process is not evidence by itself: every process has the same chance for every resin. It
narrows the rate of the resins that have rows for it; for the others the rate is that of
all their rows, widened.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.methods.melt_flow_rate.conditions import FOLDER, Melt, at_usual, melts
from resinid.methods.melt_flow_rate.spread import ANY_PROCESS, DOUBTED, FLOOR, GRADE_SPREAD, WORDS
from resinid.quantities import QUANTITIES
from resinid.reference.method_rows import statements_of
from resinid.reference.rules import SpreadRule
from resinid.scoring.grid import Axis, standing_grid
from resinid.scoring.latents import Latent, scalar_latent
from resinid.scoring.properties import Dependence

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.reference.entries import Statement
    from resinid.reference.table import ReferenceTable

__all__ = ["ANY", "MELT_FLOW_RATE", "PROCESSES", "Nodes", "nodes"]

NAME: Final = "melt_flow_rate"

PROCESSES: Final = tuple(WORDS)
"""How an article may have been made."""

AXIS: Final = Axis(math.log(0.003), math.log(1500.0), centre=1.0, below=60.0, above=60.0, step=0.19, logarithmic=True)

ANY: Final = (math.log(5.0), 1.6)
"""Mean and standard deviation of the natural log of the rate of any plastic [g/10 min], at the condition
somebody chose to measure it at (common practice, no source)."""

RULE: Final = SpreadRule(
    logarithmic=True, scatter=GRADE_SPREAD, floor=FLOOR, widening=DOUBTED, unlisted=1.0, any_plastic=ANY
)
"""As the flow of a batch is inferred, :mod:`resinid.batches.melt_flow`."""

WIDENED: Final = replace(RULE, scatter=math.hypot(GRADE_SPREAD, ANY_PROCESS), floor=math.hypot(FLOOR, ANY_PROCESS))
"""For a process of which nothing is published."""


@dataclass(frozen=True)
class Nodes:
    """The nodes: for each its kind of melt (0 is any), process and natural log of the rate, shape (nodes,)."""

    kinds: tuple[Melt, ...]
    kind: NDArray[np.int64]
    process: NDArray[np.int64]
    log_rate: Array


@functools.cache
def nodes() -> Nodes:
    """Return the nodes of this property.

    Examples
    --------
    >>> found = nodes()
    >>> found.log_rate.size == (len(found.kinds) + 1) * len(PROCESSES) * standing_grid(AXIS).values.size
    True
    """
    kinds = tuple(sorted(set(melts().values())))
    logs = standing_grid(AXIS).coordinates
    kind, process, place = np.indices((len(kinds) + 1, len(PROCESSES), logs.size)).reshape(3, -1)
    return Nodes(kinds, kind, process, logs[place])


@dataclass(frozen=True, slots=True)
class MeltFlowRate:
    """Melt flow rate of a piece at its resin's usual condition."""

    name: str = NAME
    depends: tuple[Dependence, ...] = (
        Dependence("melt_flow", 0.7, "runny and stiff were judged from melt flow rates: the flow rule of the table"),
    )

    def latent(self, reference: ReferenceTable) -> Latent:
        """Return the weights on the nodes for each variant."""
        own = statements_of(FOLDER, QUANTITIES[NAME])
        printed = (row for row in (*reference.statements, *own) if row.property == NAME)
        rows = tuple(row for each in printed if (row := at_usual(each)) is not None)
        layout = nodes()
        whole = _latent(reference, rows, "any process", WIDENED)
        kind_of = {resin: layout.kinds.index(melt) + 1 for resin, melt in melts().items()}
        kinds = [
            kind_of.get(variant.resin, 0) if stated else 0
            for variant, stated in zip(reference.variants, whole.stated, strict=True)
        ]
        shape = (len(reference.variants) + 1, len(layout.kinds) + 1, len(PROCESSES), whole.values.size)
        mass = np.zeros(shape)
        sources = list(whole.sources)
        for place, process in enumerate(PROCESSES):
            chosen = tuple(row for row in rows if any(word in row.condition for word in WORDS[process]))
            made = _latent(reference, chosen, process, RULE)
            for index, kind in enumerate([*kinds, 0]):
                known = index < len(kinds) and made.stated[index]
                mass[index, kind, place] = (made if known else whole).mass[index] / len(PROCESSES)
                if known:
                    sources[index] |= made.sources[index]
        for index, variant in enumerate(reference.variants):
            if variant.softens == "never":
                # What never softens does not flow either: it is at the slowest rate there is.
                mass[index] = 0.0
                mass[index, 0, :, 0] = 1.0 / len(PROCESSES)
        flat = mass.reshape(len(mass), -1)
        values = np.arange(flat.shape[1], dtype=np.float64)
        for array in (flat, values):
            array.flags.writeable = False
        stated_or_still = (s or v.softens == "never" for s, v in zip(whole.stated, reference.variants, strict=True))
        return Latent(self.name, values, flat, tuple(stated_or_still), tuple(sources))


def _latent(reference: ReferenceTable, rows: tuple[Statement, ...], label: str, rule: SpreadRule) -> Latent:
    return scalar_latent(
        replace(reference, statements=rows, digest=f"{reference.digest} {FOLDER} {label}"), NAME, AXIS, rule
    )


MELT_FLOW_RATE: Final = MeltFlowRate()
