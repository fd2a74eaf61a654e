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

import numpy as np

from resinid.batches.mixing_rules import MELTED_TOGETHER
from resinid.batches.pair_compatibility import CHANCES, Pair
from resinid.errors import Fault, InputError, safe_repr
from resinid.io.close_words import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.arrays import Array
    from resinid.batches.mixing_rules import Rules

__all__ = ["Compatibiliser", "Condition", "at_shares", "conditions", "parse_compatibiliser", "with_compatibiliser"]

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


def at_shares(
    rules: Rules, pairs: Sequence[tuple[int, int]], shares: tuple[Array, Array], chances: Array, overlaps: Array
) -> tuple[Array, Array]:
    """Return the chances of pairs at their own shares, and those that they have a melt temperature in common.

    Parameters
    ----------
    rules : Rules
    pairs : sequence of (int, int)
        Places of the two resins of each pair.
    shares : tuple of numpy.ndarray
        Of the first and of the second resin of each pair in the mix, each of shape (draws, pairs).
    chances, overlaps : numpy.ndarray
        Of each pair whatever the shares, shape (pairs, 3) and (pairs,).

    Returns
    -------
    chances : numpy.ndarray
        Shape (draws or 1, pairs, 3).
    overlaps : numpy.ndarray
        Shape (draws or 1, pairs).
    """
    names = rules.model.candidates
    own, together = chances[None], overlaps[None]
    for row in conditions():
        if row.agent or not {row.first, row.second} <= {*names}:
            continue
        one, other = names.index(row.first), names.index(row.second)
        for place, pair in enumerate(pairs):
            if set(pair) == {one, other}:
                whole = shares[0][:, place] + shares[1][:, place]
                part = 100.0 * shares[0 if pair[0] == one else 1][:, place]
                if len(own) == 1:
                    own, together = (array.repeat(len(whole), axis=0) for array in (own, together))
                met = (row.least * whole <= part) & (part <= row.most * whole)
                own[met, place] = CHANCES[row.rating]
                # Somebody melted them together, whatever the printed windows of injection moulding say.
                together[met, place] = np.maximum(together[met, place], MELTED_TOGETHER)
    return own, together
