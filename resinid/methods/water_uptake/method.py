"""Water uptake in 24 h at 23 degC from two weighings."""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid.errors import Fault
from resinid.io.fields import measured, number
from resinid.io.reading import DIGIT_TO_U, Reading
from resinid.methods.contract import Method
from resinid.methods.likelihoods import normal_about
from resinid.methods.outlier import outlier_chance
from resinid.methods.test_plan import TestPlan
from resinid.quantities import QUANTITIES
from resinid.reference.rules import SpreadRule
from resinid.scoring.grid import Axis
from resinid.scoring.properties import ContinuousProperty
from resinid.scoring.term import Term

if TYPE_CHECKING:
    from collections.abc import Iterator

    from resinid.arrays import Array
    from resinid.methods.bench import Bench

__all__ = ["METHOD", "WATER_UPTAKE", "WaterUptake"]

STANDARD_THICKNESS: Final = 3.2
"""[mm] Of the specimens behind most printed values (ASTM D570: 1/8 inch, from memory)."""

UNKNOWN_THICKNESS: Final = 0.5
"""Standard deviation of the natural log of the uptake of a piece of unknown thickness, 1.2 to 8 mm in
nineteen of twenty cases (common practice, no source)."""

FICK: Final = 0.3
"""Standard deviation of the natural log of the uptake, as a share of that of the thickness ratio: thin
pieces of thirsty resins are nearly full after a day and take up less than in proportion."""

SPREAD: Final = 0.25
"""Standard deviation of the natural log of the uptake from drying, water temperature, edges and
surface (common practice, no source)."""

WIPING: Final = 0.02
"""[percent] Standard deviation from water left on the surface or wiped off (common practice, no source):
a film of 0.3 um on a plate 3 mm thick."""

OUTLIER: Final = outlier_chance(4)
"""Chance that it was botched: a hollow piece or glued label, water in a crack, a moved scale, twice weighed."""

MINUTES: Final = 10.0
"""[min] Bench effort; the wait of a day is not counted (common practice, no source)."""

FINE: Final = 0.01
"""[g] Coarsest scale for which the test is offered, see :meth:`WaterUptake.plans`."""

APART: Final = 1.5
"""Standard deviations from one planned reading to the next."""

TALLEST: Final = 60.0
"""[percent] Largest uptake that is believed: thin walls of the thirstiest resins come near it."""

WATER_UPTAKE: Final = ContinuousProperty(
    QUANTITIES["water_absorption_24h"],
    Axis(math.log(5e-4), math.log(20.0), centre=-1.5, below=4.0, above=4.0, step=0.15, logarithmic=True),
    # One grade's value stands for others within a factor of 1.5 (the rows of polyamides, ABS and
    # styrenics differ by that and more from source to source); nothing is known better than to a fifth.
    SpreadRule(logarithmic=True, scatter=0.4, floor=0.2, widening=0.3, unlisted=1.0, any_plastic=(math.log(0.2), 1.6)),
    folder=Path(__file__).parent,
)
"""Uptake [percent of the dry mass] of a specimen of the standard thickness."""


@dataclass(frozen=True, slots=True)
class WaterUptake:
    """A dry piece was weighed, kept under water at room temperature for a day, wiped and weighed again.

    Parameters
    ----------
    dry : Reading
        Mass after drying [g].
    wet : Reading
        Mass after 24 h in water at 23 degC, wiped dry [g].
    thickness : Reading, optional
        Of the wall [mm].
    outlier : float, optional
        Chance that it was botched.

    Notes
    -----
    ISO 62 method 1, ASTM D570 (from memory): uptake = 100 (wet - dry)/dry, in percent. In a
    day water gets less than a millimetre deep, so by Fick's law the uptake goes as the surface,
    as 1/thickness; printed values are of specimens of :data:`STANDARD_THICKNESS`. Errors of
    weighing are additive, all others multiply. Both together are normal, with constant
    standard deviation, in ``asinh(uptake * relative / additive)`` (two-component error model,
    Rocke and Lorenzato 1995, Technometrics 37:176-184; its variance-stabilising
    transformation, Durbin and others 2002, Bioinformatics 18 S1:105-110; from memory).
    Validity: solid pieces of 0.5 to 20 mm, not foam.
    """

    test: ClassVar[str] = "water_uptake"
    observes: ClassVar[ContinuousProperty] = WATER_UPTAKE

    dry: Reading = measured("mass")
    wet: Reading = measured("mass")
    thickness: Reading | None = measured("length", None)
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def faults(self) -> Iterator[Fault]:
        """Yield what cannot be about the readings together."""
        if self.dry.value <= 0:
            yield Fault("dry", "is zero; weigh the dry piece, after setting the scale to zero")
            return
        if self.thickness is not None and not 0.5 <= self.thickness.value <= 20.0:
            yield Fault("thickness", f"is {self.thickness.value:g} mm; the test is for walls of 0.5 to 20 mm")
        if self.uptake > TALLEST:
            what = f"is {self.uptake:.3g} % above dry, impossible for a solid plastic (at most {TALLEST:g} %)"
            yield Fault("wet", f"{what}; is it foam, or is there water in a hollow?")
        elif self.uptake < -6.0 * self._additive:
            yield Fault("wet", "is below dry; a piece gains mass in water (was it dried first, is the scale steady?)")

    @property
    def uptake(self) -> float:
        """Uptake as weighed [percent of the dry mass]."""
        return 100.0 * (self.wet.value - self.dry.value) / self.dry.value

    @property
    def _additive(self) -> float:
        return math.hypot(100.0 * math.hypot(self.dry.u, self.wet.u) / self.dry.value, WIPING)

    def _relative(self) -> tuple[float, float]:
        """Return the natural log of the thickness factor, and the standard deviation of the log uptake."""
        if self.thickness is None:
            return 0.0, math.hypot(SPREAD, UNKNOWN_THICKNESS)
        ratio = math.log(STANDARD_THICKNESS / self.thickness.value)
        u = self.thickness.u / self.thickness.value
        return ratio, math.sqrt(SPREAD**2 + (FICK * ratio) ** 2 + u**2)

    def _stabilised(self, uptake: Array | float) -> Array:
        """Return an uptake [percent] in the coordinate in which its error is constant."""
        out: Array = np.arcsinh(np.asarray(uptake) * self._relative()[1] / self._additive)
        return out

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        """Return the density of the uptake weighed, stabilised, at each uptake of a standard specimen [percent]."""
        ratio, relative = self._relative()
        return normal_about(self._stabilised(values * math.exp(ratio)), float(self._stabilised(self.uptake)), relative)

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        # A botched uptake lies anywhere up to the top of the plausible range.
        reach = float(self._stabilised(TALLEST)) + 3.0 * self._relative()[1]
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=1.0 / reach,
        )

    def describe(self) -> str:
        """Return the readings."""
        wall = f", {self.thickness.value:g} mm thick" if self.thickness else ""
        return f"{self.dry.value:g} g dry, {self.wet.value:g} g after a day in water{wall} ({self.uptake:+.2f} %)"

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        """Yield the two weighings if the scale can tell a fraction of a per cent of the piece."""
        if bench.scale is None or bench.scale > FINE:
            return
        u, dry = bench.scale * DIGIT_TO_U, bench.volume * 1.1

        def weighed(uptake: float) -> WaterUptake:
            return cls(Reading(dry, u), Reading(dry * (1.0 + uptake / 100.0), u))

        none = weighed(0.0)
        relative, additive = none._relative()[1], none._additive  # noqa: SLF001 - because it is of this class
        low, high = -3.0 * relative, float(np.arcsinh(TALLEST * relative / additive))
        count = math.ceil((high - low) / (APART * relative))
        step = (high - low) / count
        places = low + step * (np.arange(count) + 0.5)
        yield TestPlan(
            cls.test,
            "weigh the dry piece, leave it in water for a day, weigh it again",
            tuple(weighed(uptake) for uptake in (np.sinh(places) * additive / relative).tolist()),
            MINUTES,
            (
                "Dry the solid, unpainted piece (50 °C for a day, or a week beside a desiccant) and weigh it.",
                "Keep it under water of 23 °C for 24 h, wipe it dry with a cloth and weigh it within a minute.",
            ),
            widths=(step,) * count,
            needs=(f"scale of {bench.scale:g} g", "water", "a day"),
            asks=("dry", "wet"),
        )


METHOD: Final = Method(
    name="water uptake",
    version="2",
    summary="Water absorption in 24 h at 23 °C from two weighings.",
    caution="",
    sources=(
        "ISO 62, ASTM D570 (from memory)",
        "Rocke and Lorenzato 1995, Technometrics 37:176-184 (from memory)",
        "the rows of properties.csv here and in the reference table",
    ),
    tests=(WaterUptake,),
)
