"""Buffers: memory that is used again, unit after unit."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from resinid.arrays import Array

__all__ = ["Buffers"]


class Buffers:
    """Matrices that one thread fills anew for each unit of a table, and what it keeps from unit to unit.

    That is texts that are made once, and how much had to be computed one by one (``singly``).

    Asking the system for them each time, and giving them back, takes up to a third of
    the whole time. Not to be shared between threads.
    """

    def __init__(self) -> None:
        self._held: dict[str, Array] = {}
        self.singly = 0
        self.texts: dict[tuple[float, int], str] = {}

    def matrix(self, name: str, rows: int, columns: int) -> Array:
        """Return a matrix with anything in it, the same memory for the same name.

        Examples
        --------
        >>> buffers = Buffers()
        >>> first = buffers.matrix("density", 3, 2)
        >>> np.shares_memory(first, buffers.matrix("density", 2, 2))
        True
        """
        size = rows * columns
        held = self._held.get(name)
        if held is None or held.size < size:
            held = self._held[name] = np.empty(size)
        return held[:size].reshape(rows, columns)
