"""The probabilities of many pieces at once, by the same sums as for one.

For one property, what the tests in words said (floats here, sinks there) is the same
for many pieces: such a pattern's likelihood over the nodes is computed once, and its
sums with the masses. A piece that also has a reading with a normal error is summed
over the nodes near it, in blocks (:mod:`resinid.tables.sums`). The variants of a resin are
added up before that where possible (:mod:`resinid.tables.merging`). So the numbers are the
one-piece engine's own, but for the order in which they are added.

What of a property does not fit this form, such as two readings of it, is computed apart
(:mod:`resinid.tables.apart`), each distinct combination once. Of a piece whose properties depend on each other each
counts for less, so its evidence is kept for each variant until it is raised to a power.
"""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING

import numpy as np

from resinid.tables.apart import evidence_apart
from resinid.tables.grouping import powers_of, seen
from resinid.tables.merging import merged, separate
from resinid.tables.normalise import column_shares, normalise
from resinid.tables.parts import Patched, chunks, in_lead, leading, other

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.scoring.engine import Model
    from resinid.scoring.properties import Observable
    from resinid.tables.buffers import Buffers
    from resinid.tables.grouping import Columns, Seen
    from resinid.tables.parts import Leading, Sorted, Unsorted

    Codes = NDArray[np.int64]

__all__ = ["unit_probability"]


def unit_probability(
    model: Model,
    prior: Array,
    tests: Columns,
    out: Array,
    *,
    buffers: Buffers,
) -> None:
    """Fill in the probabilities of some pieces.

    Parameters
    ----------
    model : Model
    prior : numpy.ndarray
        Of each kind's candidate, shape (kinds,).
    tests : Columns
        The tests done.
    out : numpy.ndarray
        Filled by kind, shape (pieces, kinds).
    buffers : Buffers
    """
    names = tests.names()
    if not names:
        before = prior * model.kind_gathering.sum(axis=0)
        out[:] = before / before.sum()
        return
    powers = powers_of(tests, names)
    depending = (powers < 1.0).any(axis=0)
    for rows, power in ((np.flatnonzero(~depending), None), (np.flatnonzero(depending), powers[:, depending])):
        if rows.size == len(out):
            _fill(model, prior, tests, out, names=names, power=power, buffers=buffers)
        elif rows.size:
            part = np.empty((rows.size, out.shape[1]))
            _fill(model, prior, tests.of(rows), part, names=names, power=power, buffers=buffers)
            out[rows] = part


def _fill(
    model: Model,
    prior: Array,
    tests: Columns,
    out: Array,
    *,
    names: tuple[Observable, ...],
    power: Array | None,
    buffers: Buffers,
) -> None:
    """Fill in the probabilities of pieces of which either all or none have properties that depend on each other."""
    columns = merged(model, names) if power is None else separate(model, names)
    adding = column_shares(columns.owner, columns.weight * prior[columns.owner], prior.size)
    observed: list[Seen] = []
    apart: list[tuple[Codes, Array]] = []
    for name, fold in zip(names, columns.folds, strict=True):
        own = tests.observing(name)
        apart.append(evidence_apart(model, name, fold, own, count=len(out), buffers=buffers))
        unfitting = np.zeros(len(out), dtype=bool)
        unfitting[apart[-1][0]] = True
        latent, normals = model.latent(name), [column.normals for column in own.readings]
        observed.append(seen(latent, latent.mass.T @ fold, own.words, normals, unfitting))
    order, lead = in_lead(observed, len(out))
    observed = [each.in_order(order) for each in observed]
    sources: list[Leading | Sorted | Unsorted | Patched] = []
    for place, (each, (rows, values)) in enumerate(zip(observed, apart, strict=True)):
        if place == lead and each.outcomes is not None:
            source: Leading | Sorted | Unsorted = leading(each, each.outcomes)
        else:
            # By the place among the properties, for what methods bring along may share a latent's name.
            source = other(each, partial(buffers.matrix, f"evidence {place}"))
        row = np.full(len(out), -1)
        row[rows] = np.arange(rows.size)
        sources.append(Patched(source, values, row[order]) if rows.size else source)
    power = None if power is None else power[:, order]
    size = columns.folds[0].shape[1]
    for chunk in chunks(len(out)):
        parts = [source.of(chunk) for source in sources]
        normalise(parts, size, adding, order[chunk], out, powers=None if power is None else power[:, chunk])
