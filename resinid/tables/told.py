"""Each piece's verdict, temperatures, melt group, hazard and faults, beside its probabilities.

Where a test that may not clear a piece was done, the piece is scored again by those that may, and where there were
several such, by those and each of them in turn.
"""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from resinid.heating.evidence import clearing
from resinid.tables.answer import TOLD
from resinid.tables.columns import ColumnPlan
from resinid.tables.pieces import Scored, score
from resinid.tables.verdicts import AT_ONCE, DO_NOT, MAY_BE_MELTED, NOT_YET, Hazards

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.identification.score import Setting
    from resinid.tables.buffers import Buffers
    from resinid.tables.readings import Tidied

__all__ = ["judged"]


def judged(tidy: Tidied, setting: Setting, buffers: Buffers, out: Array) -> tuple[dict[str, Any], Scored]:
    """Fill in the probabilities of some pieces; return their verdicts and the like, and how they were scored."""
    frame, plan = tidy.frame, tidy.plan
    # What must not be heated has to be unlikely without marks and the like as well, and with one of several alone.
    own = tuple(done for done in plan.tests if clearing(done.kind, setting.trusted))
    others = tuple(done for done in plan.tests if done not in own)
    clear = [ColumnPlan(own)] * bool(others)
    clear += [ColumnPlan((*own, other)) for other in others] if len(others) > 1 else []
    model = setting.model
    before = setting.prior[model.kind_owner]
    by_kind = buffers.matrix("by kind", len(frame), model.kind_owner.size)
    found = score(frame, plan, model, before, by_kind, buffers=buffers, trusted=setting.trusted)
    errors = {row: "; ".join(messages) for row, messages in sorted(tidy.errors.items())}
    for row, message in found.errors.items():
        # What was no reading is missing to the test, which is no second fault.
        errors.setdefault(row, message)
    tests = _tests_done(found, len(frame))
    unusable = tests == 0
    unusable[list(errors)] = True
    by_kind[unusable] = math.nan
    hazards = Hazards(setting, len(frame), buffers)
    hazards.add(by_kind)
    for some in clear:
        tested = buffers.matrix("by kind of some", *by_kind.shape)
        again = score(frame, some, model, before, tested, buffers=buffers)
        found.left_out.update(again.left_out)
        tested[unusable] = math.nan
        hazards.add(tested)
    verdicts = hazards.judged(replace(found, measured=found.measured & ~unusable), by_kind)
    for begin in range(0, len(out), AT_ONCE):
        out[begin : begin + AT_ONCE] = model.by_candidate(by_kind[begin : begin + AT_ONCE])
    group, chance = _groups(setting, out)
    words = np.array([NOT_YET, DO_NOT, MAY_BE_MELTED], dtype=object)
    cells_of = {
        "verdict": words[np.where(verdicts.allowed, 2, np.where(unusable, found.forbidden, verdicts.shown))],
        "do_not_heat": ~verdicts.allowed,
        "low_degC": verdicts.low,
        "high_degC": verdicts.high,
        "precautions": verdicts.precautions,
        "group": group,
        "group_probability": chance,
        "hazard": np.where(unusable, math.nan, verdicts.hazard),
        "tests": tests,
        "error": np.full(len(frame), None, dtype=object),
    }
    cells_of["error"][list(errors)] = list(errors.values())
    columns = {
        name: pd.Series(cells, dtype=object if TOLD[name] == "text" else None) for name, cells in cells_of.items()
    }
    return columns, replace(found, errors=dict(sorted(errors.items())))


def _tests_done(found: Scored, count: int) -> NDArray[np.int64]:
    """Return how many tests were done on each piece."""
    out = np.zeros(count, dtype=np.int64)
    for test in found.tests:
        done = test.codes >= 0 if test.readings is None else ~np.isnan(test.readings.normals.centre)
        out += done if test.arrays is None else done | test.arrays.done
    return out


def _groups(setting: Setting, probability: Array) -> tuple[Any, Array]:
    """Return the melt group of each piece's most probable resin, None where it has none, and its probability."""
    candidates, groups = setting.model.candidates, setting.model.reference.melt_groups
    names = np.array([*(group.name for group in groups), None], dtype=object)
    of = np.full(len(candidates), len(groups))
    for place, group in reversed(list(enumerate(groups))):
        of[[candidates.index(member) for member in group.members]] = place
    known = ~np.isnan(probability[:, 0])
    which = np.where(known, of[probability.argmax(axis=1)], len(groups))
    chance = np.full(len(probability), math.nan)
    for place, group in enumerate(groups):
        rows = np.flatnonzero(which == place)
        members = np.array([candidates.index(member) for member in group.members])
        chance[rows] = np.minimum(probability[rows[:, None], members].sum(axis=1), 1.0)
    return names[which], chance
