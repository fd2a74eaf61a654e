"""The tilting plank: the angle at which a piece starts to slide tells its static friction on steel.

On a plank tilted by the angle ``a`` the weight pulls down the slope with ``m g sin a`` and presses
with ``m g cos a``, so the piece starts to slide where ``tan a`` is the coefficient of
static friction (any textbook of mechanics). Published coefficients are in ``properties.csv`` beside this
file; they differ from table to table by half, so one angle tells little.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid import (
    Axis,
    ContinuousProperty,
    Dependence,
    Method,
    Quantity,
    Reading,
    SharedError,
    SpreadRule,
    Term,
    TestPlan,
)
from resinid.io.fields import measured, number, text

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from resinid import Bench

    Array = NDArray[np.float64]

__all__ = ["METHOD", "SlideAngle"]

ANGLE: Final = Quantity("slide_angle", "degree", 0.5, 80.0, "21 degree", "Tilt at which a piece starts to slide.", "°")
"""What is read."""

STATIC: Final = Quantity("static_friction", "", 0.02, 4.0, "0.35", "Static friction on clean, dry steel.")
"""What is known of a resin."""

FRICTION: Final = ContinuousProperty(
    STATIC,
    Axis(math.log(0.01), math.log(6.0), centre=-1.0, below=3.0, above=3.0, step=0.04, logarithmic=True),
    SpreadRule(logarithmic=True, scatter=0.20, floor=0.12, widening=0.20, unlisted=0.5, any_plastic=(-0.9, 0.6)),
    folder=Path(__file__).parent,
    depends=(Dependence("flexural_modulus", 0.1, "soft plastics stick more (common practice, no source)"),),
)

PLANK: Final = 0.15
"""Standard deviation of the natural log of friction from plank to plank: finish, humidity,
grease (common practice, no source)."""

JUDGEMENT: Final = 1.5
"""[degree] How far a person is off in seeing the start of the slide (common practice, no source)."""

OUTLIER: Final = 0.08
"""Chance that a burr, dust or a knock decided (common practice, no source)."""

STEP: Final = 2.0
"""[degree] Apart that planned readings lie."""

TOOL: Final = "tilting plank"

NODES: Final = np.linspace(-6.0, 6.0, 97)
WEIGHTS: Final = np.exp(-0.5 * NODES**2) / np.exp(-0.5 * NODES**2).sum()
"""Nodes and weights over which a plank's own part is averaged where one angle stands alone."""


@dataclass(frozen=True, slots=True)
class SlideAngle:
    """A piece was laid flat on a clean, dry steel plank, which was tilted until it slid.

    Parameters
    ----------
    angle : Reading
        Tilt of the plank [degree].
    plank : str, optional
        Which plank; readings on one share what is peculiar to it.
    outlier : float, optional
        Chance that something else decided.
    """

    test: ClassVar[str] = "slide_angle"
    observes: ClassVar[ContinuousProperty] = FRICTION

    angle: Reading = measured(ANGLE)
    plank: str = text("plank")
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def likelihood(self, values: Array, error: Array | None) -> Array:
        """Return the density of the angle read [1/degree] at each coefficient of friction."""
        if error is None:
            found: Array = np.tensordot(WEIGHTS, self.likelihood(values, NODES[:, None]), axes=1)
            return found
        sd = math.hypot(self.angle.u, JUDGEMENT)
        z = (self.angle.value - np.degrees(np.arctan(values * np.exp(PLANK * error)))) / sd
        density: Array = np.exp(-0.5 * z * z) / (sd * math.sqrt(2.0 * math.pi))
        return density

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        slope = math.radians(self.angle.value)
        # A degree more is this much more in the log of friction: d ln(tan a) / da = 2 / sin(2 a).
        own = math.radians(math.hypot(self.angle.u, JUDGEMENT)) * 2.0 / math.sin(2.0 * slope)
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=1.0 / (ANGLE.high - ANGLE.low),
            shared=SharedError(("plank", self.plank), own / PLANK),
        )

    def describe(self) -> str:
        """Return the reading."""
        return f"slides on steel at {self.angle.value:.0f}°"

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        """Yield the tilt, if there is a plank."""
        if TOOL in bench.tools:
            angles = np.arange(STEP / 2, ANGLE.high, STEP)
            yield TestPlan(
                cls.test,
                "tilt a clean steel plank until the piece slides",
                tuple(cls(Reading(float(angle), 0.5)) for angle in angles),
                3.0,
                (
                    "Wipe a bare steel plank and a flat face of the piece with alcohol; let both dry; lay it on.",
                    "Raise one end slowly, without a knock, and read the protractor when the piece starts to slide.",
                ),
                widths=(STEP,) * angles.size,
                needs=(TOOL,),
                asks=("angle",),
            )


METHOD: Final = Method(
    name="slide angle",
    version="0.1.0",
    summary="The tilt at which a piece starts to slide down a clean steel plank.",
    caution="",
    sources=("shackelford2001", "designengineers2008"),
    tests=(SlideAngle,),
    tools=(TOOL,),
)
"""What the entry point names."""
