"""The ball drop: the share of its height to which a steel ball comes back is the rebound resilience.

The ball falls through a tube that is read by eye. A tube reads in proportion: all its readings are too high or
too low by the same factor, which a drop on a glass plate tells. That factor's own uncertainty is shared by
all readings of the tube. Published values are in ``properties.csv`` beside this file.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid import ContinuousProperty, Method, Quantity, Reading, SharedError, Term
from resinid.io.fields import measured, text

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

__all__ = ["METHOD", "Rebound"]

SHARE: Final = Quantity(
    "rebound_resilience", "percent", 0.5, 100.0, "45 %", "Share of its height a ball comes back to.", "%", usual_u=3.0
)
"""What is read and what is known of a resin."""

RESILIENCE: Final = ContinuousProperty.linear(SHARE, Path(__file__).parent, scatter=6.0)

GLASS: Final = 92.0
"""[%] To what share of its height a steel ball comes back from a thick glass plate (from memory)."""

FACTOR: Final = 0.03
"""Standard uncertainty of a tube's factor after calibration (common practice, no source)."""

EYE: Final = 2.0
"""[%] How far a person is off in seeing the top of the bounce (common practice, no source)."""

OUTLIER: Final = 0.08
"""Chance that the ball touched the tube, or the piece rocked (common practice, no source)."""

NODES: Final = np.linspace(-6.0, 6.0, 97)[:, None]
WEIGHTS: Final = (np.exp(-0.5 * NODES**2) / np.exp(-0.5 * NODES**2).sum()).ravel()


@dataclass(frozen=True, slots=True)
class Rebound:
    """A steel ball was dropped through a tube on a piece that lay flat on stone.

    Parameters
    ----------
    rebound : Reading
        To what share of its height it came back [%].
    on_glass : Reading, optional
        The same on a thick glass plate, with the same tube; 92 % where not given.
    tube : str, optional
        Which tube; readings of one share the error of its calibration.
    """

    test: ClassVar[str] = "rebound"
    observes: ClassVar[ContinuousProperty] = RESILIENCE

    rebound: Reading = measured(SHARE)
    on_glass: Reading | None = measured(SHARE, None)
    tube: str = text("tube")

    @property
    def factor(self) -> float:
        """By what the tube's readings are to be multiplied."""
        return 1.0 if self.on_glass is None else GLASS / self.on_glass.value

    def likelihood(self, values: Array, error: Array | None) -> Array:
        """Return the density of what was read [1/%] at each resilience."""
        if error is None:
            found: Array = np.tensordot(WEIGHTS, self.likelihood(values, NODES), axes=1)
            return found
        sd = math.hypot(self.rebound.u, EYE)
        expected = values * (1.0 + FACTOR * error) / self.factor
        z = (self.rebound.value - expected) / sd
        density: Array = np.exp(-0.5 * z * z) / (sd * math.sqrt(2.0 * math.pi))
        return density

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        sd = math.hypot(self.rebound.u, EYE)
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=OUTLIER,
            outlier_likelihood=1.0 / (SHARE.high - SHARE.low),
            shared=SharedError(("tube", self.tube), max(sd / (FACTOR * self.rebound.value), 1e-3)),
        )

    def describe(self) -> str:
        """Return the reading."""
        return f"a steel ball comes back to {self.rebound.value * self.factor:.0f} %"


METHOD: Final = Method(
    name="rebound",
    version="0.1.0",
    summary="To what share of its height a steel ball comes back from a piece.",
    caution="Wear glasses: a ball may jump out of the tube, and brittle pieces splinter.",
    sources=("common practice, no source",),
    tests=(Rebound,),
)
"""What the entry point names."""
