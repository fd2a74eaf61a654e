"""Renumbering keys without gaps."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Codes = NDArray[np.int64]

__all__ = ["distinct"]

DENSE: Final = 1 << 16
"""Keys below this are renumbered by looking them up, larger ones by sorting."""


def distinct(key: Codes, span: int) -> tuple[Codes, Codes]:
    """Renumber keys from 0 to ``span`` without gaps.

    Returns
    -------
    numpy.ndarray
        The keys that occur, ascending.
    numpy.ndarray
        For each key its index among them.
    """
    if span > DENSE:
        present, number = np.unique(key, return_inverse=True)
        return present, number.ravel()
    present = np.flatnonzero(np.bincount(key, minlength=span))
    number = np.zeros(span, dtype=np.int64)
    number[present] = np.arange(present.size)
    return present, number[key]
