"""Outcomes of whole tables, read as of the shape that other columns say the pieces have."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from resinid.methods.shapes import shaped, shapes_lacked

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.methods.contract import Observation

    Codes = NDArray[np.int64]
    Outcomes = tuple[tuple[Observation, ...], Codes]

__all__ = ["all_as_shaped"]


def all_as_shaped(tests: Sequence[Outcomes], count: int) -> list[Outcomes]:
    """Return distinct observations and each piece's code among them, as :func:`as_shaped` reads one piece's.

    Parameters
    ----------
    tests : sequence of (tuple of Observation, numpy.ndarray)
        For each test its distinct observations, and for each piece the place of its own, below zero for none.
    count : int
        How many pieces there are.
    """
    lacked, which = [frozenset[str]()], np.zeros(count, dtype=np.int64)
    for observations, codes in tests:
        for code, made in enumerate(observations):
            if gone := shapes_lacked([made]):
                rows = codes == code
                for old in np.unique(which[rows]).tolist():
                    lacked.append(lacked[old] | gone)
                    which[rows & (which == old)] = len(lacked) - 1
    return [_reread(*test, lacked, which) for test in tests] if len(lacked) > 1 else list(tests)


def _reread(
    observations: tuple[Observation, ...], codes: Codes, lacked: Sequence[frozenset[str]], which: Codes
) -> Outcomes:
    made, out = list(observations), codes.copy()
    for code, plain in enumerate(observations):
        for number, gone in enumerate(lacked):
            if (read := shaped(plain, gone)) != plain:
                out[(codes == code) & (which == number)] = len(made)
                made.append(read)
    return tuple(made), out
