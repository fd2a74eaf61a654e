"""Hardness: Shore A, Shore D, pencil hardness, and whether a fingernail marks a piece.

Shore readings observe the flexural modulus through the relation in
:mod:`resinid.methods.hardness.relation`. What a fingernail does is published in words for
some resins, so it is scored on those rows; that it goes with stiffness is stated below. For
pencils see :mod:`resinid.methods.hardness.pencil`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid.io.fields import measured, number
from resinid.io.reading import Reading
from resinid.methods.contract import Method
from resinid.methods.hardness.pencil import CAUTION, PENCIL_SET, PencilHardness
from resinid.methods.hardness.relation import SHORE_A, SHORE_D, Scale
from resinid.methods.likelihoods import below, normal_about
from resinid.methods.outlier import outlier_chance
from resinid.methods.shapes import FLAT_FACE, SOLID_WALL
from resinid.methods.test_plan import TestPlan
from resinid.methods.word_test import WordTest, word_test
from resinid.scoring.properties import CategoricalProperty, Dependence
from resinid.scoring.term import SharedError, Term

if TYPE_CHECKING:
    from collections.abc import Iterator

    from resinid.arrays import Array
    from resinid.methods.bench import Bench


__all__ = ["METHOD", "ScratchFingernail", "ShoreA", "ShoreD"]

DUROMETER_A: Final = "Shore A durometer"
DUROMETER_D: Final = "Shore D durometer"

SHORE_MINUTES: Final = 2.0
SCRATCH_MINUTES: Final = 0.5
"""[min] Bench effort (common practice, no source)."""

OUTLIER: Final = outlier_chance(3)
"""Chance that a Shore reading is botched: too thin, ribbed or curved; near an edge, foot not flat; misread."""

BOTCHED_RANGE: Final = 7.0
"""A botched reading stands for a modulus anywhere within this range of its natural logarithm."""

BOTCHED_END: Final = 0.3
"""Chance that a botched reading lies beyond the scale's end (common practice, no source)."""

PLANNED: Final = 0.6
"""Step of the natural log of the modulus between planned readings, about the relation's scatter."""

STEPS: Final = (
    "Lay a flat spot, 6 mm thick or stacked to that, on a hard table; stay 9 mm off every edge.",
    "Press the foot down flat; read after 15 s, at five spots, and write down the middle reading.",
)

SCRATCH_FINGERNAIL: Final = CategoricalProperty(
    "scratch_fingernail",
    ("easily", "hardly", "no"),
    folder=Path(__file__).parent,
    depends=(
        Dependence(
            "flexural_modulus", 0.6, "hard and stiff go together; see the relation of Shore hardness to modulus"
        ),
    ),
)


@dataclass(frozen=True, slots=True)
class _Shore:
    """Common part of the two Shore tests."""

    test: ClassVar[str]
    observes: ClassVar[str] = "flexural_modulus"
    scale: ClassVar[Scale]
    tool: ClassVar[str]

    hardness: Reading
    outlier: float

    def _own(self) -> float:
        """Return the reading's own standard deviation as one of the natural log of the modulus."""
        return math.hypot(self.hardness.u, self.scale.repeat) * self.scale.slope(self.hardness.value)

    def likelihood(self, values: Array, error: Array | None) -> Array:
        """Return the density of the reading, as a log modulus, at each modulus [MPa]; beyond an end, the chance."""
        scale, logs = self.scale, np.log(values)
        centre: Array | float = scale.log_modulus(self.hardness.value)
        own = self._own()
        if error is None:
            own = math.hypot(own, scale.scatter)
        else:
            centre = centre + scale.scatter * error
        end = scale.beyond(self.hardness.value)
        if end == 0:
            return normal_about(logs, centre, own)
        softer = below(logs, centre, own)
        return softer if end < 0 else 1.0 - softer

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        scale, value = self.scale, self.hardness.value
        own = self._own()
        inside = scale.beyond(value) == 0
        modulus = math.exp(scale.log_modulus(value))
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=1.0 / BOTCHED_RANGE if inside else BOTCHED_END,
            feature=(modulus, modulus * math.hypot(own, scale.scatter)) if inside else None,
            # One relation, and so one error, for every hardness reading of a piece.
            shared=SharedError(("relation", "hardness"), own / scale.scatter),
        )

    def describe(self) -> str:
        """Return the reading."""
        scale, value = self.scale, self.hardness.value
        modulus = math.exp(scale.log_modulus(value))
        about = ("softer than", "about", "harder than")[1 + scale.beyond(value)]
        return f"{scale.name} {value:.3g} ({about} {modulus:.2g} MPa)"

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        """Yield the reading if such a durometer is at hand."""
        if cls.tool not in bench.tools:
            return
        scale = cls.scale
        low, high = scale.log_modulus(scale.marks[0]), scale.log_modulus(scale.marks[-1])
        count = math.ceil((high - low) / PLANNED)
        step = (high - low) / count
        logs = [low + step * (index + 0.5) for index in range(count)]
        marks = np.interp(logs, np.log(scale.moduli), scale.marks).tolist()
        readings = [scale.marks[0], *marks, scale.marks[-1]]
        yield TestPlan(
            cls.test,
            f"press a {cls.tool} on the piece",
            tuple(cls(hardness=Reading(value, 1.0), outlier=OUTLIER) for value in readings),
            SHORE_MINUTES,
            STEPS,
            widths=(1.0, *(step for _ in marks), 1.0),
            needs=(cls.tool,),
            asks=("hardness",),
            needs_shape=(FLAT_FACE,),
        )


@dataclass(frozen=True, slots=True)
class ShoreA(_Shore):
    """Shore hardness of type A, for soft pieces.

    Parameters
    ----------
    hardness : Reading
        Reading of type A, or the middle one of several [points].
    outlier : float, optional
        Chance that it was botched.

    Notes
    -----
    ISO 868, 15 s, piece 4 mm thick or more (from memory). Readings of 10 or less and of 90
    or more say only that the piece is softer or harder than that.
    """

    test: ClassVar[str] = "shore_a"
    scale: ClassVar[Scale] = SHORE_A
    tool: ClassVar[str] = DUROMETER_A

    hardness: Reading = measured("shore_a")
    outlier: float = number(1e-4, 0.5, OUTLIER)


@dataclass(frozen=True, slots=True)
class ShoreD(_Shore):
    """Shore hardness of type D, for hard pieces.

    Parameters
    ----------
    hardness : Reading
        Reading of type D, or the middle one of several [points].
    outlier : float, optional
        Chance that it was botched.

    Notes
    -----
    ISO 868, 15 s, piece 4 mm thick or more (from memory). Readings of 20 or less and of 92
    or more say only that the piece is softer or harder than that.
    """

    test: ClassVar[str] = "shore_d"
    scale: ClassVar[Scale] = SHORE_D
    tool: ClassVar[str] = DUROMETER_D

    hardness: Reading = measured("shore_d")
    outlier: float = number(1e-4, 0.5, OUTLIER)


@word_test(
    SCRATCH_FINGERNAIL,
    "scratch the piece with a fingernail",
    (
        "Draw a fingernail firmly over a smooth, unpainted spot; wipe it.",
        "Easily: a groove or dent; hardly: a faint mark under pressure; no: nothing to see or feel.",
    ),
    minutes=SCRATCH_MINUTES,
    needs_shape=(SOLID_WALL,),
)
class ScratchFingernail(WordTest):
    """Whether a fingernail drawn over the piece leaves a mark."""


METHOD: Final = Method(
    name="hardness",
    version="2",
    summary=(
        "Shore A and Shore D hardness as readings of the modulus, the hardest pencil that leaves no scratch, "
        "and whether a fingernail marks the piece."
    ),
    caution=CAUTION,
    sources=(
        "ISO 868, Shore hardness (from memory)",
        "Qi, Joyce, Boyce 2003, Rubber Chem. Technol. 76:419-435",
        "Gent 1958, Trans. Inst. Rubber Ind. 34:46-57",
        "ASTM D3363 and ISO 15184, pencil hardness (scale and precision read in copies)",
        "J. Jpn. Soc. Colour Mater. 59(7), 1986, on the mechanism of the pencil test (abstract)",
        "MacDermid Autotype 2006, repeatability of the pencil test, as reported in the trade press",
        "the rows of behaviour.csv and properties.csv",
    ),
    tests=(ShoreA, ShoreD, PencilHardness, ScratchFingernail),
    tools=(DUROMETER_A, DUROMETER_D, PENCIL_SET),
)
