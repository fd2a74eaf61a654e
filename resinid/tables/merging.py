"""Columns that sum a resin's variants before any piece is scored.

The evidence of a resin is ``sum_v w_v prod_k <m_vk, L_k>`` over its variants ``v`` and the
observed properties ``k``. Variants that differ in one property only, as with a filler
that leaves the softening point alone, share every factor but that one, so their masses
there can be added first: ``sum_v w_v m_vk`` takes their place. That is exact, and leaves
fewer columns to compute for every piece.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence

    from numpy.typing import NDArray

    from resinid.scoring.engine import Model
    from resinid.scoring.properties import Observable

    Array = NDArray[np.float64]
    Codes = NDArray[np.int64]

__all__ = ["Merged", "merged", "separate"]

LANES: Final = 8
"""Columns are as many as a multiple of this, those that are too many being nought: products of such matrices are
about a tenth faster, for eight numbers are worked on at once."""


@dataclass(frozen=True, slots=True)
class Merged:
    """How a model's rows are added up to columns, property by property.

    Parameters
    ----------
    folds : tuple of numpy.ndarray
        For each property, what a row's masses count in each column, shape (rows + 1, columns rounded up to
        :data:`LANES`), what is too many nought; the variants' weights are in one of them.
    owner : numpy.ndarray
        Kind of each column, shape (columns,).
    weight : numpy.ndarray
        What each column counts in its kind, shape (columns,).
    """

    folds: tuple[Array, ...]
    owner: Codes
    weight: Array


@functools.lru_cache(maxsize=32)
def merged(model: Model, names: tuple[Observable, ...]) -> Merged:
    """Return the fewest columns that hold all variants, one property being summed over.

    Parameters
    ----------
    model : Model
    names : tuple of str or property
        The properties and aspects observed; at least one.
    """
    masses = [model.latent(name).mass for name in names]
    variants, owner = np.nonzero(model.kind_gathering)
    # What a variant has in each property, as a number that equal rows have in common.
    same = [_numbered([mass[variant].tobytes() for variant in variants]) for mass in masses]
    chosen, columns = min(
        ((k, _numbered(list(zip(owner.tolist(), *same[:k], *same[k + 1 :], strict=True)))) for k in range(len(names))),
        key=lambda found: max(found[1]),
    )
    first = np.unique(columns, return_index=True)[1]
    shape = (len(variants), math.ceil(len(first) / LANES) * LANES)
    alike, summed = np.zeros(shape), np.zeros(shape)
    alike[variants[first], np.arange(len(first))] = 1.0
    summed[variants, columns] = model.kind_gathering[variants, owner]
    return Merged(tuple(summed if k == chosen else alike for k in range(len(names))), owner[first], np.ones(len(first)))


def separate(model: Model, names: tuple[Observable, ...]) -> Merged:
    """Return a column for each variant, where properties count for less than they would alone and none may be summed.

    Their weights are not in the masses, for these are raised to a power.
    """
    owner = model.kind_gathering.argmax(axis=1)
    alike = np.eye(owner.size, math.ceil(owner.size / LANES) * LANES)
    return Merged((alike,) * len(names), owner, model.kind_gathering.sum(axis=1))


def _numbered(keys: Sequence[Hashable]) -> list[int]:
    """Return a number for each key, the same for equal ones, in the order of their first appearance."""
    numbers: dict[Hashable, int] = {}
    return [numbers.setdefault(key, len(numbers)) for key in keys]
