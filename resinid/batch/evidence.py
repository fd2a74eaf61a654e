"""What each sampled item of a batch says of every resin: one likelihood an item.

Items are taken as independent given the resin they are made of. An error that items
share, such as that of one jug in which all were floated, is integrated out for each
item by itself; counts of flakes in a liquid whose density lies within a few thousandths
of a resin's are therefore a little too sure of themselves.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import Faults, UnknownNameError

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.batch.bag import Batch
    from resinid.scoring.engine import Model

    Array = NDArray[np.float64]

__all__ = ["MISMARKED", "Group", "groups_of"]

MISMARKED: Final = 0.02
"""Chance that a resin code or a known origin is wrong (common practice, no source)."""

WARNING: Final = 1e-6
"""The same for a mark of a resin that must not be heated: a warning is believed."""

OTHER_CODES: Final = 6
"""A wrong code is equally likely one of the six other numbered codes."""


@dataclass(frozen=True, slots=True)
class Group:
    """Items that say the same.

    Parameters
    ----------
    likelihood : numpy.ndarray
        Of one item for each resin, "none of these" last; relative, its largest value is 1.
    scale : float
        Natural log of what one item's likelihood was divided by.
    count : int
        How many items.
    """

    likelihood: Array
    scale: float
    count: int


def groups_of(batch: Batch, model: Model, barred: Array) -> tuple[Group, ...]:
    """Return the items of a batch as groups; a piece without observations is left out.

    Parameters
    ----------
    batch : Batch
    model : Model
    barred : numpy.ndarray
        One for each resin that must not be heated, shape (resins + 1,).

    Raises
    ------
    InputError
        A piece is marked with a resin that the table does not have.
    """
    out = [_group(model.evidence([test.term() for test in piece]).log, 1) for piece in batch.pieces if piece]
    for counted in batch.flakes:
        out += [_group(model.evidence([test.term()]).log, count) for test, count in counted.tests()]
    faults = Faults()
    for name, count in batch.marked:
        try:
            index = model.table.symbols.index(model.table.resin(name).symbol)
        except UnknownNameError as error:
            faults.add(f"{batch.name}.marked.{name}", str(error))
            continue
        wrong = WARNING if barred[index] else MISMARKED
        chance = np.full(len(model.candidates), wrong / OTHER_CODES)
        chance[index] = 1.0 - wrong
        out.append(_group(np.log(chance), count))
    faults.check()
    return tuple(out)


def _group(log: Array, count: int) -> Group:
    scale = float(log.max())
    return Group(np.exp(log - scale), scale, count)
