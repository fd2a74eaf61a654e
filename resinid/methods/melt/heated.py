"""Where a chip gives way on a hot plate: a softening temperature, steps of a plate, charring."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid.errors import Fault
from resinid.io.fields import choice, measured, number, text
from resinid.io.reading import Reading
from resinid.methods.likelihoods import below, normal_about
from resinid.methods.outlier import outlier_chance
from resinid.methods.test_plan import TestPlan
from resinid.scoring.term import Normals, SharedError, Term

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from resinid.arrays import Array
    from resinid.methods.bench import Bench

__all__ = ["CAUTION", "HAZARD", "Charring", "HotPlate", "Softening"]

CAUTION: Final = (
    "A speck, not a piece. Only after cold tests have made PVC and acetal unlikely: hot PVC gives off hydrogen "
    "chloride, hot acetal formaldehyde, and the two must never meet. Fume extraction or open air, eye protection "
    "and gloves; molten plastic sticks and burns; no solvent or alcohol in the room. Stop at the first acid or "
    "choking smell. Follow local codes; when in doubt, do not heat."
)

HAZARD: Final = "hot plate"
"""Kind of danger of every test here."""

PLATE_MINUTES: Final = 15.0
"""[min] To step a plate up (common practice, no source)."""

FIRST_STEP: Final = 60.0
STEP: Final = 20.0
"""[degC, K] Where a plate is held first, and by how much it is stepped up (common practice, no source)."""

HOTTEST_STEP: Final = 280.0
"""[degC] However hot the plate can be, no step is hotter: fluoropolymers give off hydrogen fluoride and toxic fume
from about 300 degC (hazards.csv of the reference table, PVDF and PTFE), less what a plate may be off."""

JUDGEMENT: Final = 4.0
"""[K] Standard deviation of when a person calls a chip molten, and of chip against plate
(common practice, no source)."""

THERMOMETER: Final = Reading(3.0, 0.0)
"""[K] Standard uncertainty of a shop thermometer, common to all its readings (common practice, no source)."""

OUTLIER: Final = outlier_chance(3)
"""Chance that a hot-plate test is botched: wrong chip, label or glue; draught; misread."""

BOTCHED_RANGE: Final = 300.0
"""[K] Range over which a botched softening temperature lies anywhere."""

BOUND: Final = 0.5
"""Chance that a botched test still shows one end, molten or not, as it was seen (common practice, no source)."""

CHARS: Final = 0.8
"""Chance that a resin which never melts is seen to char (common practice, no source)."""

CHARS_FIRST: Final = 0.05
"""Chance that a resin below its softening is seen to char all the same (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Softening:
    """A chip was seen to soften or melt at a temperature.

    Parameters
    ----------
    temperature : Reading
        Of the plate under the chip [degC].
    u_thermometer : Reading, optional
        Standard uncertainty common to all readings of that thermometer [K].
    thermometer : str, optional
        Which thermometer; readings of one share its error.
    outlier : float, optional
        Chance that it was botched.
    """

    test: ClassVar[str] = "softening"
    observes: ClassVar[str] = "softening_temperature"

    temperature: Reading = measured("temperature")
    u_thermometer: Reading = measured("temperature_difference", THERMOMETER)
    thermometer: str = text("thermometer")
    outlier: float = number(1e-4, 0.5, OUTLIER)

    @classmethod
    def many(cls, readings: Mapping[str, tuple[Array, Array]]) -> Normals:
        """Return many softening temperatures as whole tables are scored."""
        value, u = readings["temperature"]
        sd = np.sqrt(u**2 + (JUDGEMENT**2 + THERMOMETER.value**2))
        outlier_chance = np.full(value.shape, 1.0 / BOTCHED_RANGE)
        key = ("thermometer", "thermometer", THERMOMETER.value)
        return Normals(value, sd, outlier_chance, OUTLIER, logarithmic=False, shared=key)

    def likelihood(self, values: Array, error: Array | None) -> Array:
        """Return the density of the temperature read at each softening temperature [degC]."""
        own = math.hypot(self.temperature.u, JUDGEMENT)
        if error is None:
            return normal_about(values, self.temperature.value, math.hypot(own, self.u_thermometer.value))
        return normal_about(values, self.temperature.value + self.u_thermometer.value * error, own)

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        own = math.hypot(self.temperature.u, JUDGEMENT)
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=1.0 / BOTCHED_RANGE,
            feature=(self.temperature.value, math.hypot(own, self.u_thermometer.value)),
            shared=_thermometer(self.thermometer, self.u_thermometer, own),
        )

    def describe(self) -> str:
        """Return the reading."""
        return f"softened at {self.temperature.value:.0f} °C"


@dataclass(frozen=True, slots=True)
class HotPlate:
    """A hot plate was stepped up: not molten at one temperature, molten at another.

    Parameters
    ----------
    not_melted_at : Reading, optional
        Highest temperature at which the chip kept its shape [degC].
    melted_at : Reading, optional
        Lowest temperature at which it was molten or soft [degC]; left out where it
        never melted. At least one of the two is needed.
    u_thermometer, thermometer, outlier
        As for :class:`Softening`.
    """

    test: ClassVar[str] = "hot_plate"
    observes: ClassVar[str] = "softening_temperature"

    not_melted_at: Reading | None = measured("temperature", None)
    melted_at: Reading | None = measured("temperature", None)
    u_thermometer: Reading = measured("temperature_difference", THERMOMETER)
    thermometer: str = text("thermometer")
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def faults(self) -> Iterator[Fault]:
        """Yield what cannot be about the readings together."""
        if self.not_melted_at is None and self.melted_at is None:
            yield Fault("", "needs not_melted_at, melted_at or both")
        elif self.not_melted_at and self.melted_at and self.not_melted_at.value >= self.melted_at.value:
            yield Fault("melted_at", "is not above not_melted_at; a piece does not harden on heating")

    def likelihood(self, values: Array, error: Array | None) -> Array:
        """Return the chance of both outcomes at each softening temperature [degC]."""
        # A chip gives way at its own temperature plus one error of judgement, so a bracket is
        # the chance that this falls between the two ends.
        common = self.u_thermometer.value
        shift: Array | float = 0.0 if error is None else common * error
        spread = JUDGEMENT if error is not None else math.hypot(JUDGEMENT, common)
        upper: Array = np.ones(1)
        lower: Array = np.zeros(1)
        if self.melted_at is not None:
            upper = below(values, self.melted_at.value + shift, math.hypot(self.melted_at.u, spread))
        if self.not_melted_at is not None:
            lower = below(values, self.not_melted_at.value + shift, math.hypot(self.not_melted_at.u, spread))
        return np.maximum(upper - lower, 0.0)

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        sharpest = min(math.hypot(end.u, JUDGEMENT) for end in (self.not_melted_at, self.melted_at) if end)
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=self._if_botched(),
            shared=_thermometer(self.thermometer, self.u_thermometer, sharpest),
        )

    def _if_botched(self) -> float:
        """Return the chance of the two ends if the test was botched: as :class:`Softening` has it, anywhere at all."""
        if self.not_melted_at is None or self.melted_at is None:
            return BOUND
        return min((self.melted_at.value - self.not_melted_at.value) / BOTCHED_RANGE, BOUND)

    def describe(self) -> str:
        """Return the readings."""
        parts = []
        if self.not_melted_at:
            parts.append(f"not molten at {self.not_melted_at.value:.0f} °C")
        if self.melted_at:
            parts.append(f"molten at {self.melted_at.value:.0f} °C")
        return ", ".join(parts)

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        """Yield the plate stepped up to its highest temperature, or to :data:`HOTTEST_STEP`."""
        if bench.hot_plate is None or bench.hot_plate < FIRST_STEP:
            return
        held = [Reading(FIRST_STEP, 1.0)]
        while held[-1].value + STEP <= min(bench.hot_plate, HOTTEST_STEP):
            held.append(Reading(held[-1].value + STEP, 1.0))
        yield TestPlan(
            cls.test,
            f"step a hot plate up to {held[-1].value:.0f} °C under a speck and see where it melts",
            (
                cls(melted_at=held[0]),
                *(cls(not_melted_at=low, melted_at=high) for low, high in pairwise(held)),
                cls(not_melted_at=held[-1]),
            ),
            PLATE_MINUTES,
            (
                f"Put a speck on the plate at {FIRST_STEP:.0f} °C; hold each step a minute, press with a cold pin.",
                f"Step up by {STEP:.0f} K until it is soft or molten; note the last step it withstood and the next.",
            ),
            needs=("hot plate", "thermometer"),
            caution=CAUTION,
            hazard=HAZARD,
            asks=("not_melted_at", "melted_at"),
        )


@dataclass(frozen=True, slots=True)
class Charring:
    """A chip was heated and charred, or stayed as it was, without ever melting.

    Parameters
    ----------
    heated_to : Reading
        Highest temperature reached [degC].
    seen : {"charred", "unchanged"}
        What it did.
    u_thermometer, thermometer, outlier
        As for :class:`Softening`.

    Notes
    -----
    Charring is scored on the softening temperature itself, since it is what a resin
    that never softens does; it is not counted a second time as behaviour.
    """

    test: ClassVar[str] = "charring"
    observes: ClassVar[str] = "softening_temperature"

    heated_to: Reading = measured("temperature")
    seen: str = choice(("charred", "unchanged"))
    u_thermometer: Reading = measured("temperature_difference", THERMOMETER)
    thermometer: str = text("thermometer")
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def likelihood(self, values: Array, error: Array | None) -> Array:
        """Return the chance of the outcome at each softening temperature [degC]."""
        own = math.hypot(self.heated_to.u, JUDGEMENT)
        common = self.u_thermometer.value
        if error is None:
            solid = 1.0 - below(values, self.heated_to.value, math.hypot(own, common))
        else:
            solid = 1.0 - below(values, self.heated_to.value + common * error, own)
        chars = np.where(np.isinf(values), CHARS, CHARS_FIRST)
        return solid * (chars if self.seen == "charred" else 1.0 - chars)

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=0.25,
            shared=_thermometer(self.thermometer, self.u_thermometer, math.hypot(self.heated_to.u, JUDGEMENT)),
        )

    def describe(self) -> str:
        """Return the outcome."""
        return f"{self.seen} at {self.heated_to.value:.0f} °C without melting"

    def forbids_heating(self) -> str:
        """Return that it charred: what chars before it melts only burns when heated further."""
        return self.describe() if self.seen == "charred" else ""


def _thermometer(key: str, u: Reading, own: float) -> SharedError | None:
    return SharedError(("thermometer", key, u.value), own / u.value) if u.value > 0 else None
