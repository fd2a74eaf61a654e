"""Scores of stated probabilities."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid import Result

    Array = NDArray[np.float64]

__all__ = ["BINS", "Claims", "calibration_error", "chance_error", "reliability"]

BINS: Final = 10


def _places(said: Array) -> NDArray[np.int64]:
    return np.minimum((said * BINS).astype(np.int64), BINS - 1)


def calibration_error(said: Array, right: Array) -> float:
    """Return the expected calibration error: the mean gap between stated and found, over ten bins, by their share."""
    place = _places(said)
    return float(sum(abs(said[place == b].mean() - right[place == b].mean()) * (place == b).mean() for b in set(place)))


def chance_error(said: Array, rng: np.random.Generator) -> float:
    """Return what that error would be by chance alone, were every stated probability right."""
    return float(
        np.mean([calibration_error(said, np.where(rng.random(said.size) < said, 1.0, 0.0)) for _ in range(20)])
    )


def reliability(said: Array, right: Array) -> list[tuple[int, float, float]]:
    """Return for each bin the count, the mean stated probability and the share found right."""
    place = _places(said)
    return [
        (int((place == b).sum()), float(said[place == b].mean()), float(right[place == b].mean()))
        for b in sorted(set(place.tolist()))
    ]


@dataclass
class Claims:
    """What answers said of their leader, and whether it was right."""

    said: list[float] = field(default_factory=list)
    right: list[float] = field(default_factory=list)
    tests: list[int] = field(default_factory=list)
    loss: list[float] = field(default_factory=list)

    def add(self, answer: Result, truth: str) -> None:
        self.said.append(answer.probability[0])
        self.right.append(float(answer.leader == truth))
        self.tests.append(len(answer.observations))
        self.loss.append(-math.log(max(answer[truth], 1e-12)) if truth in answer.resins else math.nan)

    def arrays(self, tests: int | None = None) -> tuple[Array, Array]:
        chosen = np.array(self.tests) == tests if tests else np.ones(len(self.tests), dtype=bool)
        return np.array(self.said)[chosen], np.array(self.right)[chosen]

    def error(self, tests: int | None = None) -> float:
        return calibration_error(*self.arrays(tests))
