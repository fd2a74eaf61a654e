"""One line of a table file being parsed: typed cells, faults gathered."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.errors import Faults
    from resinid.reference.files import Cells

__all__ = ["Line"]


class Line:
    """One line being parsed; gathers the faults of its cells."""

    def __init__(self, cells: Cells, faults: Faults) -> None:
        self.cells = cells
        self.faults = faults

    def fault(self, column: str, message: str) -> None:
        """Record a fault of one cell."""
        self.faults.add(self.cells.place(column), message)

    def text(self, column: str, *, needed: bool = False) -> str:
        """Return the text of a cell."""
        value = self.cells[column]
        if needed and not value:
            self.fault(column, "is empty; a text is needed")
        return value

    def one_of(self, column: str, allowed: Iterable[str]) -> str:
        """Return a cell that must be one of a closed list."""
        value = self.cells[column]
        allowed = tuple(allowed)
        if value not in allowed:
            self.fault(column, f"{value!r} is not allowed; expected one of: {', '.join(allowed)}")
        return value

    def number(self, column: str, low: float, high: float, *, needed: bool = False) -> float | None:
        """Return the number in a cell, None where it is empty or not a number within the limits."""
        value = self.cells[column]
        if not value:
            if needed:
                self.fault(column, f"is empty; a number from {low:g} to {high:g} is needed")
            return None
        try:
            parsed = float(value)
        except ValueError:
            parsed = math.nan
        if not low <= parsed <= high:
            self.fault(column, f"{value!r} is not a number from {low:g} to {high:g}")
            return None
        return parsed

    def needed(self, column: str, low: float, high: float) -> float:
        """Return the number in a cell that must not be empty; not a number where it is faulty."""
        found = self.number(column, low, high, needed=True)
        return math.nan if found is None else found
