"""What each sampled item of a bag says of every kind of plastic; items that were read alike are one group.

Neither the order in which items are listed nor that of an item's own readings can change anything:
both are put into an order of their own first.
"""

from __future__ import annotations

import json
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from resinid.errors import Faults, MethodWarning, PlugInError, UnknownNameError, place_of
from resinid.heating.evidence import clearing
from resinid.io.build import unbuild
from resinid.methods._guard import kind_name, term_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.arrays import Array
    from resinid.batches.bag import Batch
    from resinid.methods.contract import Observation
    from resinid.scoring.engine import Evidence, Model
    from resinid.scoring.term import Term

    Tests = tuple[Observation, ...]

__all__ = ["MISMARKED", "ItemGroup", "group_of", "groups_of"]

MISMARKED: Final = 0.02
"""Chance that a resin code or a known origin is wrong (common practice, no source)."""

WARNING: Final = 1e-6
"""The same for a mark of a resin that must not be heated: a warning is believed."""

OTHER_CODES: Final = 6
"""A wrong code is equally likely one of the six other numbered codes."""


@dataclass(frozen=True, slots=True, eq=False)
class ItemGroup:
    """Items that were read alike.

    Parameters
    ----------
    what : str
        What a person calls the first of them, such as ``"piece 3"``.
    count : int
        How many they are.
    scale : float
        Natural log of what the likelihoods of one item were divided by.
    resins, kinds, rows : numpy.ndarray
        Likelihood of what one item shows if it is of a resin, of a kind or of a row of the model;
        "none of these" last; the largest of ``resins`` is 1.
    terms : tuple of Term
        What was read of one of them; empty of counted marks.
    measured : bool
        Whether something was read of them that may clear a piece for heating.
    tests : tuple of Observation
        The readings; empty of counted marks.
    """

    what: str
    count: int
    scale: float
    resins: Array
    kinds: Array
    rows: Array
    terms: tuple[Term, ...] = ()
    measured: bool = False
    tests: tuple[Observation, ...] = ()

    @property
    def name(self) -> str:
        """What a person calls them all: a piece by its number, with how many more were read like it."""
        more = self.count - 1
        return f"{self.what} (and {more} more read like it)" if more and self.what.startswith("piece ") else self.what


def groups_of(batch: Batch, model: Model, barred: Array, *, measured: bool = False) -> tuple[ItemGroup, ...]:
    """Return the items of a batch as groups; a piece without observations is left out.

    Parameters
    ----------
    batch : Batch
    model : Model
    barred : numpy.ndarray
        One for each resin that must not be heated, shape (resins + 1,).
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
    found: dict[str, tuple[str, Tests, int]] = {}
    for index, piece in enumerate(batch.pieces, start=1):
        keyed = sorted((_key(test), place) for place, test in enumerate(piece) if clearing(test) or not measured)
        if keyed:
            key = json.dumps([each for each, _ in keyed])
            what, tests, count = found.get(key, (f"piece {index}", tuple(piece[place] for _, place in keyed), 0))
            found[key] = (what, tests, count + 1)
    for what, tests, count in batch.flake_items():
        keyed = sorted((_key(test), place) for place, test in enumerate(tests))
        key = json.dumps([what, *(each for each, _ in keyed)])
        found[key] = (what, tuple(tests[place] for _, place in keyed), found[key][2] + count if key in found else count)
    out = [group_of(model, *found[key]) for key in sorted(found)]
    faults = Faults()
    for name, count in sorted(batch.marked):
        try:
            index = model.reference.symbols.index(model.reference.resin(name).symbol)
        except UnknownNameError as error:
            faults.add(place_of(batch.name, "marked", name), str(error))
            continue
        wrong = WARNING if barred[index] else MISMARKED
        chance = np.full(len(model.candidates), wrong / OTHER_CODES / (1.0 - wrong))
        chance[index] = 1.0
        rows = chance[[model.candidates.index(row.resin) for row in model.rows]]
        kinds = chance[model.kind_owner]
        out.append(
            ItemGroup(f"a piece marked {name}", count, np.log1p(-wrong), chance, kinds, np.append(rows, chance[-1]))
        )
    faults.check()
    return tuple(out)


def _key(test: Observation) -> str:
    """Return all that a reading states as text, by which equal readings are found and put in order."""
    return f"{kind_name(type(test))} {json.dumps(unbuild(test), sort_keys=True, default=repr)}"


def group_of(model: Model, what: str, tests: Tests, count: int) -> ItemGroup:
    """Return items that were all read alike, as one group."""
    evidence, terms = _evidence(model, tests)
    scale = float(evidence.log.max())
    sums = model.kind_gathering[:-1].T @ (evidence.rows / np.maximum(model.gathering[:-1].sum(axis=1), 1e-300))
    leading = int(sums[:-1].argmax())
    # Rows are stated up to one factor, which the kinds tell.
    factor = np.exp(evidence.kinds[leading] - scale) / sums[leading]
    weights = model.kind_gathering.sum(axis=0)
    rows = evidence.rows / np.maximum(model.gathering[:-1].sum(axis=1), 1e-300) * factor
    return ItemGroup(
        what,
        count,
        scale,
        np.exp(evidence.log - scale),
        np.exp(evidence.kinds - scale) / weights,
        np.append(rows, np.exp(evidence.log[-1] - scale)),
        terms,
        measured=any(map(clearing, tests)),
        tests=tests,
    )


def _evidence(model: Model, tests: Sequence[Observation]) -> tuple[Evidence, tuple[Term, ...]]:
    """Return the evidence of one item; what a failing plug-in made is left out."""
    kept: list[Any] = list(tests)
    while True:
        try:
            terms = tuple(term_of(test) for test in kept)
            return model.evidence(terms), terms
        except PlugInError as error:
            left = [test for test in kept if type(test) is not error.kind]
            if len(left) == len(kept):
                raise
            kept = left
            warnings.warn(f"left out: {error}", MethodWarning, stacklevel=2)
