"""Where two resins get on better than by themselves: at some shares of the two, or with a compatibiliser in them.

Each row of ``pair_conditions.csv`` has its source. A compatibiliser whose effect on a pair is not published does
nothing here, nor does less of it than was published; it never makes what is dangerous harmless.
"""

from __future__ import annotations

import csv
import re
from dataclasses import dataclass, replace
from functools import cache
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from resinid.batches.mixing_rules import MELTED_TOGETHER
from resinid.batches.pair_compatibility import CHANCES, Pair
from resinid.errors import Fault, InputError, safe_repr
from resinid.io.close_words import did_you_mean

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.batches.mixing_rules import Rules

__all__ = [
    "AtShares",
    "Compatibiliser",
    "Condition",
    "at_shares",
    "conditions",
    "parse_compatibiliser",
    "with_compatibiliser",
]

MOST: Final = 30.0
"""[%] More of a compatibiliser than this is a slip: it would be a third part of the mix."""

KNEADED: Final = "it must be kneaded in, by an extruder at best; a press alone hardly spreads it (common practice)"

_STATED: Final = re.compile(r"(\d+(?:\.\d+)?)\s*%\s*(?:of\s+)?(\S.*)")


@dataclass(frozen=True, slots=True)
class Condition:
    """A row: on what condition a pair gets on better.

    Parameters
    ----------
    first, second : str
    agent : str
        The compatibiliser; empty where the shares are the condition.
    least, most : float
        Share [%] of the agent in the mix, or of the first resin among the two.
    rating : str
        Of the pair then.
    note, source : str
    """

    first: str
    second: str
    agent: str
    least: float
    most: float
    rating: str
    note: str
    source: str


@dataclass(frozen=True, slots=True)
class Compatibiliser:
    """What is stated to be in a mix: an agent and its share [%]."""

    agent: str
    percent: float


@cache
def conditions() -> tuple[Condition, ...]:
    """Return every row."""
    with Path(__file__).with_name("pair_conditions.csv").open(encoding="utf-8", newline="") as opened:
        return tuple(
            Condition(a, b, agent, float(least), float(most), rating, note, source)
            for a, b, agent, least, most, rating, note, source in list(csv.reader(opened))[1:]
        )


def parse_compatibiliser(given: object) -> Compatibiliser | None:
    """Return the compatibiliser that a text states; None where none is.

    Raises
    ------
    InputError
        It is no text such as ``5 % SEBS``, or the effect of that agent is not in the table.

    Examples
    --------
    >>> parse_compatibiliser("5 % SEBS")
    Compatibiliser(agent='SEBS', percent=5.0)
    """
    if given is None:
        return None
    match = _STATED.fullmatch(given.strip()) if isinstance(given, str) else None
    if match is None or not 0.0 < float(match[1]) <= MOST:
        what = f"{safe_repr(given, 50)} is not a share up to {MOST:g} % and a name, such as '5 % SEBS'"
        raise InputError([Fault("compatibiliser", what)])
    known = {row.agent.casefold(): row.agent for row in conditions() if row.agent}
    agent = known.get(match[2].strip().casefold())
    if agent is None:
        told = ", ".join(
            f"{row.agent} ({row.first} with {row.second}, from {row.least:g} %)" for row in conditions() if row.agent
        )
        why = f"the effect of {match[2]!r:.50} is not in the table{did_you_mean(match[2], tuple(known.values()))}; "
        raise InputError([Fault("compatibiliser", f"{why}known are {told}")])
    return Compatibiliser(agent, float(match[1]))


def with_compatibiliser(rules: Rules, stated: Compatibiliser | None) -> Rules:
    """Return the rules for a mix with a compatibiliser in it."""
    if stated is None:
        return rules
    pairs, chances = dict(rules.pairs), rules.chances.copy()
    names = rules.model.candidates
    for row in conditions():
        if (
            row.agent == stated.agent
            and row.least <= stated.percent <= row.most
            and {row.first, row.second} <= {*names}
        ):
            i, j = sorted((names.index(row.first), names.index(row.second)))
            note = f"with {stated.percent:g} % {row.agent}: {row.note} ({row.source}); {KNEADED}"
            pairs[i, j] = Pair(CHANCES[row.rating], row.rating, note, "", "peer-reviewed")
            chances[i, j] = chances[j, i] = CHANCES[row.rating]
    return replace(rules, pairs=MappingProxyType(pairs), chances=chances)


@dataclass(frozen=True, slots=True)
class AtShares:
    """Two resins that get on better at some shares of the two.

    Parameters
    ----------
    first, second : int
        Their places.
    least, most : float
        [%] Of the first among the two.
    spoilt, apart : float
        How much of one melt, and of what holds together, the pair then takes away.
    """

    first: int
    second: int
    least: float
    most: float
    spoilt: float
    apart: float

    def met(self, first: Array, second: Array) -> NDArray[np.bool_]:
        """Return where shares of the two in a mix are such."""
        whole = first + second
        out: NDArray[np.bool_] = (self.least * whole <= 100.0 * first) & (100.0 * first <= self.most * whole)
        return out


def at_shares(rules: Rules) -> list[AtShares]:
    """Return the pairs that get on better at some of their shares."""
    names = rules.model.candidates
    out = []
    for row in conditions():
        if not row.agent and {row.first, row.second} <= {*names}:
            one, other = names.index(row.first), names.index(row.second)
            good, _, bad = CHANCES[row.rating]
            # Somebody melted them together, whatever the printed windows of injection moulding say.
            together = max(float(rules.overlaps[one, other]), MELTED_TOGETHER)
            spoilt, apart = 1.0 - good * together, bad + (1.0 - together) * (1.0 - bad)
            out.append(AtShares(one, other, row.least, row.most, spoilt, apart))
    return out
