"""Temperature through a slab over time: while it is heated as it is filled in, and while it cools."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import Fault, InputError, safe_repr
from resinid.io.arguments import check_kind
from resinid.melting.slab import followed
from resinid.melting.steps import MeltPlan
from resinid.plot.look import LEADER, LINES, OTHER, READING, axes_or_new, tidy

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from resinid.arrays import Array
    from resinid.melting.steps import Steps

__all__ = ["draw_slab"]

DEPTHS: Final = (("outermost part", 0.0, READING), ("half-way in", 0.5, "black"), ("coldest place", 1.0, LEADER))
"""What is drawn: its name, how far in it lies, and its colour."""


def draw_slab(plan: MeltPlan, *, heating: str = "", cooling: str = "", ax: Axes | None = None) -> Axes:
    """Draw how hot a planned slab is at three depths, over the minutes of heating and of cooling.

    Parameters
    ----------
    plan : MeltPlan
        With steps.
    heating, cooling : str, optional
        Ways as the plan calls them, such as ``"hot-air oven"`` and ``"still air"``; its first ones where not given.
    ax : matplotlib.axes.Axes, optional
        Where to draw; on a new figure of pyplot's where not given.

    Returns
    -------
    matplotlib.axes.Axes
        The one drawn on. Cooling begins, all of it hot, when the coldest place flows; it ends where the mould may be
        opened. Lines across mark both temperatures.

    Raises
    ------
    InputError
        What is no plan, has no steps, or does not know such a way.
    """
    check_kind("plan", plan, MeltPlan, "resinid.melt_plan")
    steps = plan.steps
    if steps is None:
        raise InputError([Fault("plan", f"has no steps to draw: {plan.problem or plan.verdict.verdict}")])
    heated = _way("heating", heating, [each.way for each in steps.heating if each.loose is not None])
    cooled = _way("cooling", cooling, [each.way for each in steps.cooling if each.minutes is not None])
    hot, first = _course(steps, heated)
    cool, last = _course(steps, cooled)
    axes = axes_or_new(ax)
    for (name, depth, colour), line in zip(DEPTHS, LINES, strict=False):
        place = round(depth * (first.shape[1] - 1))
        minutes = np.concatenate([hot, hot[-1] + cool])
        shown = np.concatenate([first[:, place], last[:, place]])
        axes.plot(minutes, shown, color=colour, linestyle=line, label=name)
    axes.axvspan(0.0, hot[-1], color=OTHER, alpha=0.5, zorder=0)
    for at, said in ((steps.melted, "flows"), (steps.opened, "may be opened below")):
        axes.axhline(at, color="black", linewidth=0.8, linestyle=":")
        axes.annotate(
            f"{said} {at:.0f} °C", (0.6, at), xycoords=("axes fraction", "data"), fontsize=8, ha="right",
            xytext=(0, 2), textcoords="offset points", va="bottom",
        )  # fmt: skip
    axes.set_xlim(0.0, hot[-1] + cool[-1])
    axes.set_xlabel("Time [min]; grey: heating")
    axes.set_ylabel("Temperature [°C]")
    axes.set_title(
        f"{steps.thickness:g} mm, {heated} at {steps.heating[0].source:.0f} °C {hot[-1]:.0f} min, then {cooled} "
        f"{cool[-1]:.0f} min",
        fontsize=10,
    )
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.17), frameon=False, fontsize=8, ncols=3)
    tidy(axes)
    return axes


def _way(name: str, asked: str, known: list[str]) -> str:
    if not known or (asked and asked not in known):
        raise InputError([Fault(name, f"{safe_repr(asked, 50)} is none of the plan's: {', '.join(known) or 'none'}")])
    return asked or known[0]


def _course(steps: Steps, way: str) -> tuple[Array, Array]:
    """Return the minutes and temperatures of a way up to the moment at which it has arrived."""
    case = steps.solved[way]
    minutes, found = followed(case)
    innermost, before = found[-1, -1], found[-2, -1]
    share = (case.target - before) / (innermost - before)
    minutes[-1] = minutes[-2] + share * (minutes[-1] - minutes[-2])
    found[-1] = found[-2] + share * (found[-1] - found[-2])
    return minutes, found
