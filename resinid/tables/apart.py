"""Evidence from one property for pieces that do not fit the sums of whole tables.

These have two readings of the property, a reading that shares an error with another test, or one finer than
the standing grid. A single fine reading is summed as any other, on the grid that it shares with its
neighbours. For the rest, each distinct combination of readings and outcomes is computed once, as the
one-piece engine does, and its sums with the masses are those of some hundred at a time.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.methods._guard import term_of
from resinid.scoring.grid import zone
from resinid.scoring.integrals import log_product
from resinid.scoring.properties import axis_of
from resinid.scoring.term import Normals
from resinid.tables.array_sums import array_evidence
from resinid.tables.grouping import on_axis, seen, some_of, too_fine, unfit
from resinid.tables.parts import chunks, other

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.scoring.engine import Model
    from resinid.scoring.latents import Latent
    from resinid.scoring.properties import Observable
    from resinid.scoring.term import Term
    from resinid.tables.array_columns import ArrayColumn
    from resinid.tables.buffers import Buffers
    from resinid.tables.grouping import Columns, WordColumn

    Codes = NDArray[np.int64]

__all__ = ["evidence_apart"]

TOGETHER: Final = 256
"""Combinations summed at a time, so that memory stays bounded."""


def evidence_apart(
    model: Model,
    name: Observable,
    fold: Array,
    columns: Columns,
    *,
    count: int,
    buffers: Buffers,
) -> tuple[Codes, Array]:
    """Return which pieces do not fit, and their evidence, each up to a factor of its own, shape (pieces, columns).

    Parameters
    ----------
    model : Model
    name : str or property
    fold : numpy.ndarray
        How rows of the model add up to columns, as in :class:`resinid.tables.merging.Merged`.
    columns : Columns
        The property's tests.
    count : int
        How many pieces there are.
    buffers : Buffers
        Counts the combinations that were computed one by one.
    """
    found = unfit(model, name, columns, count)
    rows = [np.flatnonzero(found.other)]
    out = [_combinations(model, name, fold, columns.of(rows[0]), buffers)]
    words = columns.words
    for array in columns.arrays:
        here = np.flatnonzero(found.array & array.done)
        rows.append(here)
        out.append(_by_arrays(model, name, fold, [word.of(here) for word in words], array.of(here)))
    for column in columns.readings:
        here = np.flatnonzero(found.fine & ~np.isnan(column.normals.centre))
        axis = axis_of(name)
        if axis is None or not here.size:
            continue
        zones = np.stack(zone(*on_axis(axis, some_of(column.normals, here))))
        for (centre, width), some in _alike(zones):
            latent, own = model.refined(name, ((centre, width),)), here[some]
            rows.append(own)
            out.append(_in_zone(latent, fold, [word.of(own) for word in words], some_of(column.normals, own)))
    return np.concatenate(rows), np.concatenate(out)


def _alike(keys: Array) -> Iterator[tuple[list[float], Codes]]:
    """Yield each distinct column of a matrix and where it is."""
    different, which = np.unique(keys, axis=1, return_inverse=True)
    for number, key in enumerate(different.T.tolist()):
        yield key, np.flatnonzero(which.ravel() == number)


def _in_zone(latent: Latent, fold: Array, words: Sequence[WordColumn], read: Normals) -> Array:
    """Return the evidence of pieces with one fine reading each, neighbours of each other."""
    count = read.centre.size
    own = seen(latent, latent.mass.T @ fold, words, [read], np.zeros(count, dtype=bool))
    source = other(own, lambda rows, columns: np.empty((rows, columns)))
    out = np.empty((count, fold.shape[1]))
    for chunk in chunks(count):
        source.of(chunk).taken(slice(0, chunk.stop - chunk.start), out[chunk])
    return out


def _by_arrays(model: Model, name: Observable, fold: Array, words: Sequence[WordColumn], column: ArrayColumn) -> Array:
    """Return the evidence of pieces that all have a reading of one column and no others but in words."""
    out = np.empty((column.group.size, fold.shape[1]))
    centre, width = column.features()
    told = Normals(centre, width, np.ones(centre.size), 0.5, logarithmic=False, shared=None)
    fine, axis = too_fine(name, told), axis_of(name)
    zones = np.zeros((2, centre.size))
    if axis is not None:
        zones = np.where(fine, np.stack(zone(*on_axis(axis, told))), 0.0)
    for key, same in _alike(np.stack([column.group, *(word.codes for word in words), *zones])):
        terms = [word.terms[int(code)] for word, code in zip(words, key[1:-2], strict=True) if code >= 0]
        latent = model.refined(name, ((key[-2], key[-1]),)) if key[-1] else model.latent(name)
        out[same] = array_evidence(latent, fold, column, same, terms)
    return out


def _combinations(model: Model, name: Observable, fold: Array, columns: Columns, buffers: Buffers) -> Array:
    """Return the evidence of any pieces, that of each combination of outcomes and readings computed once."""
    said = [column.codes.astype(np.float64) for column in columns.words]
    for column in columns.readings:
        said += [np.nan_to_num(column.normals.centre, nan=-np.inf), column.normals.sd]
    for array in columns.arrays:
        said += array.keys()
    _, first, same = np.unique(np.column_stack(said), axis=0, return_index=True, return_inverse=True)
    buffers.singly += first.size
    by_sharp: dict[tuple[tuple[float, float], ...], list[tuple[int, list[Term]]]] = {}
    for place, row in enumerate(first.tolist()):
        terms = [column.terms[code] for column in columns.words if (code := int(column.codes[row])) >= 0]
        terms += [column.term(row) for column in columns.readings if not np.isnan(column.normals.centre[row])]
        terms += [term_of(column.row(row)) for column in columns.arrays if column.done[row]]
        by_sharp.setdefault(model.sharp(name, terms), []).append((place, terms))
    out = np.empty((first.size, fold.shape[1]))
    for sharp, some in by_sharp.items():
        latent = model.refined(name, sharp)
        mass = latent.mass.T @ fold
        for begin in range(0, len(some), TOGETHER):
            places, lists = zip(*some[begin : begin + TOGETHER], strict=True)
            logs = np.array([log_product(terms, latent.values) for terms in lists])
            out[list(places)] = np.exp(logs - logs.max(axis=1, keepdims=True)) @ mass
    return out[same.ravel()]
