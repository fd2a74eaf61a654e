"""Differential scanning calorimetry (DSC): melting peak, heat of fusion, glass transition.

The peak of a resin that melts and the softening of a chip on a hot plate are one thing
seen twice, so the temperature of the peak observes the softening temperature, through the
relation that also makes printed melting points of softening temperatures
(``BENCH_SHIFT["melting"]`` in :mod:`resinid.reference.rules`); its scatter is one error for
all peaks of a piece. That there is a peak at all tells a crystalline resin from a glass: it is a test of
its own, which the temperature and the heat of a peak imply (:mod:`resinid.methods.implied`).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid.io.fields import measured, number
from resinid.io.reading import Reading
from resinid.methods.contract import Method
from resinid.methods.direct import DirectReading
from resinid.methods.dsc.known import GLASS_TRANSITION, HEAT, HEAT_OF_FUSION, MELTING_PEAK, HeatOfFusion
from resinid.methods.likelihoods import normal_about, normal_density
from resinid.methods.outlier import outlier_chance
from resinid.methods.test_plan import TestPlan
from resinid.methods.word_test import WordTest, word_test
from resinid.reference.rules import BENCH_SHIFT
from resinid.scoring.term import SharedError, Term

if TYPE_CHECKING:
    from collections.abc import Iterator

    from resinid.arrays import Array
    from resinid.methods.bench import Bench
    from resinid.scoring.properties import ContinuousProperty

__all__ = ["METHOD", "FusionHeat", "GlassTransition", "PeakSeen", "PeakTemperature"]

CAUTION: Final = (
    "Some milligrams in a pan with a pierced lid, in nitrogen vented to an extract. Only after cold tests have made "
    "PVC, acetal and cellulose nitrate unlikely: hot PVC gives off hydrogen chloride, hot acetal formaldehyde, and "
    "cellulose nitrate burns off. Stay below 250 °C unless the resin is known. Follow the instrument's manual and "
    "local codes; when in doubt, do not heat."
)

HAZARD: Final = "hot plate"
"""Kind of danger: what may not be heated on a plate may not be heated in a pan."""

TOOL: Final = "DSC"

MINUTES: Final = 15.0
"""[min] Bench effort: weigh, seal, start, evaluate (common practice, no source)."""

OUTLIER: Final = outlier_chance(3)
"""Chance that it was botched: wrong sample, a label or a second layer in the pan; pan moved; misread."""

INSTRUMENT: Final = 1.0
"""[K] Standard deviation of a peak from calibration, sample mass and rate, at 10 K/min (common practice, no source)."""

MIDPOINT: Final = 3.0
"""[K] The same of the midpoint of a glass transition, which is a step and not a peak (common practice, no source)."""

BASELINE: Final = 0.07
"""Standard deviation of the natural log of a heat of fusion from where the baseline is drawn (common practice,
no source)."""

PEAK: Final = BENCH_SHIFT["melting"]
"""[K] Softening on the plate less the melting peak, and its standard deviation."""

CRYSTALS_THAT_HOLD: Final = ((327.0, 6.0), (95.0, 20.0))
"""[degC, K] Mean and standard deviation of the peaks of what melts and yet keeps its shape on a plate: PTFE, and
crosslinked foam of ethylene-vinyl acetate or polyethylene (the rows of their melting temperatures)."""

HELD: Final = 0.3
"""Chance that a piece which never softens has such crystals at all (common practice, no source)."""

BOTCHED_RANGE: Final = 300.0
BOTCHED_GLASS: Final = 400.0
"""[K] Range over which a botched peak or glass transition lies anywhere."""

BOTCHED_LOG: Final = 5.0
"""The same of the natural log of a heat of fusion."""

STEPS: Final = (
    "Weigh 5 to 10 mg from inside the piece into a pan with a pierced lid; nitrogen; 10 K/min, past the last event.",
    "Cool at 10 K/min and heat a second time; evaluate the second heating.",
)

PLANNED: Final = 4.8
"""[K] Step between planned glass transitions, 1.5 standard deviations."""


@word_test(
    MELTING_PEAK,
    "heat some milligrams in a DSC and see whether there is a melting peak",
    STEPS,
    minutes=MINUTES,
    needs=(TOOL,),
    caution=CAUTION,
    hazard=HAZARD,
)
class PeakSeen(WordTest):
    """Whether there is a melting peak between room temperature and the end of the run."""


A_PEAK: Final = (PeakSeen("seen"),)
"""What the temperature or the area of a peak implies."""


@dataclass(frozen=True, slots=True)
class PeakTemperature:
    """Temperature of the melting peak.

    Parameters
    ----------
    temperature : Reading
        Of the peak, second heating at 10 K/min [degC].
    outlier : float, optional
        Chance that it was botched.

    Notes
    -----
    ISO 11357-3 (from memory). The peak itself, not its onset. Of several peaks, the
    largest.
    """

    test: ClassVar[str] = "dsc_peak"
    implies: ClassVar[tuple[PeakSeen, ...]] = A_PEAK
    observes: ClassVar[str] = "softening_temperature"

    temperature: Reading = measured("temperature")
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def likelihood(self, values: Array, error: Array | None) -> Array:
        """Return the density of the peak's temperature at each softening temperature [degC]."""
        own = math.hypot(self.temperature.u, INSTRUMENT)
        centre = self.temperature.value + PEAK[0]
        if error is None:
            seen = normal_about(values, centre, math.hypot(own, PEAK[1]))
        else:
            seen = normal_about(values, centre + PEAK[1] * error, own)
        return np.where(np.isinf(values), self._not_softening(own), seen)

    def _not_softening(self, own: float) -> float:
        """Return the density of the peak's temperature for a piece that never softens on a plate."""
        away = np.array([self.temperature.value - mean for mean, _ in CRYSTALS_THAT_HOLD])
        widths = np.hypot(own, [sd for _, sd in CRYSTALS_THAT_HOLD])
        return HELD * float(normal_density(away, widths).mean())

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        own = math.hypot(self.temperature.u, INSTRUMENT)
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=1.0 / BOTCHED_RANGE,
            feature=(self.temperature.value + PEAK[0], math.hypot(own, PEAK[1])),
            shared=SharedError(_RELATION, own / PEAK[1]),
        )

    def describe(self) -> str:
        """Return the reading."""
        return f"melting peak at {self.temperature.value:.1f} °C"


_RELATION: Final = ("relation", "melting peak")
"""Key of the error that the peaks of one piece share."""


@dataclass(frozen=True, slots=True)
class FusionHeat(DirectReading):
    """Heat of fusion: area of the melting peak over the mass of the sample.

    Parameters
    ----------
    heat : Reading
        Second heating, less the heat of any crystallisation during that heating [J/g].
    outlier : float, optional
        Chance that it was botched.

    Notes
    -----
    ISO 11357-3 (from memory). Per gram of the whole sample, filler included. Divided by
    the heat of perfect crystals it is the mass crystallinity, see
    :func:`resinid.reference.crystallinity.crystallinity_from_heat`.
    """

    test: ClassVar[str] = "heat_of_fusion"
    implies: ClassVar[tuple[PeakSeen, ...]] = A_PEAK
    observes: ClassVar[HeatOfFusion] = HEAT_OF_FUSION
    reads: ClassVar[str] = "heat"
    scatter: ClassVar[float] = BASELINE
    botched_range: ClassVar[float] = BOTCHED_LOG
    often_botched: ClassVar[float] = OUTLIER
    logarithmic: ClassVar[bool] = True

    heat: Reading = measured(HEAT)
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def describe(self) -> str:
        """Return the reading."""
        return f"heat of fusion {self.heat.value:.3g} J/g"


@dataclass(frozen=True, slots=True)
class GlassTransition(DirectReading):
    """Glass transition, midpoint of the step.

    Parameters
    ----------
    temperature : Reading
        Midpoint, second heating at 10 or 20 K/min, of a dry sample [degC].
    outlier : float, optional
        Chance that it was botched.

    Notes
    -----
    ISO 11357-2 (from memory). Moisture lowers it in polyamides by tens of kelvins.
    """

    test: ClassVar[str] = "glass_transition"
    observes: ClassVar[ContinuousProperty] = GLASS_TRANSITION
    reads: ClassVar[str] = "temperature"
    scatter: ClassVar[float] = MIDPOINT
    botched_range: ClassVar[float] = BOTCHED_GLASS
    often_botched: ClassVar[float] = OUTLIER

    temperature: Reading = measured("glass_transition_temperature")
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def describe(self) -> str:
        """Return the reading."""
        return f"glass transition at {self.temperature.value:.0f} °C"

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        """Yield the run if a calorimeter is at hand."""
        if TOOL not in bench.tools:
            return
        low, high = GLASS_TRANSITION.quantity.low, GLASS_TRANSITION.quantity.high
        count = math.ceil((high - low) / PLANNED)
        step = (high - low) / count
        yield TestPlan(
            cls.test,
            "heat some milligrams in a DSC and read the glass transition",
            tuple(cls(Reading(low + step * (index + 0.5), 1.0)) for index in range(count)),
            MINUTES,
            STEPS,
            widths=(step,) * count,
            needs=(TOOL,),
            caution=CAUTION,
            hazard=HAZARD,
            asks=("temperature",),
        )


METHOD: Final = Method(
    name="dsc",
    version="2",
    summary="Differential scanning calorimetry: melting peak, heat of fusion and glass transition.",
    caution=CAUTION,
    sources=(
        "ISO 11357-2 and ISO 11357-3 (from memory)",
        "the kind of each resin in resins.csv",
        "the rows of properties.csv here and in the reference table",
    ),
    tests=(PeakTemperature, PeakSeen, FusionHeat, GlassTransition),
    tools=(TOOL,),
)
