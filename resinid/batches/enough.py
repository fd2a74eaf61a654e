"""How many pieces, tested how, are enough for leave: told before anything is measured and after.

Pieces are thought to read as those of the bag's likeliest resin most often do, and are added to what was seen.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from resinid.batches.bag_posterior import evidence_of
from resinid.batches.hazards import FEWEST
from resinid.batches.item_evidence import group_of
from resinid.batches.mix_part import danger_of
from resinid.batches.ranges import quantiles
from resinid.batches.stops import stopping
from resinid.io.build import build
from resinid.methods.registry import find_test

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from resinid.batches.item_evidence import ItemGroup
    from resinid.batches.mix_part import MixPart
    from resinid.batches.mixing_rules import Rules
    from resinid.methods.contract import Observation

__all__ = ["Enough", "enough_for"]

STEPS: Final = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40)
"""Numbers of pieces that are tried; whoever would have to test more than the last does better with another test."""

FEW: Final = 12
"""Where so many are enough no further test is thought of."""

HALF: Final = 10.0
"""[K] To either side of the likeliest softening temperature a hot plate is set."""

_Words = tuple[str, str, "Mapping[str, object]", tuple[str, ...]]

WATER: Final[_Words] = ("water", "float", {"liquid": "water"}, ("floats", "sinks"))
ALCOHOL: Final[_Words] = ("alcohol", "float", {"liquid": "ethanol 40 %v/v"}, ("floats", "sinks"))
SALT: Final[_Words] = ("saturated salt", "float", {"liquid": "table salt saturated"}, ("floats", "sinks"))
FEEL: Final[_Words] = ("feel", "feel", {}, ("limp", "flexible", "semi-rigid", "rigid"))
SNAP: Final[_Words] = ("snap", "snap", {}, ("snaps", "creases", "springs back"))
PLATE: Final = "hot plate"


@dataclass(frozen=True, slots=True)
class Enough:
    """How many further pieces of a batch are enough, all tested alike and none of them odd.

    Parameters
    ----------
    batch : str
    pieces : int
    tests : tuple of str
        What each is tested by.
    resin : str
        What they are thought to be.
    readings : tuple of str
        What each test is thought to show.
    """

    batch: str
    pieces: int
    tests: tuple[str, ...]
    resin: str
    readings: tuple[str, ...]

    @property
    def text(self) -> str:
        """The same in words."""
        pieces = "piece" if self.pieces == 1 else "pieces, each"
        shown = ", ".join(self.readings)
        return f"{self.pieces} {pieces}: {', '.join(self.tests)} (if they read as {self.resin} does: {shown})"


def enough_for(part: MixPart, rules: Rules, limit: float) -> Enough | None:
    """Return how many further pieces would bring a batch's danger to the limit, by the cold tests if they can.

    None where none would, or none is needed.
    """
    shares = part.mean[:-1]
    main = int(shares.argmax())
    floats, sinks = (WATER, ALCOHOL), (WATER, SALT)
    light = _likeliest(rules, main, WATER).outcome == "floats"  # type: ignore[attr-defined]  # because it is a float test
    own = floats if light else sinks
    best: Enough | None = None
    for words, hot in ((own, False), ((*own, FEEL, SNAP), False), (own, True), ((*own, FEEL, SNAP), True)):
        tests: list[Observation] = [_likeliest(rules, main, each) for each in words]
        names = [name for name, *_ in words]
        if hot:
            plate = _plate(rules, main)
            if plate is None:
                continue
            tests.append(plate)
            names.append(PLATE)
        group = group_of(rules.model, f"a further piece of {part.batch.name}", tuple(tests), 1)
        # A piece that reads as it should and stops the bag by itself all the same clears nothing.
        number = None if _stops(part, rules, group) else _fewest(part, rules, group, limit)
        if number is not None and (best is None or number < best.pieces):
            best = Enough(part.batch.name, number, tuple(names), rules.model.candidates[main], _shown(tests))
        if best is not None and best.pieces <= FEW:
            break
    return best


def _shown(tests: Sequence[Any]) -> tuple[str, ...]:
    """Return what each of some readings shows in a word or two."""
    return tuple(
        test.outcome
        if hasattr(test, "outcome")
        else f"solid at {test.not_melted_at.value:g}, molten at {test.melted_at.value:g} °C"
        for test in tests
    )


def _stops(part: MixPart, rules: Rules, group: ItemGroup) -> bool:
    views = (*part.views[:-1], replace(part.views[-1], groups=(group,)))
    return bool(stopping(replace(part, posterior=replace(part.posterior, groups=(group,)), views=views), rules))


def _fewest(part: MixPart, rules: Rules, group: ItemGroup, limit: float) -> int | None:
    """Return the fewest of :data:`STEPS` at which the danger is at most the limit; it falls with every piece."""

    def clears(number: int) -> bool:
        more = replace(group, count=number)
        views = part.views
        ways = [views[place : place + 2] for place in range(0, len(views), 2)]
        found = (evidence_of((*way[0].groups, more), rules, [view.prior for view in way]) for way in ways)
        return all(danger_of(view, rules, part.batch.holds) <= limit for each in found for view in each)

    if not clears(STEPS[-1]):
        return None
    # So many must be measured at least.
    measured = sum(each.count for each in part.measured)
    low, high = sum(step < FEWEST - measured for step in STEPS) - 1, len(STEPS) - 1
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if clears(STEPS[middle]) else (middle, high)
    return STEPS[high]


def _likeliest(rules: Rules, main: int, words: _Words) -> Observation:
    """Return the reading that a resin shows most often."""
    _, test, fields, outcomes = words
    made = [build(find_test(test, ()), {**fields, "outcome": outcome}) for outcome in outcomes]
    logs = [float(np.log(group_of(rules.model, "", (each,), 1).resins[main])) + _scale(rules, each) for each in made]
    return made[int(np.argmax(logs))]


def _scale(rules: Rules, test: Observation) -> float:
    return group_of(rules.model, "", (test,), 1).scale


def _plate(rules: Rules, main: int) -> Any:  # noqa: ANN401 - a test's own class
    resin: Sequence[str] = rules.model.candidates
    middle = quantiles(rules, resin[main], "softening_temperature")[1]
    if not np.isfinite(middle) or middle <= 0:
        return None
    low, high = round((middle - HALF) / 5.0) * 5.0, round((middle + HALF) / 5.0) * 5.0
    entries = {"not_melted_at": f"{low:g} degC", "melted_at": f"{high:g} degC"}
    return build(find_test("hot_plate", ()), entries)
