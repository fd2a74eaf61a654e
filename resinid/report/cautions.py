"""What an answer must never leave out, and says once: name, cautions, tests that bear on heating or would settle it."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Final

from resinid.heating.evidence import clearing, forbidding
from resinid.heating.verdict import DO_NOT_HEAT
from resinid.methods._guard import describe, liquid_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from resinid.heating.verdict import Heat
    from resinid.identification.result import Result
    from resinid.methods.contract import Observation
    from resinid.reference.table import ReferenceTable

__all__ = ["bath_cautions", "bearing_on_heat", "most_telling", "named", "reasons_beside", "settling_words"]

ONSET: Final = re.compile(r", from about -?[\d.e+]+ °C(?=: )")
"""Where a hazard begins stands in a caution, and not in the reason that names the same hazard."""


LIKELY: Final = 0.05
"""Chance of settling it below which a test is not said to (common practice, no source)."""


def reasons_beside(heat: Heat) -> tuple[str, ...]:
    """Return the reasons that the cautions do not say again; where precautions are needed they are the same.

    Examples
    --------
    >>> from resinid.heating.verdict import Heat
    >>> reasons_beside(Heat("", ("fume: air the room", "may be PVC"), ("PS: fume, from about 200 °C: air the room",)))
    ('may be PVC',)
    """
    said = [ONSET.sub("", caution) for caution in heat.cautions]
    return tuple(dict.fromkeys(r for r in heat.reasons if not any(s == r or s.endswith(f": {r}") for s in said)))


def settling_words(heat: Heat) -> str:
    """Return which tests would most likely settle whether a piece may be heated; empty where none are known.

    Examples
    --------
    >>> from resinid.heating.verdict import Heat
    >>> settling_words(Heat("NOT YET", (), (), settled_by=(("weigh it", 0.62), ("bend it", 0.04))))
    'Most likely to settle it, and in how many cases: weigh it (62 %).'
    >>> settling_words(Heat("NOT YET", (), (), settled_by=(("bend it", 0.04),)))
    'No single test at hand is likely to settle it; to begin with: bend it.'
    """
    if not heat.settled_by:
        return ""
    likely = [f"{test} ({100 * chance:.0f} %)" for test, chance in heat.settled_by if chance >= LIKELY]
    if not likely:
        return f"No single test at hand is likely to settle it; to begin with: {heat.settled_by[0][0]}."
    sure = "make sure either way" if heat.verdict == DO_NOT_HEAT else "settle it"
    return f"Most likely to {sure}, and in how many cases: {'; '.join(likely)}."


def named(result: Result, reference: ReferenceTable) -> str:
    """Return what a piece is, at the finest level that is sure, with the name of the resin that leads by far."""
    name = next((resin.name for resin in reference.resins if resin.symbol == result.leader), "")
    told_apart = result.leader in result.headline.split(":")[0]
    return f"{result.headline} ({name})" if name and told_apart else result.headline


def bath_cautions(observations: Iterable[Observation]) -> tuple[str, ...]:
    """Return the cautions of the liquids that a piece was put into, each once."""
    liquids = (liquid_of(observation) for observation in observations)
    return tuple(dict.fromkeys(liquid.caution for liquid in liquids if liquid is not None and liquid.caution))


def bearing_on_heat(observations: Sequence[Observation]) -> frozenset[int]:
    """Return the places of the tests on which heating may hang: each outcome once, where it was first seen.

    They are those of which an outcome forbids heating (a copper wire, a mark that names a flame
    retardant) and those that are off until a person allows their danger, such as a burn.

    Examples
    --------
    >>> from resinid import observe
    >>> wire = observe("copper_wire", outcome="no green", allow=["copper wire"])
    >>> sorted(bearing_on_heat([observe("feel", outcome="rigid"), wire, wire]))
    [1]
    """
    first: dict[str, int] = {}
    for place, each in enumerate(observations):
        if getattr(type(each), "only_if_allowed", "") or forbidding([each]):
            first.setdefault(describe(each), place)
    return frozenset(first.values())


def most_telling(result: Result) -> list[int]:
    """Return the places of the observations: those that disagree, then by how far each alone moves the probabilities.

    What cannot clear a piece, such as a mark or the kind of article, comes last however much it tells.
    """
    moved = [0.0] * len(result.observations)
    for place, row in enumerate(result.log_alone):
        moved[place] = sum(abs(before * math.expm1(log)) for before, log in zip(result.prior, row, strict=True))

    def rank(place: int) -> tuple[bool, bool, float]:
        return place not in result.disagreeing, not clearing(result.observations[place]), -moved[place]

    return sorted(range(len(moved)), key=rank)
