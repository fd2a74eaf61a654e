"""Bending a strip: raw readings of load and deflection to a modulus."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid.errors import Fault
from resinid.io.fields import measured, number
from resinid.io.reading import Reading
from resinid.methods.direct import DirectReading
from resinid.methods.likelihoods import normal_about
from resinid.methods.outlier import outlier_chance
from resinid.methods.shapes import LONG_STRIP, WALL
from resinid.methods.test_plan import TestPlan
from resinid.quantities import QUANTITIES
from resinid.scoring.term import Term

if TYPE_CHECKING:
    from collections.abc import Iterator

    from resinid.arrays import Array
    from resinid.methods.bench import Bench


__all__ = ["EYES", "CantileverBend", "MeasuredModulus", "ThreePointBend"]

EYES: Final = "Wear eye protection: brittle strips fly when they snap."

CANTILEVER_MINUTES: Final = 8.0
"""[min] Bench effort, the strip cut already (common practice, no source)."""

PLANNED: Final = 0.2
"""Step of the natural log of the modulus between planned readings, about their standard uncertainty."""

BENCH: Final = 0.15
"""Standard deviation of the natural log of a bench modulus against ISO 178: a secant
instead of the initial slope, creep during reading, slip and indentation at the
supports (common practice, no source)."""

MACHINE: Final = 0.08
"""The same for a modulus from a testing machine: moisture, moulding and thickness of
the specimen (common practice, no source)."""

OUTLIER: Final = outlier_chance(3)
"""Chance that a bend test is botched: a hollow, ribbed or curved strip; slip; a misread gauge."""

BOTCHED_RANGE: Final = 7.0
"""A botched modulus lies anywhere within this range of its natural logarithm."""

CANTILEVER_LIMIT: Final = 0.15
"""Largest deflection over length for which the small-deflection formula is used.

At 0.15 the elastica is about 2 % stiffer (Bisshopp & Drucker 1945, Q. Appl. Math. 3:272-275).
"""

THREE_POINT_LIMIT: Final = 0.10
"""Largest deflection over span for the three-point formula (ISO 178 limits flexural strain to 5 %)."""


@dataclass(frozen=True, slots=True)
class _Bend:
    """Common part of the two bending tests: raw readings to a modulus."""

    test: ClassVar[str]
    observes: ClassVar[str] = "flexural_modulus"
    factor: ClassVar[float]

    def _readings(self) -> tuple[Reading, Reading, Reading, Reading, Reading]:
        """Return load, length, width, thickness and deflection."""
        raise NotImplementedError

    def _estimate(self) -> float:
        load, length, width, thickness, deflection = self._readings()
        return self.factor * load.value * length.value**3 / (width.value * thickness.value**3 * deflection.value)

    def _spread(self) -> float:
        load, length, width, thickness, deflection = self._readings()
        parts = (
            load.u / load.value,
            3 * length.u / length.value,
            width.u / width.value,
            3 * thickness.u / thickness.value,
            deflection.u / deflection.value,
            BENCH,
        )
        return math.sqrt(math.fsum(part * part for part in parts))

    def faults(self) -> Iterator[Fault]:
        """Yield what cannot be about the readings together."""
        names = ("load", self._length_name(), "width", "thickness", "deflection")
        readings = self._readings()
        zero = [name for name, reading in zip(names, readings, strict=True) if reading.value <= 0]
        for name in zero:
            yield Fault(name, "is zero; a bending test needs it above zero")
        if zero:
            return
        ratio = readings[4].value / readings[1].value
        if ratio > self._limit():
            yield Fault(
                "deflection",
                f"is {ratio:.2f} of the {names[1]}, too large for the small-deflection formula (at most "
                f"{self._limit():g}); use less load, a shorter {names[1]} or a thicker strip",
            )
        modulus, plausible = self._estimate(), QUANTITIES["flexural_modulus"]
        if not plausible.low <= modulus <= plausible.high:
            yield Fault(
                "",
                f"these readings give a modulus of {modulus:.3g} MPa, impossible for a plastic "
                f"({plausible.low:g} to {plausible.high:g}); check the units of length and load",
            )

    def _length_name(self) -> str:
        raise NotImplementedError

    def _limit(self) -> float:
        raise NotImplementedError

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        """Return the density of the log deflection at each modulus [MPa]."""
        return normal_about(np.log(values), math.log(self._estimate()), self._spread())

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        estimate = self._estimate()
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=OUTLIER,
            outlier_likelihood=1.0 / BOTCHED_RANGE,
            feature=(estimate, estimate * self._spread()),
        )

    def describe(self) -> str:
        """Return the readings."""
        load, length, _, thickness, deflection = self._readings()
        return (
            f"{load.value:.3g} N bends {length.value:g} mm of {thickness.value:g} mm strip by {deflection.value:g} mm "
            f"({self._estimate():.0f} MPa)"
        )


@dataclass(frozen=True, slots=True)
class ThreePointBend(_Bend):
    """A strip on two supports was loaded in the middle.

    Parameters
    ----------
    load : Reading
        Force, or the mass hung on [N].
    span : Reading
        Distance of the supports [mm].
    width, thickness : Reading
        Of the strip [mm].
    deflection : Reading
        How far the middle went down [mm].

    Notes
    -----
    ``E = L^3 F / (4 b h^3 s)``, ISO 178:2019 (small deflections). At the bench this
    is a secant modulus; its scatter against the standard's initial slope is
    :data:`BENCH`.
    """

    test: ClassVar[str] = "three_point_bend"
    factor: ClassVar[float] = 0.25

    load: Reading = measured("force")
    span: Reading = measured("length")
    width: Reading = measured("length")
    thickness: Reading = measured("length")
    deflection: Reading = measured("deflection")

    def _readings(self) -> tuple[Reading, Reading, Reading, Reading, Reading]:
        return self.load, self.span, self.width, self.thickness, self.deflection

    def _length_name(self) -> str:
        return "span"

    def _limit(self) -> float:
        return THREE_POINT_LIMIT


@dataclass(frozen=True, slots=True)
class CantileverBend(_Bend):
    """A strip clamped at one end was loaded at the other.

    Parameters
    ----------
    load : Reading
        Force, or the mass hung on [N].
    length : Reading
        From the clamp to the load [mm].
    width, thickness : Reading
        Of the strip [mm].
    deflection : Reading
        How far the loaded end went down [mm].

    Notes
    -----
    ``E = 4 F L^3 / (b h^3 s)``, Euler-Bernoulli beam, small deflections.
    """

    test: ClassVar[str] = "cantilever_bend"
    factor: ClassVar[float] = 4.0

    load: Reading = measured("force")
    length: Reading = measured("length")
    width: Reading = measured("length")
    thickness: Reading = measured("length")
    deflection: Reading = measured("deflection")

    def _readings(self) -> tuple[Reading, Reading, Reading, Reading, Reading]:
        return self.load, self.length, self.width, self.thickness, self.deflection

    def _length_name(self) -> str:
        return "length"

    def _limit(self) -> float:
        return CANTILEVER_LIMIT

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        """Yield a bend of a strip 80 x 10 x 2 mm by 6 mm, under whatever load that takes."""
        if not bench.strip or bench.scale is None:
            return
        length, width, thickness, deflection = (Reading(80, 0.5), Reading(10, 0.2), Reading(2, 0.05), Reading(6, 0.3))
        modulus = QUANTITIES["flexural_modulus"]
        every = math.log(modulus.high / modulus.low)
        count = math.ceil(every / PLANNED)
        newtons = width.value * thickness.value**3 * deflection.value / (cls.factor * length.value**3)
        loads = [newtons * modulus.low * math.exp(every * (index + 0.5) / count) for index in range(count)]
        yield TestPlan(
            cls.test,
            "clamp a strip at one end, hang a weight on the other, measure how far it bends",
            tuple(cls(Reading(load, 0.02 * load), length, width, thickness, deflection) for load in loads),
            CANTILEVER_MINUTES,
            (
                "Measure an even, straight strip; clamp it so that 60 to 100 mm stick out level.",
                "Hang on a weighed load until the end drops by 5 to 10 mm; read load and drop within some seconds.",
            ),
            widths=(every / count,) * count,
            needs=("strip", "scale", "ruler", "clamp"),
            needs_shape=(WALL, LONG_STRIP),
            caution=EYES,
            asks=("load", "length", "width", "thickness", "deflection"),
        )


@dataclass(frozen=True, slots=True)
class MeasuredModulus(DirectReading):
    """The modulus was measured some other way, such as in a testing machine.

    Parameters
    ----------
    modulus : Reading
        Flexural modulus and its standard uncertainty [MPa].
    outlier : float, optional
        Chance that it was botched.
    """

    test: ClassVar[str] = "modulus"
    observes: ClassVar[str] = "flexural_modulus"
    reads: ClassVar[str] = "modulus"
    scatter: ClassVar[float] = MACHINE
    botched_range: ClassVar[float] = BOTCHED_RANGE
    often_botched: ClassVar[float] = OUTLIER
    logarithmic: ClassVar[bool] = True

    modulus: Reading = measured("flexural_modulus")
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def describe(self) -> str:
        """Return the measured value."""
        return f"modulus {self.modulus.value:.3g} ± {self.modulus.u:.1g} MPa"
