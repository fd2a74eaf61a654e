"""The picture of heating says what the verdict says."""

from __future__ import annotations

import numpy as np
import pytest
from matplotlib import pyplot as plt
from show_answers import cap

import resinid
from resinid.heating.rule import MELTED
from resinid.heating.temperatures import TEMPERATURES


def test_the_band_is_where_both_lines_allow_it() -> None:
    """From the verdict's low to its high enough flows and little enough is a hazard, and just outside not both."""
    answer = cap()
    assert answer.heat.low is not None
    assert answer.heat.high is not None
    axes = resinid.plot.draw_heating(answer)
    melts, hazard = (line.get_ydata() for line in axes.get_lines()[:2])
    fits = (np.asarray(melts) >= 100 * MELTED) & (np.asarray(hazard) <= 100 * answer.danger_limit)
    inside = (answer.heat.low <= TEMPERATURES) & (answer.heat.high >= TEMPERATURES)
    assert np.array_equal(fits, inside)
    assert "[%]" in axes.get_ylabel()
    plt.close("all")


def test_a_hazard_has_no_band() -> None:
    answer = resinid.identify([{"test": "density", "density": "1.39 ± 0.01 g/cm3"}])
    axes = resinid.plot.draw_heating(answer)
    assert not answer.heat.allowed
    assert "may be melted" not in axes.get_legend_handles_labels()[1]
    # Where it is coolest, before any fume, the line is what must not be heated at all.
    assert float(np.min(axes.get_lines()[1].get_ydata())) == pytest.approx(100 * answer.heat.hazard, rel=1e-6)
    plt.close("all")
