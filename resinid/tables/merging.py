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

    Array = NDArray[np.float64]
    Codes = NDArray[np.int64]

__all__ = ["Merged", "merged"]

LANES: Final = 8
"""Columns are as many as a multiple of this, those that are too many being nought: products of such matrices are
about a tenth faster, for eight numbers are worked on at once."""


@dataclass(frozen=True, slots=True)
class Merged:
    """Masses of the observed properties, with a column for each run of variants that share all but one.

    Parameters
    ----------
    masses : tuple of numpy.ndarray
        For each property, shape (nodes, columns rounded up to :data:`LANES`), what is too many
        nought; the variants' weights are in one of them.
    owner : numpy.ndarray
        Kind of each column, shape (columns,).
    """

    masses: tuple[Array, ...]
    owner: Codes


@functools.lru_cache(maxsize=32)
def merged(model: Model, names: tuple[str, ...]) -> Merged:
    """Return the fewest columns that hold all variants, one property being summed over.

    Parameters
    ----------
    model : Model
    names : tuple of str
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
    out = [np.zeros((mass.shape[1], math.ceil(len(first) / LANES) * LANES)) for mass in masses]
    for mass, wide in zip(masses, out, strict=True):
        wide[:, : len(first)] = mass[variants[first]].T
    summed = np.zeros_like(out[chosen])
    for column, variant, resin in zip(columns, variants, owner, strict=True):
        summed[:, column] += model.kind_gathering[variant, resin] * masses[chosen][variant]
    out[chosen] = summed
    return Merged(tuple(out), owner[first])


def _numbered(keys: Sequence[Hashable]) -> list[int]:
    """Return a number for each key, the same for equal ones, in the order of their first appearance."""
    numbers: dict[Hashable, int] = {}
    return [numbers.setdefault(key, len(numbers)) for key in keys]
