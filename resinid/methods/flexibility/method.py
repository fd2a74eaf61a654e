"""Flexibility: modulus from bending a strip, described feel, whitening and snap."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from functools import partial
from types import MappingProxyType
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid.io.fields import choice, number, text
from resinid.methods.contract import Method
from resinid.methods.flexibility.bending import EYES, CantileverBend, MeasuredModulus, ThreePointBend
from resinid.methods.likelihoods import between
from resinid.methods.outlier import outlier_chance
from resinid.methods.shapes import SOLID_WALL, THICK_STRIP, WALL
from resinid.methods.test_plan import TestPlan
from resinid.methods.word_test import WordTest, word_test
from resinid.scoring.term import SharedError, Term

if TYPE_CHECKING:
    from collections.abc import Iterator

    from resinid.arrays import Array
    from resinid.methods.bench import Bench


__all__ = ["METHOD", "Feel", "Snap", "Whitening"]

FEEL_MINUTES: Final = 0.5
BEND_MINUTES: Final = 1.0
"""[min] Bench effort, the strip cut already (common practice, no source)."""

NONRIGID: Final = 70.0
RIGID: Final = 700.0
"""[MPa] Limits of semirigid between nonrigid and rigid plastics: ASTM D883, as quoted by
Gooch 2011 (rigid, above 700) and the JSME dictionary after ISO (flexible, to 70)."""

LIMP: Final = 10.0
"""[MPa] Below this a strip hangs limp like rubber (common practice, no source)."""

FEELS: Final = MappingProxyType(
    {
        "limp": (0.0, LIMP),
        "flexible": (LIMP, NONRIGID),
        "semi-rigid": (NONRIGID, RIGID),
        "rigid": (RIGID, math.inf),
    }
)
"""Described feel of a strip 2 to 3 mm thick and the modulus [MPa] it stands for."""

OUTLIER: Final = outlier_chance(2)
"""Chance that the feel of a strip is that of another, of a rib or a film, or is judged wrongly altogether."""

STRIP: Final = "strip"
FILM: Final = "film"
"""What was felt. Bending stiffness goes with the cube of the thickness: a film or fibre is limp whatever its resin."""

HAND: Final = 0.5
"""Standard deviation of the natural log of a person's judgement of stiffness, the same
for all strips that person bends (common practice, no source)."""

HAND_REPEAT: Final = 0.2
"""The same from one strip to the next (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Feel:
    """The stiffness of a strip 2 to 3 mm thick was described in a word.

    Parameters
    ----------
    outcome : {"limp", "flexible", "semi-rigid", "rigid"}
        How it felt; an ordered category on the flexural modulus.
    hand : str, optional
        Whose hand; words from one hand share that person's bias.
    outlier : float, optional
        Chance that it was misjudged altogether.
    shape : {"strip", "film"}, optional
        What was felt. Of a film or fibre every word is as likely whatever the modulus; it
        is taken for one where the article or the process says so.
    """

    test: ClassVar[str] = "feel"
    observes: ClassVar[str] = "flexural_modulus"

    outcome: str = choice(FEELS)
    hand: str = text("hand")
    outlier: float = number(1e-4, 0.5, OUTLIER)
    shape: str = choice((STRIP, FILM), STRIP)

    def without_shape(self, lacked: frozenset[str]) -> Feel:
        """Return the same, of a film where the piece has no wall to bend."""
        return replace(self, shape=FILM) if WALL in lacked else self

    def likelihood(self, values: Array, error: Array | None) -> Array:
        """Return the chance of the word at each modulus [MPa]."""
        if self.shape == FILM:
            return np.full(values.shape if error is None else (len(error), len(values)), 1.0 / len(FEELS))
        low, high = FEELS[self.outcome]
        shift: Array | float = 0.0 if error is None else HAND * error
        width = math.hypot(HAND, HAND_REPEAT) if error is None else HAND_REPEAT
        return between(np.log(values), math.log(low) if low else -math.inf, math.log(high), shift, width)

    def term(self) -> Term:
        """Return the likelihood for the engine."""
        return Term(
            observes=self.observes,
            likelihood=self.likelihood,
            outlier=self.outlier,
            outlier_likelihood=1.0 / len(FEELS),
            shared=SharedError(("hand", self.hand), HAND_REPEAT / HAND) if self.shape == STRIP else None,
        )

    def describe(self) -> str:
        """Return the word, and that it is not counted where it tells nothing."""
        return f"feels {self.outcome}" + (", as any film or fibre does (not counted)" if self.shape == FILM else "")

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        """Yield the four words."""
        if bench.strip:
            yield TestPlan(
                cls.test,
                "bend a strip 2 to 3 mm thick between the fingers and say how it feels",
                tuple(cls(word) for word in FEELS),
                FEEL_MINUTES,
                (
                    "Take a strip 2 to 3 mm thick, a finger wide; hold it level by one end, then flex it gently.",
                    "Limp hangs like rubber; flexible bends with no effort; semi-rigid springs; rigid resists.",
                ),
                needs=("strip",),
                caution=EYES,
                needs_shape=(WALL, THICK_STRIP),
            )


_bend: Final = partial(word_test, minutes=BEND_MINUTES, needs=("strip",), caution=EYES)


@_bend(
    "whitening",
    "bend a thin strip sharply and see whether it turns white",
    (
        "Bend a thin strip sharply through 90 degrees over an edge.",
        "Look at the bend against a dark ground: no, a slight or a strong white line.",
    ),
    needs_shape=(SOLID_WALL,),
)
class Whitening(WordTest):
    """Whether a thin strip turns white where it is bent through 90 degrees."""


@_bend(
    "snap",
    "fold a strip double and see whether it snaps",
    (
        "At room temperature, fold a strip double with pliers, under a cloth.",
        "See whether it snaps, keeps a crease, or springs back.",
    ),
    needs_shape=(WALL,),
)
class Snap(WordTest):
    """What a strip does when it is bent double at room temperature."""


METHOD: Final = Method(
    name="flexibility",
    version="1",
    summary="Modulus from bending a strip, a described feel, whitening, and what a strip does when bent double.",
    caution=EYES,
    sources=("ISO 178:2019, bending formula (from memory)", "gooch2011", "jsme-flexible"),
    tests=(ThreePointBend, CantileverBend, MeasuredModulus, Feel, Whitening, Snap),
)
