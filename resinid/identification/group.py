"""A melt group of a result."""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["Group"]


@dataclass(frozen=True, slots=True)
class Group:
    """Resins that melt as one, and the probability that the piece is one of them.

    Parameters
    ----------
    name : str
    members : tuple of str
        Symbols of the resins.
    probability : float
    """

    name: str
    members: tuple[str, ...]
    probability: float
