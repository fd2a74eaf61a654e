"""The probabilities of many pieces at once, by the same sums as for one.

For one property, what the tests in words said (floats here, sinks there) is the same
for many pieces: such a pattern's likelihood over the nodes is computed once, and its
sums with the masses. A piece that also has a reading with a normal error is summed
over the nodes near it, in blocks (:mod:`resinid.tables.sums`). The variants of a resin are
added up before that where possible (:mod:`resinid.tables.merging`). So the numbers are the
one-piece engine's own, but for the order in which they are added.

What does not fit this form is left to the one-piece engine, piece by piece: two
readings of one property, a reading that shares an error with another test, readings
finer than the standing grid, and properties that depend on each other.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from resinid.tables.grouping import depending, seen
from resinid.tables.merging import merged
from resinid.tables.normalise import column_shares, normalise
from resinid.tables.parts import chunks, in_lead, leading, other

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.scoring.engine import Model
    from resinid.tables.buffers import Buffers
    from resinid.tables.grouping import ReadingColumn, Seen, WordColumn
    from resinid.tables.parts import Leading, Sorted, Unsorted

    Array = NDArray[np.float64]
    Codes = NDArray[np.int64]
    Mask = NDArray[np.bool_]

__all__ = ["unit_probability"]


def unit_probability(
    model: Model,
    prior: Array,
    words: Sequence[WordColumn],
    readings: Sequence[ReadingColumn],
    out: Array,
    *,
    buffers: Buffers,
) -> Mask:
    """Fill in the probabilities of some pieces.

    Parameters
    ----------
    model : Model
    prior : numpy.ndarray
        Of each kind's candidate, shape (kinds,).
    words, readings : sequence of column
        The tests done; each column has one entry a piece.
    out : numpy.ndarray
        Filled by kind, shape (pieces, kinds).
    buffers : Buffers

    Returns
    -------
    numpy.ndarray of bool
        Pieces whose rows are not valid and must be scored one by one, shape (pieces,).
    """
    count = len(out)
    left = np.zeros(count, dtype=bool)
    names = tuple(dict.fromkeys([*(column.observes for column in words), *(column.observes for column in readings)]))
    if not names:
        before = prior * model.kind_gathering.sum(axis=0)
        out[:] = before / before.sum()
        return left
    left |= depending(words, readings, count)
    columns = merged(model, names)
    observed: list[Seen] = []
    for name, mass in zip(names, columns.masses, strict=True):
        own_words = [column for column in words if column.observes == name]
        own_readings = [column.normals for column in readings if column.observes == name]
        observed.append(seen(name, model.latent(name), mass, words=own_words, readings=own_readings, left=left))
    adding = column_shares(columns.owner, prior)
    order, lead = in_lead(observed, left)
    alone, observed = left[order], [each.in_order(order) for each in observed]
    sources: list[Leading | Sorted | Unsorted] = []
    for place, each in enumerate(observed):
        if place == lead and each.outcomes is not None:
            sources.insert(0, leading(each, each.outcomes, alone))
        else:
            # By the place among the properties, for what methods bring along may share a latent's name.
            sources.append(other(each, alone, partial(buffers.matrix, f"evidence {place}")))
    for rows in chunks(count):
        parts = [source.of(rows) for source in sources]
        normalise(parts, columns.masses[0].shape[1], adding, order[rows], out)
    return left
