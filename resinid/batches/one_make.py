"""Which pieces of a bag may be of one make, and what those are taken to say together.

The answer must not depend on the order in which pieces are listed. They are gone through in an
order of their own: those that look most hazardous come first, and where something has to be
chosen it is they who are chosen. Only pieces that were tested alike are put together: that
those which were tested more agree with the others does not test the others.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.methods._guard import describe, kind_name, liquid_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Sequence

    from resinid.arrays import Array
    from resinid.methods.contract import Observation

    Tests = tuple[Observation, ...]
    Log = Callable[[Sequence[Tests]], Array]

__all__ = ["ALIKE", "of_one_make"]

ALIKE: Final = 6
"""Items of one make beyond so many are taken to say what so many of them say, for no two pieces of
one make are quite alike (this project's cautious choice)."""


@dataclass(frozen=True, slots=True)
class _Piece:
    tests: Tests
    alone: Array
    done: tuple[str, ...]


def of_one_make(pieces: Iterable[Tests], log: Log, barred: Array) -> list[tuple[Array, int]]:
    """Return for pieces that agree the log likelihood of each of them, were they of one make, and how many there are.

    Parameters
    ----------
    pieces : iterable of tuple of Observation
    log : callable
        Returns the log likelihood of some pieces, were they one piece tested often.
    barred : numpy.ndarray
        One for each resin that must not be heated, shape (resins + 1,).
    """
    kinds: list[list[_Piece]] = []
    for piece in _in_order(pieces, log, barred):
        for members in kinds:
            if members[0].done == piece.done and _agree(members[0], piece, log):
                members.append(piece)
                break
        else:
            kinds.append([piece])
    return [(_of_each(members, log), len(members)) for members in kinds]


def _in_order(pieces: Iterable[Tests], log: Log, barred: Array) -> list[_Piece]:
    """Return the pieces, the most hazardous first; those of equal hazard by what they show."""
    made = [_Piece(tests, log([tests]), tuple(sorted(map(_done, tests)))) for tests in pieces]

    def place(piece: _Piece) -> tuple[float, list[float], list[str]]:
        chances = np.exp(piece.alone - piece.alone.max())
        return -float(chances @ barred / chances.sum()), piece.alone.tolist(), sorted(map(describe, piece.tests))

    return sorted(made, key=place)


def _done(test: Observation) -> str:
    """Return which test was done, whatever it showed."""
    liquid = liquid_of(test)
    return f"{kind_name(type(test))} {liquid.density:.3f}" if liquid else kind_name(type(test))


def _agree(first: _Piece, second: _Piece, log: Log) -> bool:
    """Return whether two pieces are as likely of one make, whichever resin it is, as of two (a Bayes factor)."""
    if first.tests == second.tests:
        return True
    together = log([first.tests, second.tests])
    one, other, both = (float(np.logaddexp.reduce(each)) for each in (first.alone, second.alone, together))
    return both + math.log(together.size) >= one + other


def _of_each(members: Sequence[_Piece], log: Log) -> Array:
    """Return an equal part, for each member, of what they say as one piece; of many, of what a few of them say."""
    if len(members) == 1:
        return members[0].alone
    few = min(len(members), ALIKE)
    # Evenly spaced from the most hazardous on, so that the few are like all of them, and no less hazardous.
    return log([members[k * len(members) // few].tests for k in range(few)]) / len(members)
