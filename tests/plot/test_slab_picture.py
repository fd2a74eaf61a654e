"""The picture of a slab shows the minutes and temperatures that its plan states."""

from __future__ import annotations

import numpy as np
import pytest
from known_bags import pieces_of
from matplotlib import pyplot as plt

import resinid

CAPS = resinid.Batch.of("caps", marked={"PE-HD": 60}, pieces=pieces_of("PE-HD"), allow=["copper wire"])


def test_the_lines_are_those_of_the_plan() -> None:
    """The coldest place flows when the plan says, where the grey ends, and may be opened at the end of the line."""
    plan = resinid.melt_plan(CAPS, mould="300x200x20 mm", heater="two plates")
    assert plan.steps is not None
    axes = resinid.plot.draw_slab(plan, cooling="still air")
    outer, half, inner = (np.asarray(line.get_data(), dtype=float) for line in axes.get_lines()[:3])
    hot = plan.steps.heating[0].loose
    air = next(each.minutes for each in plan.steps.cooling if each.way == "still air")
    assert hot is not None
    assert air is not None
    assert np.interp(0.999 * hot, *inner) == pytest.approx(plan.steps.melted, abs=1.0)
    assert inner[0, -1] == pytest.approx(hot + air, rel=0.01)
    assert inner[1, -1] == pytest.approx(plan.steps.opened, abs=0.5)
    heating = inner[0] <= hot * 0.999
    assert (outer[1][heating] >= half[1][heating] - 1e-9).all()
    assert (half[1][heating] >= inner[1][heating] - 1e-9).all()
    plt.close("all")


def test_what_cannot_be_drawn_is_told() -> None:
    with pytest.raises(resinid.InputError, match="no steps"):
        resinid.plot.draw_slab(resinid.melt_plan(resinid.Batch.of("caps", marked={"PE-HD": 60})))
    with pytest.raises(resinid.InputError, match="still air"):
        resinid.plot.draw_slab(resinid.melt_plan(CAPS), cooling="a fridge")
