"""How far the melt flow rates of one resin's grades lie apart, and which printed conditions tell a process."""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

__all__ = ["ANY_PROCESS", "DOUBTED", "FLOOR", "GRADE_SPREAD", "WORDS"]

WORDS: Final = MappingProxyType(
    {
        "injection moulding": ("injection", "general purpose"),
        "blow moulding": ("blow mould",),
        "extrusion": ("extrusion", "pipe"),
        "film": ("film",),
        "fibre": ("fibre",),
        "rotational moulding": ("rotomoulding",),
        "thermoforming": ("thermoforming",),
    }
)
"""Words of a condition in the table that stand for a process."""

GRADE_SPREAD: Final = 0.5
"""Standard deviation of ln MFR of grades about a single printed value (common practice, no source)."""

FLOOR: Final = 0.4
"""Narrowest standard deviation of ln MFR of the goods made by one process (common practice, no source)."""

DOUBTED: Final = 0.3
"""Standard deviation of ln MFR added for a statement from memory; others add their share by their grade."""

ANY_PROCESS: Final = 0.5
"""Standard deviation of ln MFR added where the process is unknown or the table has nothing on it
(common practice, no source)."""
