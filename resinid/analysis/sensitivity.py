"""Which rows of the table move an answer most: each is left out in turn.

Leaving out a row changes the distribution of one property of one resin, and next
to nothing else ("none of these" averages over all resins; its change is left out
here). So one table scores all cases of a piece at once: beside the resins stand
copies of the likely ones, each short of one row. The copies weigh next to nothing,
so that they do not change the average of the whole.
"""

from __future__ import annotations

import hashlib
import math
import textwrap
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, TypeAlias, TypeVar

from resinid.analysis.example_pieces import PIECES, Piece
from resinid.identification.identify import identify
from resinid.methods._guard import term_of
from resinid.reference.entries import Behaviour, Statement
from resinid.reference.mixture import mixture
from resinid.reference.rules import RULES
from resinid.scoring.engine import Model
from resinid.scoring.properties import property_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from resinid.identification.result import Result
    from resinid.reference.entries import Crystal, Variant
    from resinid.reference.table import ReferenceTable

__all__ = ["Influence", "influences", "sensitivity", "sensitivity_data", "sensitivity_text", "strongest"]

Row: TypeAlias = Statement | Behaviour
"""A row that can be left out."""

T = TypeVar("T", "Statement", "Behaviour", "Variant", "Crystal")

LIKELY: Final = 0.01
"""Rows of resins at least this probable are tried."""

FAINT: Final = 1e-9
"""Factor on the weight of a copy."""


@dataclass(frozen=True, slots=True)
class Influence:
    """What leaving one row out does to the answer for one piece.

    Parameters
    ----------
    piece : str
    row : Statement or Behaviour
    leader : float
        Change of the probability of the resin that led before.
    variation : float
        Total variation between the rankings with and without the row, from 0
        (the same) to 1.
    """

    piece: str
    row: Row
    leader: float
    variation: float


def sensitivity(reference: ReferenceTable, pieces: Iterable[Piece] = PIECES) -> tuple[Influence, ...]:
    """Return the influence of every row tried on every piece, the largest variation first.

    Takes about a second a piece.
    """
    found = [one for piece in pieces for one in influences(reference, piece)]
    return tuple(sorted(found, key=lambda one: -one.variation))


def influences(reference: ReferenceTable, piece: Piece) -> tuple[Influence, ...]:
    """Return the influence of each row on the answer for one piece.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> found = influences(default_reference(), PIECES[-1])
    >>> all(0 <= one.variation <= 1 for one in found)
    True
    """
    answer = identify(piece.observations, reference=reference)
    before = dict(zip(answer.resins, answer.probability, strict=True))
    out: list[Influence] = []
    for symbol in reference.symbols:
        if before[symbol] < LIKELY:
            continue
        rows = _rows(reference, symbol, answer)
        for row, factor in zip(rows, _factors(reference, symbol, rows, answer), strict=True):
            total = 1.0 + before[symbol] * (factor - 1.0)
            after = {name: chance * (factor if name == symbol else 1.0) / total for name, chance in before.items()}
            variation = 0.5 * math.fsum(abs(after[name] - chance) for name, chance in before.items())
            out.append(Influence(piece.name, row, after[answer.leader] - before[answer.leader], variation))
    return tuple(out)


def _rows(reference: ReferenceTable, symbol: str, answer: Result) -> list[Row]:
    """Return the rows that stand behind a resin's score in what was observed."""
    observed = {property_name(observation.observes) for observation in answer.observations}
    used = {
        id(normal.statement)
        for variant in reference.variants
        if variant.resin == symbol
        for name in observed & RULES.keys()
        for normal in mixture(reference, variant, name).normals
    }
    seen = [row for row in reference.behaviours if row.resin == symbol and row.aspect in observed]
    return [*(row for row in reference.statements if id(row) in used), *seen]


def _factors(reference: ReferenceTable, symbol: str, rows: Sequence[Row], answer: Result) -> list[float]:
    """Return by what the evidence for a resin is multiplied as each row is left out."""
    model = Model(_with_copies(reference, symbol, [None, *rows]))
    evidence = model.evidence([term_of(observation) for observation in answer.observations])
    # The first copy is whole: against it, whatever the copies do to the average of all resins cancels.
    log = evidence.log[len(reference.symbols) : -1]
    return [math.exp(value - log[0]) for value in log[1:]]


def _with_copies(reference: ReferenceTable, symbol: str, missing: Sequence[Row | None]) -> ReferenceTable:
    """Return the table with a faint copy of a resin for each row, short of that row."""
    names = [f"{symbol}~{number}" for number in range(len(missing))]
    resin = reference.resin(symbol)
    pairs = list(zip(names, missing, strict=True))

    def copies(rows: Iterable[T]) -> tuple[T, ...]:
        own = [row for row in rows if row.resin == symbol]
        return tuple(replace(row, resin=name) for name, left_out in pairs for row in own if row is not left_out)

    faint = tuple(replace(variant, weight=FAINT * variant.weight) for variant in copies(reference.variants))
    return replace(
        reference,
        resins=(*reference.resins, *(replace(resin, symbol=name, aliases=()) for name in names)),
        variants=(*reference.variants, *faint),
        statements=(*reference.statements, *copies(reference.statements)),
        behaviours=(*reference.behaviours, *copies(reference.behaviours)),
        crystals=(*reference.crystals, *copies(reference.crystals)),
        digest=hashlib.sha256(repr((reference.digest, symbol, missing)).encode()).hexdigest(),
    )


def strongest(reference: ReferenceTable, pieces: Iterable[Piece] = PIECES, top: int = 20) -> tuple[Influence, ...]:
    """Return the rows that move an answer most, each by its largest effect on any piece.

    Parameters
    ----------
    reference : ReferenceTable
    pieces : iterable of Piece, optional
    top : int, optional
        How many rows.
    """
    found: dict[int, Influence] = {}
    for one in sensitivity(reference, pieces):
        found.setdefault(id(one.row), one)
    return tuple(found.values())[:top]


def sensitivity_text(rows: Iterable[Influence]) -> str:
    """Return influences as plain text of at most 80 columns."""
    lines = ["Rows that move an answer most when left out: total variation, change of", "the leader's probability."]
    for one in rows:
        line = f"{one.variation:6.3f} {one.leader:+7.3f}  {one.piece:<16}{_shown(one.row)}"
        lines += textwrap.wrap(line, 80, subsequent_indent=" " * 32, initial_indent=" ", break_on_hyphens=False)
    return "\n".join(lines)


def sensitivity_data(rows: Iterable[Influence]) -> list[dict[str, object]]:
    """Return influences as JSON types."""
    return [
        {"piece": one.piece, "row": _shown(one.row), "variation": one.variation, "leader": one.leader} for one in rows
    ]


def _shown(row: Row) -> str:
    if isinstance(row, Behaviour):
        return f"{row.resin} {row.aspect} {row.outcome}: {row.frequency} ({row.source or row.obtained})"
    limits = [value for value in (row.low, row.typical, row.high) if value is not None]
    printed = " to ".join(f"{value:g}" for value in (limits[0], limits[-1]))
    return f"{row.resin} {row.variant} {row.property} {printed if len(limits) > 1 else f'{limits[0]:g}'} ({row.source})"
