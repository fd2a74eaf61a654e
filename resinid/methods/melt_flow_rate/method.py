"""Melt flow rate by an extrusion plastometer (melt indexer), ISO 1133-1."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np
from scipy.special import ndtr

from resinid.errors import Fault
from resinid.io.fields import choice, measured, number
from resinid.io.reading import Reading
from resinid.methods.contract import Method
from resinid.methods.likelihoods import normal_density
from resinid.methods.melt_flow_rate.conditions import rate_factor
from resinid.methods.melt_flow_rate.known import ANY, MELT_FLOW_RATE, PROCESSES, MeltFlowRate, nodes
from resinid.methods.outlier import outlier_chance
from resinid.methods.test_plan import TestPlan
from resinid.scoring.term import Term

if TYPE_CHECKING:
    from collections.abc import Iterator

    from resinid.arrays import Array
    from resinid.methods.bench import Bench

__all__ = ["METHOD", "FlowRate"]

CAUTION: Final = (
    "Only after cold tests have made PVC and acetal unlikely: in the hot barrel PVC gives off hydrogen chloride, "
    "which also ruins it, and acetal formaldehyde. Fume extraction, eye protection and heat-proof gloves; melt may "
    "spit from the die when a sample is moist. Stop at the first acid or choking smell. Follow the instrument's "
    "manual and local codes; when in doubt, do not heat."
)

HAZARD: Final = "hot plate"
"""Kind of danger: what may not be heated on a plate may not be heated in a barrel."""

TOOL: Final = "melt indexer"

MINUTES: Final = 25.0
"""[min] Cut up, dry, fill, preheat, cut off and weigh, clean (common practice, no source)."""

BENCH: Final = 0.15
"""Standard deviation of the natural log of a rate from one laboratory to another, cut-up articles included
(common practice, no source)."""

OUTLIER: Final = outlier_chance(3)
"""Chance that it was botched: moist or degraded sample; wrong condition, dirty die or bubbles; misread."""

BOTCHED_RANGE: Final = 9.0
"""A botched rate lies anywhere within this range of its natural logarithm."""

BOTCHED_HARDLY: Final = 0.2
"""Chance that of a botched run hardly anything comes out (common practice, no source)."""

UNKNOWN: Final = "unknown"

PLANNED: Final = ((190.0, 2160.0), (230.0, 2160.0))
"""[degC, g] Conditions that are suggested: the usual ones of polyethylene and polypropylene."""

LEAST: Final = 0.02
"""[g/10 min] A rate of this or less tells only that hardly anything flows: it is one short strand in ten minutes."""

MOST: Final = 400.0
"""[g/10 min] Largest rate that is planned for."""

STEP: Final = 0.23
"""Step of the natural log of the rate between planned readings, 1.5 times :data:`BENCH`."""


@dataclass(frozen=True, slots=True)
class FlowRate:
    """Melt mass-flow rate (MFR) at a temperature and load.

    Parameters
    ----------
    rate : Reading
        [g/10 min]; of 0.02 or less only "hardly any" is taken.
    temperature : Reading
        Of the barrel [degC].
    load : Reading
        Mass on the piston, piston included [g; written with its unit, such as ``"2.16 kg"``].
    process : str, optional
        How the article was made; it narrows what rate to expect.
    outlier : float, optional
        Chance that it was botched.

    Notes
    -----
    ISO 1133-1, procedure A (from memory). Readings at several conditions are readings of one
    melt. For each resin the reading is carried over to that resin's usual condition
    (:mod:`resinid.methods.melt_flow_rate.conditions`); where that is more than 50 K or ten
    times the load away, the resin is scored as any plastic is.
    """

    test: ClassVar[str] = "melt_flow_rate"
    observes: ClassVar[MeltFlowRate] = MELT_FLOW_RATE

    rate: Reading = measured("melt_flow_rate")
    temperature: Reading = measured("temperature")
    load: Reading = measured("mass")
    process: str = choice((*PROCESSES, UNKNOWN), UNKNOWN)
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def faults(self) -> Iterator[Fault]:
        """Yield what cannot be about the readings together."""
        if not 100.0 <= self.load.value <= 50000.0:
            yield Fault("load", f"is {self.load.value:g} g; loads of ISO 1133-1 are 0.325 to 21.6 kg")
        elif all(rate_factor(melt, *self._condition) is None for melt in nodes().kinds):
            usual = sorted({(melt.temperature, melt.load) for melt in nodes().kinds})
            listed = ", ".join(f"{temperature:g} °C and {load:g} kg" for temperature, load in usual)
            yield Fault(
                "temperature",
                f"no resin's rate is known within 50 K of {self.temperature.value:g} °C and ten times the load of "
                f"{self.load.value / 1000:g} kg; measure at one of: {listed}",
            )

    @property
    def _hardly(self) -> bool:
        """Whether hardly anything came out, so that the rate is no more than told."""
        return self.rate.value <= LEAST

    @property
    def _condition(self) -> tuple[float, float]:
        return self.temperature.value, self.load.value / 1000.0

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        """Return the density of the log rate, or the chance of hardly any, at each node; ``values`` number them."""
        layout = nodes()
        own = math.hypot(self.rate.u / self.rate.value, BENCH)
        log = math.log(self.rate.value)
        # The first kind is any melt, at the condition it was measured at.
        centres, widths = [log], [own]
        for melt in layout.kinds:
            carried = rate_factor(melt, *self._condition)
            centres.append(log - carried[0] if carried else math.nan)
            widths.append(math.hypot(own, carried[1]) if carried else 1.0)
        away = np.array(centres)[layout.kind] - layout.log_rate
        sd = np.array(widths)[layout.kind]
        from_any, any_sd = np.array(log - ANY[0]), math.hypot(own, ANY[1])
        if self._hardly:
            found, as_any = ndtr(away / sd), float(ndtr(from_any / any_sd))
        else:
            found, as_any = normal_density(away, sd), float(normal_density(from_any, any_sd))
        # Too far from a resin's usual condition nothing is claimed of it.
        found = np.where(np.isnan(found), as_any, found)
        if self.process != UNKNOWN:
            found = np.where(layout.process == PROCESSES.index(self.process), found * len(PROCESSES), 0.0)
        out: Array = found[values.astype(np.int64)]
        return out

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=BOTCHED_HARDLY if self._hardly else 1.0 / BOTCHED_RANGE,
        )

    def describe(self) -> str:
        """Return the readings."""
        temperature, load = self._condition
        made = "" if self.process == UNKNOWN else f", {self.process}"
        no_more = "at most " if self._hardly else ""
        return f"{no_more}{self.rate.value:.3g} g/10 min at {temperature:g} °C and {load:g} kg{made}"

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        """Yield a run at each of the commonest conditions if a melt indexer is at hand."""
        if TOOL not in bench.tools:
            return
        count = math.ceil(math.log(MOST / LEAST) / STEP)
        step = math.log(MOST / LEAST) / count
        rates = [LEAST, *(LEAST * math.exp(step * (index + 0.5)) for index in range(count))]
        for temperature, load in PLANNED:
            at = f"{temperature:g} °C and {load / 1000:g} kg"
            yield TestPlan(
                cls.test,
                f"measure the melt flow rate at {at}",
                tuple(cls(Reading(rate, 0.02 * rate), Reading(temperature, 0.5), Reading(load, 1.0)) for rate in rates),
                MINUTES,
                (
                    "Cut up and dry 5 g; fill the hot barrel, press out the air, wait 5 min, put on the load.",
                    f"At {at}, cut off strands at even times; weigh them and reckon grams in ten minutes.",
                ),
                widths=(1.0, *(step,) * count),
                needs=(TOOL, "scale"),
                caution=CAUTION,
                hazard=HAZARD,
                asks=("rate",),
                key=f"melt flow rate at {at}",
            )


METHOD: Final = Method(
    name="melt flow rate",
    version="2",
    summary="Melt flow rate at a temperature and load, carried over to each resin's usual condition.",
    caution=CAUTION,
    sources=(
        "ISO 1133-1 (from memory)",
        "wood-adams-2001",
        "the rows of melts.csv and properties.csv here and of the reference table",
    ),
    tests=(FlowRate,),
    tools=(TOOL,),
)
