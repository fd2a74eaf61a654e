"""Density by displacement: weigh in air and liquid, overflow, graduated cylinder, or as measured."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid.door.fields import measured, number
from resinid.door.liquid import liquid_field
from resinid.door.reading import DIGIT_TO_U, Reading
from resinid.errors import Fault
from resinid.methods.contract import Method
from resinid.methods.likelihoods import normal_about, normal_density
from resinid.methods.planned import planned_densities
from resinid.planning.plan import Plan
from resinid.scoring.term import Normals, Shared, Term
from resinid.vocabulary import QUANTITIES

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from numpy.typing import NDArray

    from resinid.liquids import Liquid
    from resinid.planning.have import Have

    Array = NDArray[np.float64]

__all__ = ["METHOD", "Cylinder", "MeasuredDensity", "Overflow", "Weighing"]

WEIGHING_MINUTES: Final = 4.0
CYLINDER_MINUTES: Final = 2.0
"""[min] Bench effort (common practice, no source)."""

AIR: Final = 0.0012
"""[g/cm3] Density of air at 20 degC and 1013 hPa, 50 % relative humidity (CIPM-2007 formula gives 0.001199)."""

WETTING: Final = 0.001
"""Standard deviation of the displaced volume from clinging bubbles and wetting, as a
share of the volume (common practice, no source)."""

DRIP: Final = 0.1
"""[cm3] Standard deviation of what a spout holds back or lets go too much: about two
drops (common practice, no source)."""

PIECES: Final = 0.0002
"""Standard deviation of a stated density from temperature and handling, as a share of it
(common practice, no source)."""

MISHAP: Final = 0.03
"""Chance that a density measurement is botched: a hollow, a label, trapped air, a
misread scale (common practice, no source)."""

BOTCHED_RANGE: Final = 1.4
"""A botched density lies anywhere within this range of its natural logarithm, about 0.5 to 2 g/cm3."""

_LOW: Final = QUANTITIES["density"].low
_HIGH: Final = QUANTITIES["density"].high


def _implied(density: float, what: str) -> Iterator[Fault]:
    if not _LOW <= density <= _HIGH:
        yield Fault(
            "",
            f"these readings give a density of {density:.4g} g/cm3, impossible for a plastic "
            f"({_LOW:g} to {_HIGH:g}); check {what}",
        )


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
    mishap : float, optional
        Chance that it was botched.

    Notes
    -----
    A piece of mass ``m`` and density ``rho`` shows ``m (1 - rho_air/rho)`` in air and
    ``m (1 - rho_liquid/rho)`` in the liquid (ISO 1183-1:2019 method A, with the
    buoyancy of air). The likelihood is that of the reading in liquid given the
    reading in air; the unknown mass is integrated out under a flat prior.
    """

    test: ClassVar[str] = "weighing"
    observes: ClassVar[str] = "density"

    in_air: Reading = measured("mass")
    in_liquid: Reading = measured("mass")
    liquid: Liquid = liquid_field()
    sinker_in_liquid: Reading | None = measured("mass", None)
    mishap: float = number(1e-4, 0.5, MISHAP)

    def faults(self) -> Iterator[Fault]:
        """Yield what cannot be about the readings together."""
        if self.in_air.value <= 0:
            yield Fault("in_air", "is zero; weigh the piece dry, after setting the scale to zero")
            return
        lost = self.in_air.value - self._shown
        if lost <= 0:
            yield Fault("in_liquid", "is not less than in_air; a piece is lighter in a liquid (is the sinker stated?)")
            return
        yield from _implied(self._density, "the scale's zero, the sinker and the liquid")

    @property
    def _shown(self) -> float:
        return self.in_liquid.value - (self.sinker_in_liquid.value if self.sinker_in_liquid else 0.0)

    @property
    def _density(self) -> float:
        air, shown = self.in_air.value, self._shown
        return (air * self.liquid.density - shown * AIR) / (air - shown)

    def _own_variance(self, volume: Array | float) -> Array | float:
        u_sinker = self.sinker_in_liquid.u if self.sinker_in_liquid else 0.0
        return self.in_liquid.u**2 + u_sinker**2 + (WETTING * self.liquid.density * volume) ** 2

    def likelihood(self, values: Array, error: Array | None) -> Array:
        """Return the density of the reading in liquid at each density of the piece."""
        volume = self.in_air.value / (values - AIR)
        variance = self._own_variance(volume)
        if error is None:
            liquid: Array | float = self.liquid.density
            variance = variance + (volume * self.liquid.u) ** 2
        else:
            liquid = self.liquid.density + self.liquid.u * error
        ratio = (values - liquid) / (values - AIR)
        variance = variance + (ratio * self.in_air.u) ** 2
        return normal_density(self._shown - ratio * self.in_air.value, variance**0.5)

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        density = self._density
        volume = self.in_air.value / (density - AIR)
        # How the reading in liquid moves with the piece's density: m (rho_l - rho_a) / (rho - rho_a)^2.
        slope = volume * (self.liquid.density - AIR) / (density - AIR)
        ratio = (density - self.liquid.density) / (density - AIR)
        own = math.sqrt(float(self._own_variance(volume)) + (ratio * self.in_air.u) ** 2)
        from_liquid = volume * self.liquid.u
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            mishap=self.mishap,
            if_mishap=1.0 / (slope * density) / BOTCHED_RANGE,
            feature=(density, math.hypot(own, from_liquid) / slope),
            shared=Shared(self.liquid, own / from_liquid),
        )

    def describe(self) -> str:
        """Return the readings."""
        sinker = f", sinker alone {self.sinker_in_liquid.value:g} g" if self.sinker_in_liquid else ""
        return (
            f"{self.in_air.value:g} g in air, {self.in_liquid.value:g} g in {self.liquid.label}{sinker} "
            f"({self._density:.4f} g/cm3)"
        )

    @classmethod
    def plans(cls, have: Have) -> Iterator[Plan]:
        """Yield the weighing in water; a sinker is needed, for the piece may float."""
        if have.scale is None or not have.sinker:
            return
        u, volume, water = have.scale * DIGIT_TO_U, have.volume, have.water

        def weighed(density: float, u_shown: float = u) -> Weighing:
            air, shown = volume * (density - AIR), volume * (density - water.density)
            sinker = Reading(2.0 * volume * water.density, u)
            return cls(Reading(air, u), Reading(sinker.value + shown, u_shown), water, sinker)

        def u_of(density: float) -> float:
            feature = weighed(density).term().feature
            return feature[1] if feature else 0.0

        readings = planned_densities(u_of)
        # How the reading in liquid moves with the density: V (rho_l - rho_a) / (rho - rho_a).
        slopes = [volume * (water.density - AIR) / (density - AIR) for density, _, _ in readings]
        yield Plan(
            cls.test,
            "weigh the piece in air, then hanging in water with a sinker",
            tuple(
                weighed(density, max(u, u_planned * slope))
                for (density, u_planned, _), slope in zip(readings, slopes, strict=True)
            ),
            WEIGHING_MINUTES,
            (
                "Weigh the dry piece; hang the sinker by a thread in a jug of water on the scale's hook and read.",
                "Tie the piece above the sinker, wholly under water and free of bubbles, and read again.",
            ),
            widths=tuple(step * slope for (_, _, step), slope in zip(readings, slopes, strict=True)),
            needs=("scale", "sinker", water.label),
            asks=("in_air", "sinker_in_liquid", "in_liquid"),
        )


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A weighed piece was put under the liquid in a graduated cylinder.

    Parameters
    ----------
    in_air : Reading
        Mass of the piece [g].
    before, after : Reading
        Level without and with the piece [cm3].
    mishap : float, optional
        Chance that it was botched.
    """

    test: ClassVar[str] = "cylinder"
    observes: ClassVar[str] = "density"

    in_air: Reading = measured("mass")
    before: Reading = measured("volume")
    after: Reading = measured("volume")
    mishap: float = number(1e-4, 0.5, MISHAP)

    def faults(self) -> Iterator[Fault]:
        """Yield what cannot be about the readings together."""
        if self.in_air.value <= 0:
            yield Fault("in_air", "is zero; weigh the piece dry, after setting the scale to zero")
            return
        if self.after.value <= self.before.value:
            yield Fault("after", "is not above before; the piece must be wholly under the liquid")
            return
        yield from _implied(self.in_air.value / self._volume, "both levels and the scale")

    @property
    def _volume(self) -> float:
        return self.after.value - self.before.value

    @property
    def _own(self) -> float:
        return math.sqrt(self.before.u**2 + self.after.u**2 + (WETTING * self._volume) ** 2)

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        """Return the density of the rise in level at each density of the piece."""
        sd = (self._own**2 + (self.in_air.u / values) ** 2) ** 0.5
        return normal_density(self._volume - self.in_air.value / values, sd)

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        volume, density = self._volume, self.in_air.value / self._volume
        width = density * math.hypot(self._own / volume, self.in_air.u / self.in_air.value)
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            mishap=self.mishap,
            if_mishap=1.0 / volume / BOTCHED_RANGE,
            feature=(density, width),
        )

    def describe(self) -> str:
        """Return the readings."""
        return (
            f"{self.in_air.value:g} g raised the level from {self.before.value:g} to {self.after.value:g} cm3 "
            f"({self.in_air.value / self._volume:.3f} g/cm3)"
        )

    @classmethod
    def plans(cls, have: Have) -> Iterator[Plan]:
        """Yield the reading of a cylinder; a thin rod holds a floating piece under."""
        if have.scale is None or have.cylinder is None:
            return
        u, u_level, volume = have.scale * DIGIT_TO_U, have.cylinder * DIGIT_TO_U, have.volume
        before = Reading(10.0 * volume, u_level)

        def risen(density: float, u_after: float = u_level) -> Cylinder:
            return cls(Reading(density * volume, u), before, Reading(before.value + volume, u_after))

        def u_of(density: float) -> float:
            feature = risen(density).term().feature
            return feature[1] if feature else 0.0

        readings = planned_densities(u_of)
        yield Plan(
            cls.test,
            "weigh the piece, then see how far it raises the level in a cylinder",
            tuple(risen(density, max(u_level, u_planned * volume / density)) for density, u_planned, _ in readings),
            CYLINDER_MINUTES,
            (
                "Weigh the dry piece; half fill the cylinder with water and read the level.",
                "Push the piece wholly under with a thin wire, knock off bubbles, and read again.",
            ),
            # The rise moves with the density as V / rho.
            widths=tuple(step * volume / density for density, _, step in readings),
            needs=("scale", "cylinder", "water"),
            asks=("in_air", "before", "after"),
        )


@dataclass(frozen=True, slots=True)
class Overflow:
    """A weighed piece was sunk in a brim-full vessel and what ran over was weighed.

    Parameters
    ----------
    in_air : Reading
        Mass of the piece [g].
    spilled : Reading
        Mass of the liquid that ran over [g].
    liquid : Liquid
        What filled the vessel.
    mishap : float, optional
        Chance that it was botched.
    """

    test: ClassVar[str] = "overflow"
    observes: ClassVar[str] = "density"

    in_air: Reading = measured("mass")
    spilled: Reading = measured("mass")
    liquid: Liquid = liquid_field()
    mishap: float = number(1e-4, 0.5, MISHAP)

    def faults(self) -> Iterator[Fault]:
        """Yield what cannot be about the readings together."""
        for name, value in (("in_air", self.in_air.value), ("spilled", self.spilled.value)):
            if value <= 0:
                yield Fault(name, "is zero; weigh it after setting the scale to zero")
                return
        yield from _implied(self._density, "whether the vessel was brim-full and the piece wholly under")

    @property
    def _density(self) -> float:
        return self.in_air.value * self.liquid.density / self.spilled.value

    @property
    def _own_variance(self) -> float:
        return self.spilled.u**2 + (DRIP * self.liquid.density) ** 2 + (WETTING * self.spilled.value) ** 2

    def likelihood(self, values: Array, error: Array | None) -> Array:
        """Return the density of the spilled mass at each density of the piece."""
        variance = self._own_variance + (self.liquid.density * self.in_air.u / values) ** 2
        if error is None:
            liquid: Array | float = self.liquid.density
            variance = variance + (self.in_air.value * self.liquid.u / values) ** 2
        else:
            liquid = self.liquid.density + self.liquid.u * error
        return normal_density(self.spilled.value - liquid * self.in_air.value / values, variance**0.5)

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        density, spilled = self._density, self.spilled.value
        own = math.sqrt(self._own_variance + (spilled * self.in_air.u / self.in_air.value) ** 2)
        from_liquid = spilled * self.liquid.u / self.liquid.density
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            mishap=self.mishap,
            if_mishap=1.0 / spilled / BOTCHED_RANGE,
            feature=(density, density * math.hypot(own, from_liquid) / spilled),
            shared=Shared(self.liquid, own / from_liquid),
        )

    def describe(self) -> str:
        """Return the readings."""
        return (
            f"{self.in_air.value:g} g spilled {self.spilled.value:g} g of {self.liquid.label} "
            f"({self._density:.3f} g/cm3)"
        )


@dataclass(frozen=True, slots=True)
class MeasuredDensity:
    """The density was measured some other way, such as in a gradient column.

    Parameters
    ----------
    density : Reading
        Density and its standard uncertainty [g/cm3].
    mishap : float, optional
        Chance that it was botched.
    """

    test: ClassVar[str] = "density"
    observes: ClassVar[str] = "density"

    density: Reading = measured("density")
    mishap: float = number(1e-4, 0.5, MISHAP)

    @classmethod
    def many(cls, readings: Mapping[str, tuple[Array, Array]]) -> Normals:
        """Return many measured densities as whole tables are scored."""
        value, u = readings["density"]
        return Normals(
            value, np.hypot(u, PIECES * value), 1.0 / value / BOTCHED_RANGE, MISHAP, logarithmic=False, shared=None
        )

    @property
    def _own(self) -> float:
        return math.hypot(self.density.u, PIECES * self.density.value)

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        """Return the density of the measured value at each density of the piece."""
        return normal_about(values, self.density.value, self._own)

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            mishap=self.mishap,
            if_mishap=1.0 / self.density.value / BOTCHED_RANGE,
            feature=(self.density.value, self._own),
        )

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
"""The method as the registry lists it."""
