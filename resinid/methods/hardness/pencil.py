"""Pencil hardness: the hardest drawing pencil that leaves no scratch.

The pencils are an ordered scale (ISO 15184, ASTM D3363: 6B, 5B ... B, HB, F, H, 2H ... 9H), here
numbered by grades, 6B as 1 and 9H as 17; two neighbours are one unit apart, as ASTM D3363 has it.
A resin's place on that scale is a number between the pencils, and a reading is the pencil it was
nearest to.

The scale is not made a reading of the modulus as the Shore scales are. In coatings no clear
relation of the scratch hardness by pencils to Vickers hardness or modulus was found, for a lead
breaks where a metal point yields (J. Jpn. Soc. Colour Mater. 59(7), 1986, abstract); and
polycarbonate is printed as 2B, but acrylic, a third stiffer, as H to 4H. So it stands on rows of its
own, and only that hard and stiff things go together is stated, as a dependence.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, ClassVar, Final

from resinid.io.fields import choice, number
from resinid.methods.likelihoods import between
from resinid.methods.shapes import SOLID_WALL
from resinid.methods.test_plan import TestPlan
from resinid.quantities import Quantity
from resinid.reference.rules import SpreadRule
from resinid.scoring.grid import Axis
from resinid.scoring.properties import ContinuousProperty, Dependence
from resinid.scoring.term import SharedError, Term

if TYPE_CHECKING:
    from collections.abc import Iterator

    from resinid.arrays import Array
    from resinid.methods.bench import Bench


__all__ = ["PENCILS", "PENCIL_HARDNESS", "PENCIL_SET", "SOFTER", "PencilHardness", "grade_of"]

PENCIL_SET: Final = "pencil set"

SOFTER: Final = "softer than 6B"
"""Reading where every pencil of the set leaves a scratch."""

PENCILS: Final = (
    *(f"{grade}B" for grade in range(6, 1, -1)),
    *("B", "HB", "F", "H"),
    *(f"{grade}H" for grade in range(2, 10)),
)
"""The scale of ISO 15184:1998 and JIS K 5400 from the softest pencil to the hardest; ASTM D3363-00 ends at 6H."""

READINGS: Final = (SOFTER, *PENCILS)

REPEAT: Final = 0.5
"""[grades] Standard deviation of a reading from stroke to stroke of one hand. By ASTM D3363-20, 9.1.1, two
operators with the same pencils who differ by more than one pencil are suspect at 95 %, so 0.36
or less in a laboratory; a study of trained operators found 1 grade (MacDermid Autotype 2006)."""

HAND: Final = 0.9
"""[grades] The same from one set of pencils and one hand's pressure to the next, common to all readings of a
piece: printed tests press with 1 N to 10 N (common practice, no source; with :data:`REPEAT`
about one grade)."""

OUTLIER: Final = 0.1
"""Chance that something else was read: a hard coat, lacquer or paint, a grained or dirty spot, a streak of
lead taken for a scratch (common practice, no source)."""

MINUTES: Final = 8.0
"""[min] Bench effort, sharpening included (common practice, no source)."""

CAUTION: Final = "Scratch away from yourself. A coated, painted or printed spot tells of its coating, not of the piece."

PENCIL_HARDNESS: Final = ContinuousProperty(
    Quantity("pencil_hardness", "", -3.0, 21.0, "10", "Pencil hardness by grades, 6B as 1 and 9H as 17, ISO 15184."),
    Axis(-5.0, 23.0, centre=9.0, below=60.0, above=60.0, step=0.3, logarithmic=False),
    # Four publications give bare acrylic from HB to 4H: one stands for others within two grades. What is
    # recalled is off by two more, and no resin is known better than to one pencil (common practice, no source).
    SpreadRule(logarithmic=False, scatter=1.7, floor=1.0, widening=2.0, unlisted=2.5, any_plastic=(6.0, 4.0)),
    folder=Path(__file__).parent,
    depends=(
        Dependence("flexural_modulus", 0.3, "hard and stiff go together, if loosely; see above"),
        Dependence("scratch_fingernail", 0.6, "both are scratches; what a nail marks a soft pencil marks"),
    ),
)
"""Pencil hardness [grades]."""


def grade_of(pencil: str) -> int:
    """Return the place of a pencil on the scale.

    Parameters
    ----------
    pencil : str
        One of :data:`PENCILS`, or :data:`SOFTER`, which is 0.

    Raises
    ------
    ValueError
        There is no such pencil.

    Examples
    --------
    >>> grade_of("6B"), grade_of("HB"), grade_of("9H")
    (1, 7, 17)
    """
    return READINGS.index(pencil)


@dataclass(frozen=True, slots=True)
class PencilHardness:
    """The hardest pencil that did not scratch the piece.

    Parameters
    ----------
    pencil : str
        Its mark, ``"6B"`` to ``"9H"``; ``"softer than 6B"`` where every pencil scratched it.
    outlier : float, optional
        Chance that something else was read.

    Notes
    -----
    After ASTM D3363 (edition of 2000 read in a copy), where the reading is called scratch hardness: the lead,
    its end ground flat, is pushed away from the operator at 45 degrees. The method is for
    coatings; bare plastics are tested likewise (DJK Corporation, list of tests). With 9H nothing harder is left, so
    it stands for everything above as well. A soft elastomer dents and springs back; no
    rows are given where nothing is known.
    """

    test: ClassVar[str] = "pencil_hardness"
    observes: ClassVar[ContinuousProperty] = PENCIL_HARDNESS

    pencil: str = choice(READINGS)
    outlier: float = number(1e-4, 0.5, OUTLIER)

    def likelihood(self, values: Array, error: Array | None) -> Array:
        """Return the chance of this reading at each pencil hardness [grades]."""
        grade = grade_of(self.pencil)
        shift: Array | float = 0.0 if error is None else HAND * error
        width = math.hypot(HAND, REPEAT) if error is None else REPEAT
        low = -math.inf if self.pencil == SOFTER else grade - 0.5
        high = math.inf if self.pencil == PENCILS[-1] else grade + 0.5
        return between(values, low, high, -shift, width)

    def term(self) -> Term:
        """Return the likelihood for the engine; where it was not the resin that was scratched, any may be read."""
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=1.0 / len(READINGS),
            shared=SharedError(("pencils", "hand"), REPEAT / HAND),
        )

    def describe(self) -> str:
        """Return the reading."""
        if self.pencil == SOFTER:
            return "every pencil down to 6B scratches it"
        return f"hardest pencil that leaves no scratch: {self.pencil}"

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        """Yield the scratches if the pencils are at hand."""
        if PENCIL_SET in bench.tools:
            yield TestPlan(
                cls.test,
                "find the hardest pencil that does not scratch the piece",
                tuple(cls(pencil) for pencil in READINGS),
                MINUTES,
                (
                    "Bare the lead and grind its end flat; push it firmly 6 mm over a smooth, bare, flat spot at 45°.",
                    "From hard to soft, until one leaves no scratch once its lead is wiped off; write down its mark.",
                ),
                needs=(PENCIL_SET,),
                needs_shape=(SOLID_WALL,),
                caution=CAUTION,
            )
