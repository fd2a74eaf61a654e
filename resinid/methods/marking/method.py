"""Marking: resin codes by ASTM D7611 and symbols by ISO 11469, read off the piece.

A mark says what its maker meant the marked part to be. It may stand on a lid, a label or a
part of another resin, or be wrong, so it is evidence like any other, never a proof; see
:mod:`resinid.methods.marking.latent`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np

from resinid.io.fields import written_with
from resinid.methods.contract import Method
from resinid.methods.marking.latent import MARKING, NAMES, UNMARKED_SHARE, Marking, nodes_of
from resinid.methods.marking.letters import ADDITIONS
from resinid.methods.marking.mark import Mark, MarkRule, parse_mark
from resinid.methods.marking.symbols import CODES, SYMBOLS, UNMARKED
from resinid.methods.test_plan import TestPlan
from resinid.scoring.term import Term

if TYPE_CHECKING:
    from collections.abc import Iterator

    from resinid.arrays import Array
    from resinid.methods.bench import Bench

__all__ = ["METHOD", "MISREAD", "MarkRead"]

CAUTION: Final = (
    "A mark is no proof: it may stand on the lid and not the tray, or be wrong. Never heat a piece on its mark "
    "alone; confirm by density that it is not PVC. Follow local codes; when in doubt, do not heat."
)

MISREAD: Final = 0.02
"""Chance that a worn or mirrored mark is misread (common practice, no source)."""

MINUTES: Final = 1.0
"""[min] To look for a mark (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class MarkRead:
    """What is moulded or printed on the piece itself was read, or that there is no mark.

    Parameters
    ----------
    reads : Mark
        Code, symbol or both, as in ``"5"``, ``"HDPE 2"``, ``">PP-T20<"``; ``"unmarked"``
        where there is none, which is no evidence. A mark without a filler says nothing of
        fillers. A part that is not understood is said and forbids heating, as do a flame
        retardant, a halogen and a resin that must not be heated, wherever in the mark they
        stand. Two looks at one mark are one mark.
    """

    test: ClassVar[str] = "mark"
    clears_heating: ClassVar[bool] = False
    observes: ClassVar[Marking] = MARKING

    reads: Mark = written_with(MarkRule())

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        """Return one where the piece is so marked, else zero."""
        return nodes_of(self.reads)[values.astype(np.int64)]

    def term(self) -> Term:
        """Return the likelihood for the engine; a misread mark may be any, an overlooked one is none."""
        if self.reads.text == UNMARKED:
            return Term(self.observes, self.likelihood, outlier=MISREAD, outlier_likelihood=UNMARKED_SHARE)
        share = len(self.reads.names) * len(self.reads.additions) / ((len(NAMES) - 1) * len(ADDITIONS))
        return Term(self.observes, self.likelihood, outlier=MISREAD, outlier_likelihood=(1 - UNMARKED_SHARE) * share)

    def forbids_heating(self) -> str:
        """Return why where the mark names what must not be heated, or has a part that is not understood.

        Such a part may name a flame retardant; it is not taken for a name or a colour.
        """
        reasons = list(self.reads.forbids)
        if self.reads.not_understood:
            reasons.append(
                f"{self.reads.not_understood!r} is not understood and may name a flame retardant; look it up, "
                "or leave it out where it is only a name, a colour or a date"
            )
        return f"marked {self.reads.text}: {'; '.join(reasons)}" if reasons else ""

    def describe(self) -> str:
        """Return the mark; beside a bare code what it stands for, so that a slip of the finger is seen."""
        if self.reads.text == UNMARKED:
            return "no mark"
        meant = CODES.get(self.reads.text, "")
        unclear = f", of which {self.reads.not_understood!r} is not understood" if self.reads.not_understood else ""
        return f"marked {self.reads.text}" + (f" ({meant.replace('OTHER', 'other')})" if meant else "") + unclear

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:  # noqa: ARG003 - because eyes are always at hand
        """Yield the look for a mark, with everything that may be read."""
        written = (UNMARKED, *CODES, *(f">{symbol}<" for symbol in SYMBOLS), ">PEI<")
        yield TestPlan(
            cls.test,
            "look for a moulded or printed mark on the piece itself",
            tuple(cls(parse_mark(text)) for text in written),
            MINUTES,
            (
                "Look at the base, the inside and the flange in slanting light; not at a label or a lid.",
                "Type what stands there: the number in the triangle, 7 for OTHER, or letters such as >PP-T20<.",
            ),
            caution=CAUTION,
        )


METHOD: Final = Method(
    name="marking",
    version="2",
    summary="Resin codes 1 to 7 and material symbols such as >PP-T20< read off the piece.",
    caution=CAUTION,
    sources=(
        "ASTM D7611/D7611M, scope and names of the seven codes (ansi-d7611)",
        "ISO 11469:2016 and ISO 1043-1 to -4 (symbols and letters from memory)",
        "ISO 1043-2:2011, 2.3 to 2.5 (form of filler symbols and mixtures, excerpt)",
        "ISO 1043-4:2021 (codes 10 to 29 are halogen compounds, a bookseller's summary)",
        "the rows of marks.csv",
    ),
    tests=(MarkRead,),
)
