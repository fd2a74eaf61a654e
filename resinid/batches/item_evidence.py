"""What each sampled item of a batch says of every resin: one likelihood an item.

Whether a bag's items are of many makes or of one is not known, and it matters: where items
are of many makes they are independent given their resin, and how wide a resin's properties
are published counts once an item; where they are of one make it counts once. Both can be
asked for. Of one make, items that agree are taken for one piece tested often, as the engine
scores it: all are of one resin, and each has an equal part (the geometric mean) of what that
piece would say.

An error that items share, such as that of one jug in which all were floated, is integrated
out for each item by itself where they are of many makes; counts of flakes in a liquid whose
density lies within a few thousandths of a resin's are then a little too sure of themselves.
"""

from __future__ import annotations

import functools
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.batches.one_make import ALIKE, of_one_make
from resinid.errors import Faults, MethodWarning, PlugInError, UnknownNameError, place_of
from resinid.heating.evidence import clearing
from resinid.methods._guard import term_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.arrays import Array
    from resinid.batches.bag import Batch
    from resinid.methods.contract import Observation
    from resinid.scoring.engine import Model

    Tests = tuple[Observation, ...]

__all__ = ["MISMARKED", "ItemGroup", "groups_of", "log_likelihood"]

MISMARKED: Final = 0.02
"""Chance that a resin code or a known origin is wrong (common practice, no source)."""

WARNING: Final = 1e-6
"""The same for a mark of a resin that must not be heated: a warning is believed."""

OTHER_CODES: Final = 6
"""A wrong code is equally likely one of the six other numbered codes."""


@dataclass(frozen=True, slots=True)
class ItemGroup:
    """Items that say the same.

    Parameters
    ----------
    likelihood : numpy.ndarray
        Of one item for each resin, "none of these" last; relative, its largest value is 1.
    scale : float
        Natural log of what one item's likelihood was divided by.
    count : int
        How many items.
    what : str, optional
        What a person calls them, such as ``"piece 3"``.
    one_make : bool, optional
        Whether they are of one make, and so of one resin.
    """

    likelihood: Array
    scale: float
    count: int
    what: str = ""
    one_make: bool = False


def groups_of(
    batch: Batch, model: Model, barred: Array, *, one_make: bool = False, measured: bool = False
) -> tuple[ItemGroup, ...]:
    """Return the items of a batch as groups; a piece without observations is left out.

    Parameters
    ----------
    batch : Batch
    model : Model
    barred : numpy.ndarray
        One for each resin that must not be heated, shape (resins + 1,).
    one_make : bool, optional
        Whether items that agree are taken to be of one make.
    measured : bool, optional
        Whether only those observations of pieces count that may clear a piece for heating.

    Raises
    ------
    InputError
        A piece is marked with a resin that the table does not have.

    Warns
    -----
    MethodWarning
        A plug-in failed; what its tests told of pieces was left out.
    """
    tested = [tuple(test for test in piece if clearing(test) or not measured) for piece in batch.pieces]
    pieces = {f"piece {index}": piece for index, piece in enumerate(tested, start=1) if piece}
    if one_make:
        found = of_one_make(pieces.values(), functools.partial(log_likelihood, model), barred)
        out = [_group(log, count, one_make=True) for log, count in found]
    else:
        out = [_group(log_likelihood(model, [piece]), 1, what) for what, piece in pieces.items()]
    for counted in batch.flakes:
        for test, count in counted.tests():
            log = log_likelihood(model, [(test,)] * (min(count, ALIKE) if one_make else 1))
            log = log / count if one_make else log
            # Not as one: flakes that showed the same in one bath are shredded from who knows how many goods.
            out.append(_group(log, count, f"a flake that {test.outcome}"))
    faults = Faults()
    for name, count in batch.marked:
        try:
            index = model.reference.symbols.index(model.reference.resin(name).symbol)
        except UnknownNameError as error:
            faults.add(place_of(batch.name, "marked", name), str(error))
            continue
        wrong = WARNING if barred[index] else MISMARKED
        chance = np.full(len(model.candidates), wrong / OTHER_CODES)
        chance[index] = 1.0 - wrong
        out.append(_group(np.log(chance), count, f"a piece marked {name}"))
    faults.check()
    return tuple(out)


def log_likelihood(model: Model, pieces: Sequence[Tests]) -> Array:
    """Return the log likelihood of some pieces, were they one piece; what a failing plug-in made is left out."""
    tests = [test for piece in pieces for test in piece]
    while True:
        try:
            return model.evidence([term_of(test) for test in tests]).log
        except PlugInError as error:
            left = [test for test in tests if type(test) is not error.kind]
            if len(left) == len(tests):
                raise
            tests = left
            warnings.warn(f"left out: {error}", MethodWarning, stacklevel=2)


def _group(log: Array, count: int, what: str = "", *, one_make: bool = False) -> ItemGroup:
    scale = float(log.max())
    return ItemGroup(np.exp(log - scale), scale, count, what, one_make)
