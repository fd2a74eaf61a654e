"""Density by displacement: weigh in air and liquid, overflow, graduated cylinder, or as measured."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Final

import numpy as np

from resinid.errors import Fault
from resinid.io.fields import measured, number
from resinid.io.liquid_parser import liquid_field
from resinid.io.reading import DIGIT_TO_U, Reading
from resinid.liquids.expansion import at_room
from resinid.methods.contract import Method
from resinid.methods.direct import DirectReading
from resinid.methods.displacement.volumes import BOTCHED_RANGE, OUTLIER, WETTING, Cylinder, Overflow, at_23, implied
from resinid.methods.likelihoods import normal_density
from resinid.methods.planned import planned_readings
from resinid.methods.test_plan import TestPlan
from resinid.quantities import QUANTITIES
from resinid.scoring.term import SharedError, Term

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.liquids import Liquid
    from resinid.methods.bench import Bench

    Mask = NDArray[np.bool_]

__all__ = ["METHOD", "MeasuredDensity", "Weighing"]

WEIGHING_MINUTES: Final = 4.0
"""[min] Bench effort (common practice, no source)."""

AIR: Final = 0.0012
"""[g/cm3] Density of air at 20 degC and 1013 hPa, 50 % relative humidity (CIPM-2007 formula gives 0.001199)."""

PIECES: Final = 0.0002
"""Standard deviation of a stated density from temperature and handling, as a share of it
(common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Weighing:
    """A piece was weighed in air and then hanging in a liquid.

    Parameters
    ----------
    in_air : Reading
        Mass shown in air [g].
    in_liquid : Reading
        Mass shown with the piece in the liquid, sinker included if there is one [g].
    liquid : Liquid
        What it hung in.
    sinker_in_liquid : Reading, optional
        Mass shown with the sinker alone in the liquid [g]; for pieces that float.
    outlier : float, optional
        Chance that it was botched.

    Notes
    -----
    A piece of mass ``m`` and density ``rho`` shows ``m (1 - rho_air/rho)`` in air and
    ``m (1 - rho_liquid/rho)`` in the liquid (ISO 1183-1:2019 method A, with the
    buoyancy of air). The likelihood is that of the reading in liquid given the
    reading in air; the unknown mass is integrated out under a flat prior. The piece
    is as warm as the liquid; outside 20 to 26 degC ``rho_liquid`` stands multiplied by
    the expansion of plastics, so that ``rho`` is the density at room temperature
    (:mod:`resinid.liquids.expansion`).
    """

    test: ClassVar[str] = "weighing"
    observes: ClassVar[str] = "density"
    takes_columns: ClassVar[bool] = True

    in_air: Reading = measured("mass")
    in_liquid: Reading = measured("mass")
    liquid: Liquid = liquid_field()
    sinker_in_liquid: Reading | None = measured("mass", None)
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def faults(self) -> Iterator[Fault]:
        """Yield what cannot be about the readings together."""
        if self.in_air.value <= 0:
            yield Fault("in_air", "is zero; weigh the piece dry, after setting the scale to zero")
            return
        lost = self.in_air.value - self._shown
        if lost <= 0:
            yield Fault("in_liquid", "is not less than in_air; a piece is lighter in a liquid (is the sinker stated?)")
            return
        yield from implied(self._density, "the scale's zero, the sinker and the liquid")

    @property
    def _shown(self) -> float:
        return self.in_liquid.value - (self.sinker_in_liquid.value if self.sinker_in_liquid else 0.0)

    @property
    def _density(self) -> float:
        air, shown = self.in_air.value, self._shown
        return (air * self._liquid[0] - shown * AIR) / (air - shown)

    @property
    def _liquid(self) -> tuple[float, float]:
        return at_room(self.liquid)

    def _own_variance(self, volume: Array | float) -> Array | float:
        u_sinker = self.sinker_in_liquid.u if self.sinker_in_liquid else 0.0
        return self.in_liquid.u**2 + u_sinker**2 + (WETTING * self._liquid[0] * volume) ** 2

    def likelihood(self, values: Array, error: Array | None) -> Array:
        """Return the density of the reading in liquid at each density of the piece."""
        volume = self.in_air.value / (values - AIR)
        variance = self._own_variance(volume)
        of_liquid, u_liquid = self._liquid
        if error is None:
            liquid: Array | float = of_liquid
            variance = variance + (volume * u_liquid) ** 2
        else:
            liquid = of_liquid + u_liquid * error
        ratio = (values - liquid) / (values - AIR)
        variance = variance + (ratio * self.in_air.u) ** 2
        return normal_density(self._shown - ratio * self.in_air.value, variance**0.5)

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        density, (of_liquid, u_liquid) = self._density, self._liquid
        volume = self.in_air.value / (density - AIR)
        # How the reading in liquid moves with the piece's density: m (rho_l - rho_a) / (rho - rho_a)^2.
        slope = volume * (of_liquid - AIR) / (density - AIR)
        ratio = (density - of_liquid) / (density - AIR)
        own: Any = np.sqrt(self._own_variance(volume) + (ratio * self.in_air.u) ** 2)
        from_liquid = volume * u_liquid
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=1.0 / (slope * density) / BOTCHED_RANGE,
            feature=(density, (own**2 + from_liquid**2) ** 0.5 / slope),
            shared=SharedError(self.liquid, own / from_liquid),
        )

    def possible(self) -> bool | Mask:
        """Return whether :meth:`faults` would find none."""
        air, shown = self.in_air.value, self._shown
        density = (air * self._liquid[0] - shown * AIR) / np.where(air > shown, air - shown, np.nan)
        return (air > 0) & (density >= QUANTITIES["density"].low) & (density <= QUANTITIES["density"].high)

    def describe(self) -> str:
        """Return the readings."""
        sinker = f", sinker alone {self.sinker_in_liquid.value:g} g" if self.sinker_in_liquid else ""
        return (
            f"{self.in_air.value:g} g in air, {self.in_liquid.value:g} g in {self.liquid.label}{sinker} "
            f"({self._density:.4f} g/cm3{at_23(self.liquid)})"
        )

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        """Yield the weighing in water; a sinker is needed, for the piece may float."""
        if bench.scale is None or not bench.sinker:
            return
        u, volume, water = bench.scale * DIGIT_TO_U, bench.volume, bench.water
        of_water, _ = at_room(water)

        def weighed(density: float, u_shown: float) -> Weighing:
            air, shown = volume * (density - AIR), volume * (density - of_water)
            sinker = Reading(2.0 * volume * water.density, u)
            return cls(Reading(air, u), Reading(sinker.value + shown, u_shown), water, sinker)

        # How the reading in liquid moves with the density: V (rho_l - rho_a) / (rho - rho_a).
        outcomes, widths = planned_readings(weighed, u, lambda density: volume * (of_water - AIR) / (density - AIR))
        yield TestPlan(
            cls.test,
            "weigh the piece in air, then hanging in water with a sinker",
            outcomes,
            WEIGHING_MINUTES,
            (
                "Weigh the dry piece; hang the sinker by a thread in a jug of water on the scale's hook and read.",
                "Tie the piece above the sinker, wholly under water and free of bubbles, and read again.",
            ),
            widths=widths,
            needs=("scale", "sinker", water.label),
            asks=("in_air", "sinker_in_liquid", "in_liquid"),
        )


@dataclass(frozen=True, slots=True)
class MeasuredDensity(DirectReading):
    """The density was measured some other way, such as in a gradient column.

    Parameters
    ----------
    density : Reading
        Density and its standard uncertainty [g/cm3].
    outlier : float, optional
        Chance that it was botched.
    """

    test: ClassVar[str] = "density"
    observes: ClassVar[str] = "density"
    reads: ClassVar[str] = "density"
    scatter: ClassVar[float] = PIECES
    botched_range: ClassVar[float] = BOTCHED_RANGE
    often_botched: ClassVar[float] = OUTLIER
    relative: ClassVar[bool] = True

    density: Reading = measured("density")
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def describe(self) -> str:
        """Return the measured value."""
        return f"density {self.density.value:.4g} ± {self.density.u:.1g} g/cm3"


METHOD: Final = Method(
    name="displacement",
    version="1",
    summary="Density from weighing in air and liquid, from overflow, from a graduated cylinder, or as measured.",
    caution="",
    sources=("ISO 1183-1:2019, method A (only its scope was read; formula from memory)",),
    tests=(Weighing, Cylinder, Overflow, MeasuredDensity),
)
