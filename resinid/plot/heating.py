"""At which temperatures a piece may be melted: what flows there, and what must not be heated there."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.heating.rule import MELTED
from resinid.heating.temperatures import TEMPERATURES
from resinid.identification.result import Result
from resinid.identification.score import Setting, score_piece
from resinid.io.arguments import check_kind
from resinid.plot.look import LEADER, READING, axes_or_new, tidy
from resinid.report.property_spans import reference_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from resinid.reference.table import ReferenceTable

__all__ = ["draw_heating"]

LEAST: Final = 0.01
"""[%] Chances below this are drawn there."""


def draw_heating(answer: Result, *, reference: ReferenceTable | None = None, ax: Axes | None = None) -> Axes:
    """Draw against the temperature how likely a piece flows unharmed there, and how likely it must not be heated.

    Parameters
    ----------
    answer : Result
    reference : ReferenceTable, optional
        The table the answer was made with, where it is not the package's own.
    ax : matplotlib.axes.Axes, optional
        Where to draw; on a new figure of pyplot's where not given.

    Returns
    -------
    matplotlib.axes.Axes
        The one drawn on. Both lines are the graver over all ways of taking the evidence but those of readings that
        contradict each other; a band marks where the piece may be melted, and there is none where it may not.

    Raises
    ------
    InputError
        What is no answer, or one made with another table.
    """
    check_kind("answer", answer, Result, "resinid.identify")
    chosen = reference_of(answer, reference)
    setting = Setting.of(chosen, dict(zip(answer.resins, answer.prior, strict=True)), answer.danger_limit)
    scored, _ = score_piece(setting, answer.observations)
    rule = setting.rule
    own = np.array([view.probability for view in scored.views])
    chances = np.vstack([own, [rule.reweighed(each, setting.prior) for each in own]])
    hazard = np.maximum(100.0 * (chances @ rule.temperatures.hazard.T).max(axis=0), LEAST)
    melts = np.maximum(100.0 * (chances @ rule.temperatures.melts.T).min(axis=0), LEAST)
    axes = axes_or_new(ax)
    axes.plot(TEMPERATURES, melts, color=LEADER, marker="o", markersize=3, label="flows unharmed, at least")
    axes.plot(TEMPERATURES, hazard, color=READING, linestyle="--", label="must not be heated, at most")
    axes.axhline(100.0 * MELTED, color="black", linewidth=0.8, linestyle=":")
    axes.axhline(100.0 * answer.danger_limit, color="black", linewidth=0.8, linestyle=(0, (5, 3)))
    axes.annotate(
        "asked for",
        (1.0, 100.0 * MELTED),
        xycoords=("axes fraction", "data"),
        fontsize=8,
        ha="right",
        xytext=(0, 2),
        textcoords="offset points",
        va="bottom",
    )
    axes.annotate(
        "borne",
        (1.0, 100.0 * answer.danger_limit),
        xycoords=("axes fraction", "data"),
        fontsize=8,
        ha="right",
        xytext=(0, 2),
        textcoords="offset points",
        va="bottom",
    )
    if answer.heat.low is not None and answer.heat.high is not None:
        axes.axvspan(answer.heat.low, answer.heat.high, color="#d9d9d9", zorder=0, label="may be melted")
    axes.set_yscale("log")
    axes.set_ylim(LEAST / 2.0, 200.0)
    axes.set_xlabel("Temperature of the melt [°C]")
    axes.set_ylabel("Probability [%]")
    axes.set_title(f"Heating: {answer.heat.headline.partition(',')[0].partition(':')[0]}", fontsize=10)
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.17), frameon=False, fontsize=8, ncols=3)
    tidy(axes)
    return axes
