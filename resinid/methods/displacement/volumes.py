"""Density from a displaced volume: a graduated cylinder, or what runs over."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid.errors import Fault
from resinid.io.fields import measured, number
from resinid.io.liquid_parser import liquid_field
from resinid.io.reading import DIGIT_TO_U, Reading
from resinid.liquids.expansion import at_room, beyond_room
from resinid.methods.likelihoods import normal_density
from resinid.methods.outlier import outlier_chance
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

__all__ = ["BOTCHED_RANGE", "OUTLIER", "WETTING", "Cylinder", "Overflow", "at_23", "implied"]

CYLINDER_MINUTES: Final = 2.0
"""[min] Bench effort (common practice, no source)."""

WETTING: Final = 0.001
"""Standard deviation of the displaced volume from clinging bubbles and wetting, as a
share of the volume (common practice, no source)."""

DRIP: Final = 0.1
"""[cm3] Standard deviation of what a spout holds back or lets go too much: about two
drops (common practice, no source)."""

OUTLIER: Final = outlier_chance(3)
"""Chance that a density measurement is botched: a hollow or a label, trapped air, a
misread scale."""

BOTCHED_RANGE: Final = 1.4
"""A botched density lies anywhere within this range of its natural logarithm, about 0.5 to 2 g/cm3."""

_LOW: Final = QUANTITIES["density"].low
_HIGH: Final = QUANTITIES["density"].high


def implied(density: float, what: str) -> Iterator[Fault]:
    """Yield a fault where readings give a density that no plastic has."""
    if not _LOW <= density <= _HIGH:
        yield Fault(
            "",
            f"these readings give a density of {density:.4g} g/cm3, impossible for a plastic "
            f"({_LOW:g} to {_HIGH:g}); check {what}",
        )


def at_23(liquid: Liquid) -> str:
    """Say that a density was brought to room temperature, where the liquid was warmer or colder."""
    return " at 23 °C" if beyond_room(liquid.temperature) else ""


@dataclass(frozen=True, slots=True)
class Cylinder:
    """A weighed piece was put under the liquid in a graduated cylinder.

    Parameters
    ----------
    in_air : Reading
        Mass of the piece [g].
    before, after : Reading
        Level without and with the piece [cm3].
    outlier : float, optional
        Chance that it was botched.
    """

    test: ClassVar[str] = "cylinder"
    observes: ClassVar[str] = "density"
    takes_columns: ClassVar[bool] = True

    in_air: Reading = measured("mass")
    before: Reading = measured("volume")
    after: Reading = measured("volume")
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def faults(self) -> Iterator[Fault]:
        """Yield what cannot be about the readings together."""
        if self.in_air.value <= 0:
            yield Fault("in_air", "is zero; weigh the piece dry, after setting the scale to zero")
            return
        if self.after.value <= self.before.value:
            yield Fault("after", "is not above before; the piece must be wholly under the liquid")
            return
        yield from implied(self.in_air.value / self._volume, "both levels and the scale")

    @property
    def _volume(self) -> float:
        return self.after.value - self.before.value

    @property
    def _own(self) -> float:
        own: float = (self.before.u**2 + self.after.u**2 + (WETTING * self._volume) ** 2) ** 0.5
        return own

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        """Return the density of the rise in level at each density of the piece."""
        sd = (self._own**2 + (self.in_air.u / values) ** 2) ** 0.5
        return normal_density(self._volume - self.in_air.value / values, sd)

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        volume, density = self._volume, self.in_air.value / self._volume
        width = density * ((self._own / volume) ** 2 + (self.in_air.u / self.in_air.value) ** 2) ** 0.5
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=1.0 / volume / BOTCHED_RANGE,
            feature=(density, width),
        )

    def possible(self) -> bool | Mask:
        """Return whether :meth:`faults` would find none."""
        density = self.in_air.value / np.where(self._volume > 0, self._volume, np.nan)
        return (density >= _LOW) & (density <= _HIGH)

    def describe(self) -> str:
        """Return the readings."""
        return (
            f"{self.in_air.value:g} g raised the level from {self.before.value:g} to {self.after.value:g} cm3 "
            f"({self.in_air.value / self._volume:.3f} g/cm3)"
        )

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        """Yield the reading of a cylinder; a thin rod holds a floating piece under."""
        if bench.scale is None or bench.cylinder is None:
            return
        u, u_level, volume = bench.scale * DIGIT_TO_U, bench.cylinder * DIGIT_TO_U, bench.volume
        before = Reading(10.0 * volume, u_level)

        def risen(density: float, u_after: float) -> Cylinder:
            return cls(Reading(density * volume, u), before, Reading(before.value + volume, u_after))

        # The rise moves with the density as V / rho.
        outcomes, widths = planned_readings(risen, u_level, lambda density: volume / density)
        yield TestPlan(
            cls.test,
            "weigh the piece, then see how far it raises the level in a cylinder",
            outcomes,
            CYLINDER_MINUTES,
            (
                "Weigh the dry piece; half fill the cylinder with water and read the level.",
                "Push the piece wholly under with a thin wire, knock off bubbles, and read again.",
            ),
            widths=widths,
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
    outlier : float, optional
        Chance that it was botched.

    Notes
    -----
    The piece is as warm as the liquid; as for :class:`~resinid.methods.displacement.method.Weighing`
    the density is that at room temperature.
    """

    test: ClassVar[str] = "overflow"
    observes: ClassVar[str] = "density"
    takes_columns: ClassVar[bool] = True

    in_air: Reading = measured("mass")
    spilled: Reading = measured("mass")
    liquid: Liquid = liquid_field()
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def faults(self) -> Iterator[Fault]:
        """Yield what cannot be about the readings together."""
        for name, value in (("in_air", self.in_air.value), ("spilled", self.spilled.value)):
            if value <= 0:
                yield Fault(name, "is zero; weigh it after setting the scale to zero")
                return
        yield from implied(self._density, "whether the vessel was brim-full and the piece wholly under")

    @property
    def _density(self) -> float:
        return self.in_air.value * self._liquid[0] / self.spilled.value

    @property
    def _liquid(self) -> tuple[float, float]:
        return at_room(self.liquid)

    @property
    def _own_variance(self) -> float:
        return self.spilled.u**2 + (DRIP * self._liquid[0]) ** 2 + (WETTING * self.spilled.value) ** 2

    def likelihood(self, values: Array, error: Array | None) -> Array:
        """Return the density of the spilled mass at each density of the piece."""
        of_liquid, u_liquid = self._liquid
        variance = self._own_variance + (of_liquid * self.in_air.u / values) ** 2
        if error is None:
            liquid: Array | float = of_liquid
            variance = variance + (self.in_air.value * u_liquid / values) ** 2
        else:
            liquid = of_liquid + u_liquid * error
        return normal_density(self.spilled.value - liquid * self.in_air.value / values, variance**0.5)

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        density, spilled, (of_liquid, u_liquid) = self._density, self.spilled.value, self._liquid
        own: float = (self._own_variance + (spilled * self.in_air.u / self.in_air.value) ** 2) ** 0.5
        from_liquid = spilled * u_liquid / of_liquid
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=1.0 / spilled / BOTCHED_RANGE,
            feature=(density, density * (own**2 + from_liquid**2) ** 0.5 / spilled),
            shared=SharedError(self.liquid, own / from_liquid),
        )

    def possible(self) -> bool | Mask:
        """Return whether :meth:`faults` would find none."""
        air, spilled = self.in_air.value, self.spilled.value
        density = air * self._liquid[0] / np.where(spilled > 0, spilled, np.nan)
        return (air > 0) & (density >= _LOW) & (density <= _HIGH)

    def describe(self) -> str:
        """Return the readings."""
        return (
            f"{self.in_air.value:g} g spilled {self.spilled.value:g} g of {self.liquid.label} "
            f"({self._density:.3f} g/cm3{at_23(self.liquid)})"
        )
