"""Tests that read a property itself: each declares the field, its scatter, and the range of botched readings."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, ClassVar

import numpy as np

from resinid.methods.likelihoods import normal_about
from resinid.scoring.term import Normals, Term

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.arrays import Array
    from resinid.io.reading import Reading
    from resinid.scoring.properties import Observable

__all__ = ["DirectReading"]


class DirectReading:
    """Base of tests whose reading is the property, with a normal error of it or of its natural log."""

    __slots__ = ()

    observes: ClassVar[Observable]
    reads: ClassVar[str]
    """Field of the reading."""
    scatter: ClassVar[float]
    """Standard deviation besides the reading's own: of the natural log where ``logarithmic``, a share of the value
    where ``relative``, else in its unit."""
    botched_range: ClassVar[float]
    """Range over which a botched reading lies anywhere, likewise."""
    often_botched: ClassVar[float]
    """Chance that it is botched, where not stated."""
    logarithmic: ClassVar[bool] = False
    relative: ClassVar[bool] = False

    outlier: float

    @classmethod
    def many(cls, readings: Mapping[str, tuple[Array, Array]]) -> Normals:
        """Return many readings as whole tables are scored."""
        value, u = readings[cls.reads]
        botched = np.full(value.shape, 1.0) / (value if cls.relative else 1.0) / cls.botched_range
        seen, sd = value, np.hypot(u, cls.scatter * value if cls.relative else cls.scatter)
        if cls.logarithmic:
            seen, sd = np.log(value), np.hypot(u / value, cls.scatter)
        return Normals(seen, sd, botched, cls.often_botched, logarithmic=cls.logarithmic, shared=None)

    def _own(self) -> tuple[float, float]:
        """Return the value read, and the standard deviation of it or of its natural log."""
        reading: Reading = getattr(self, self.reads)
        value = reading.value
        if self.logarithmic:
            return value, math.hypot(reading.u / value, self.scatter)
        return value, math.hypot(reading.u, self.scatter * value if self.relative else self.scatter)

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        """Return the density of the value read, or of its natural log, at each value of the piece."""
        value, sd = self._own()
        if self.logarithmic:
            return normal_about(np.log(values), math.log(value), sd)
        return normal_about(values, value, sd)

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        value, sd = self._own()
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=1.0 / (value if self.relative else 1.0) / self.botched_range,
            feature=(value, value * sd if self.logarithmic else sd),
        )
