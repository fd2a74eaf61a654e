"""A simulated bench with one piece on it, and what it writes down.

Readings err as the methods' docstrings say, the errors of one jug, thermometer or hand in common;
``botched`` ones go wrong at the stated rates besides.

For whole tables a weighing is written down as the density it gives, with its uncertainty: tables of
weighings are slow, and all that is lost is the error of the water, which the weighing shares with a
float in the same jug. test_leave.py compares the two.
"""

from __future__ import annotations

import functools
import math
from collections import Counter
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
import simulate

from resinid import parse_liquid
from resinid.methods._guard import term_of
from resinid.methods.cut_face.method import CUT_FACE
from resinid.methods.look_and_feel.method import TRANSPARENCY
from resinid.methods.recovery.method import SPRING_BACK
from resinid.quantities import ASPECTS

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from specimens import Specimen

    from resinid import TestPlan
    from resinid.liquids import Liquid

    Entry = dict[str, Any]

__all__ = ["JUGS", "LADDER", "Bench", "frame_of", "observations_of"]

SCALE: Final = 0.01
"""[g] Standard uncertainty of a workshop's scale (common practice, no source)."""

SINKER: Final = 50.0
"""[g] What the sinker weighs in water."""

LADDER: Final = tuple(range(80, 281, 20))
"""[degC] Where a chip is tried on the hot plate."""

JUGS: Final = {
    "water": "water",
    "alcohol": "ethanol 40 %v/v at 20 degC",
    "brine": "table salt 110 g/kg water at 20 degC",
    "saturated": "table salt saturated at 20 degC",
}

WORDS: Final = {"transparency": TRANSPARENCY, "spring_back": SPRING_BACK, "cut_face": CUT_FACE}
"""The properties of tests with words; those of a melt go by the test's name."""

MELT_WORDS: Final = ("melt_clarity", "melt_pull", "melt_onset", "melt_flow")
"""What is seen of a chip that melted on the plate, in the same visit."""


class Bench:
    """A bench with one piece on it.

    Parameters
    ----------
    piece : Specimen
    botched : bool
        Whether tests go wrong at the stated rates.
    table : bool
        Whether a weighing is written down as a density.
    """

    def __init__(self, piece: Specimen, *, botched: bool = False, table: bool = True) -> None:
        self._piece, self._rng, self._botched, self._table = piece, piece.rng, botched, table
        self._errors: dict[object, float] = {}
        self._stuck: dict[str, bool] = {}
        self.done: list[Entry | Any] = []
        self._slots: list[str] = []

    def error(self, key: object) -> float:
        """Return the standardised error of a jug, thermometer or hand, the same whenever it is used."""
        return self._errors.setdefault(key, float(self._rng.standard_normal()))

    def bad(self, slot: str, chance: float) -> bool:
        """Return whether a test goes wrong; a quarter of what does stays so when it is repeated."""
        if not self._botched:
            return False
        common = simulate.COMMON * chance
        stuck = self._stuck.setdefault(slot, bool(self._rng.random() < common))
        return stuck or bool(self._rng.random() < (chance - common) / (1 - common))

    def cold(self) -> None:
        """Weigh, float in three jugs, feel, look, fold, cut; read the mark where there is one."""
        self.do("density")
        floats = self.do("float water")["outcome"] != "sinks"
        self.do("float alcohol" if floats else "float saturated")
        for slot in ("float brine", "feel", "transparency", "spring_back", "cut_face"):
            self.do(slot)
        if self._piece.kind.marks:
            self.done.append({"test": "mark", "reads": str(self._rng.choice(self._piece.kind.marks))})
            self._slots.append("")  # read once; it says the same again

    def hot(self) -> None:
        """Try chips on a hot plate, and say what the melt is like where there is one."""
        ladder = self.do("plate")
        for slot in MELT_WORDS if "melted_at" in ladder else ():
            self.do(slot)

    def again(self, index: int) -> None:
        """Repeat a test."""
        if self._slots[index]:
            self.do(self._slots[index])

    def do(self, slot: str) -> Entry:
        """Do a test and write down what it shows."""
        kind, _, rest = slot.partition(" ")
        actions = 3 if kind in {"density", "plate"} else 2
        bad = self.bad(slot, 1 - 0.97**actions)
        make = {"density": self._weigh, "float": self._float, "plate": self._plate, "feel": self._feel}.get(kind)
        entry = make(rest, bad=bad) if make else self._word(kind, bad=bad)
        self.done.append(entry)
        self._slots.append(slot)
        return entry

    def _weigh(self, _: str, *, bad: bool) -> Entry:
        """Weigh in air, then in water with a sinker, then the sinker alone."""
        density, volume, water = (
            max(self._piece.value("density"), 0.02),
            self._rng.uniform(2.0, 8.0),
            _jug(JUGS["water"]),
        )
        air, sinker, in_liquid = SCALE * self._rng.standard_normal(3)
        air = max(air + volume * (density - simulate.AIR), SCALE)
        skin = simulate.WETTING * water.density * self._rng.standard_normal()
        shown = volume * (density - water.density - water.u * self.error("water") + skin) + in_liquid - sinker
        if bad:
            wrong = density * math.exp(self._rng.uniform(-0.7, 0.7))
            shown = air * (wrong - water.density) / (wrong - simulate.AIR)
        shown = min(shown, air - 1e-3)
        if not self._table:
            texts = {"in_air": air, "in_liquid": SINKER + sinker + shown, "sinker_in_liquid": SINKER + sinker}
            return {"test": "weighing", "liquid": JUGS["water"]} | {
                name: (round(float(value), 4), SCALE, "g") for name, value in texts.items()
            }
        read = (air * water.density - shown * simulate.AIR) / (air - shown)
        found = air / (read - simulate.AIR)
        own = (SCALE * math.sqrt(2.0), SCALE * (read - water.density) / (read - simulate.AIR))
        u = math.hypot(*own, found * water.density * simulate.WETTING, found * water.u) / found
        u *= (read - simulate.AIR) / (water.density - simulate.AIR)
        return {
            "test": "density",
            "density": (round(float(np.clip(read, 0.006, 2.99)), 5), round(float(u), 6), "g/cm3"),
        }

    def _float(self, jug: str, *, bad: bool) -> Entry:
        made = _jug(JUGS[jug])
        judged = simulate.FLOAT_JUDGEMENT * self._rng.standard_normal()
        over = self._piece.value("density") + judged - made.density - made.u * self.error(jug)
        outcome = "floats" if over < -simulate.HOVER else "sinks" if over > simulate.HOVER else "hovers"
        if bad:
            outcome = str(
                self._rng.choice(list(simulate.OUTLIER_LIKELIHOODS), p=list(simulate.OUTLIER_LIKELIHOODS.values()))
            )
        return {"test": "float", "liquid": JUGS[jug], "outcome": outcome}

    def _plate(self, _: str, *, bad: bool) -> Entry:
        """Try a chip at one temperature after another; a thermometer that reads high calls all too high."""
        seen_at = self._piece.value("softening_temperature") + simulate.THERMOMETER * self.error("thermometer")
        seen_at += math.hypot(simulate.JUDGEMENT, 1.0) * self._rng.standard_normal()
        if bad:
            seen_at = self._rng.uniform(LADDER[0] - 20.0, LADDER[-1] + 20.0)
        passed = sum(seen_at >= step for step in LADDER)
        entry: Entry = {"test": "hot_plate"}
        if passed:
            entry["not_melted_at"] = (float(LADDER[passed - 1]), 1.0, "degC")
        if passed < len(LADDER):
            entry["melted_at"] = (float(LADDER[passed]), 1.0, "degC")
        return entry

    def _feel(self, _: str, *, bad: bool) -> Entry:
        felt = math.log(self._piece.value("flexural_modulus")) - simulate.HAND * self.error("hand")
        felt += simulate.HAND_REPEAT * self._rng.standard_normal()
        word = next(word for word, (low, high) in simulate.FEELS.items() if low <= math.exp(felt) < high)
        return {"test": "feel", "outcome": str(self._rng.choice(list(simulate.FEELS))) if bad else word}

    def _word(self, test: str, *, bad: bool) -> Entry:
        """Say which of a test's words fits."""
        aspect = WORDS.get(test, test)
        outcomes = ASPECTS[aspect] if isinstance(aspect, str) else aspect.outcomes
        index = self._rng.integers(len(outcomes)) if bad else int(self._piece.value(aspect))
        return {"test": test, "outcome": outcomes[index]}

    def follow(self, plan: TestPlan) -> None:
        """Do a test that was advised: what it shows is drawn from its own likelihood at what the piece is like."""
        terms = [term_of(outcome) for outcome in plan.outcomes]
        if self.bad(plan.label, terms[0].outlier):
            chance = np.array([width * term.outlier_likelihood for term, width in zip(terms, plan.widths, strict=True)])
        else:
            at = np.array([self._piece.value(plan.observes)])
            shared = terms[0].shared
            error = None if shared is None else np.array([[self.error(_key(shared.key))]])
            chance = np.array(
                [w * float(np.squeeze(term.likelihood(at, error))) for term, w in zip(terms, plan.widths, strict=True)]
            )
        if not chance.sum() > 0:
            chance[:] = 1.0  # beyond all that the plan foresees
        self.done.append(plan.outcomes[int(self._rng.choice(len(chance), p=chance / chance.sum()))])
        self._slots.append("")


def _key(key: object) -> object:
    """Return under what name an error is held: a jug used before has the error it had."""
    for name, text in JUGS.items():
        if key == _jug(text):
            return name
    return "thermometer" if "thermometer" in str(key) else "hand" if "hand" in str(key) else key


@functools.cache
def _jug(text: str) -> Liquid:
    return parse_liquid(text)


def observations_of(done: Iterable[Entry | Any]) -> list[Any]:
    """Return entries as :func:`resinid.identify` takes them: readings as texts."""
    return [
        {key: f"{one[0]!r} ± {one[1]!r} {one[2]}" if isinstance(one, tuple) else one for key, one in entry.items()}
        if isinstance(entry, dict)
        else entry
        for entry in done
    ]


def frame_of(pieces: Sequence[Sequence[Entry]]) -> pd.DataFrame:
    """Return the entries of many pieces as a table, a row a piece."""
    rows: list[dict[str, Any]] = []
    for done in pieces:
        seen: Counter[str] = Counter()
        row: dict[str, Any] = {}
        for entry in done:
            test = entry["test"]
            seen[test] += 1
            label = test if seen[test] == 1 else f"{test}#{seen[test]}"
            for key, one in entry.items():
                if isinstance(one, tuple):
                    row[f"{label}.{key} [{one[2]}]"], row[f"{label}.{key}_u [{one[2]}]"] = one[:2]
                elif key != "test":
                    row[f"{label}.{key}"] = one
        rows.append(row)
    return pd.DataFrame(rows)
