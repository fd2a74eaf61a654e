"""What the pictures have in common: fills that differ in colour, lightness and hatch, and labels that keep apart."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from resinid.methods._guard import describe
from resinid.report.style import OKABE_ITO

if TYPE_CHECKING:
    from collections.abc import Sequence

    from matplotlib.axes import Axes

    from resinid.methods.contract import Observation
    from resinid.report.property_spans import BathOutcome

__all__ = [
    "FILLS",
    "LEADER",
    "LINES",
    "OTHER",
    "READING",
    "REST",
    "Fill",
    "axes_or_new",
    "draw_baths",
    "named",
    "observation_label",
    "tidy",
]


@dataclass(frozen=True, slots=True)
class Fill:
    """A colour, and a hatch that tells it from the others in grey."""

    colour: str
    hatch: str


FILLS: Final = (
    Fill(OKABE_ITO["blue"], ""),
    Fill(OKABE_ITO["orange"], "///"),
    Fill(OKABE_ITO["bluish green"], "..."),
    Fill(OKABE_ITO["yellow"], "\\\\\\"),
    Fill(OKABE_ITO["reddish purple"], "xxx"),
)
REST: Final = Fill("#f2f2f2", "")
LEADER: Final = OKABE_ITO["blue"]
OTHER: Final = "#d9d9d9"
READING: Final = OKABE_ITO["vermillion"]
LINES: Final = ("-", "--", "-.", ":", (0, (6, 1, 1, 1, 1, 1)))

LONGEST: Final = 26
"""[characters] A longer name would run into what stands beside it, and is cut."""

CLOSE: Final = 0.035
"""Share of the axis within which two numbers beside each other would touch."""


def axes_or_new(ax: Axes | None) -> Axes:
    """Return the axes to draw on: those given, else of a new figure of pyplot's."""
    if ax is not None:
        return ax
    from matplotlib import pyplot as plt

    return plt.figure(layout="constrained").add_subplot()


def tidy(axes: Axes) -> None:
    """Take away what says nothing: the frame above and to the right."""
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)


def named(name: str, longest: int = LONGEST) -> str:
    r"""Return a name as it is drawn: in one line, cut short, and no part of it taken for a formula.

    Examples
    --------
    >>> print(named("5 $ box"), named("a very long name of a bag of caps"))
    5 \$ box a very long name of a bag…
    """
    plain = " ".join(name.split())
    cut = plain if len(plain) <= longest else f"{plain[: longest - 1].rstrip()}…"
    return cut.replace("$", r"\$")


def observation_label(observation: Observation, width: int = 26) -> str:
    """Return what an observation says, broken into short lines."""
    import textwrap

    return "\n".join(map(named, textwrap.wrap(describe(observation), width, max_lines=3, placeholder="...")))


def draw_baths(axes: Axes, baths: Sequence[BathOutcome]) -> None:
    """Draw liquids as numbered lines across an axis of densities, and say below it which is which."""
    from matplotlib.lines import Line2D

    low, high = axes.get_xlim()
    handles: list[Line2D] = []
    last, level = -1e9, 0
    for number, bath in enumerate(baths, start=1):
        place = (bath.liquid.density - low) / (high - low)
        level = (level + 1) % 3 if place - last < CLOSE else 0
        last = place
        axes.axvline(bath.liquid.density, color="black", linewidth=1.0, linestyle=(0, (5, 3)), zorder=3)
        axes.annotate(
            f"{number}", (place, 1.0), xycoords="axes fraction", xytext=(0, 3 + 9 * level),
            textcoords="offset points", ha="center", va="bottom", fontsize=8, fontweight="bold",
        )  # fmt: skip
        said = f"{bath.outcome} in {named(bath.liquid.label, 2 * LONGEST)} ({bath.liquid.density:.4f} g/cm³)"
        handles.append(Line2D([], [], color="black", marker=f"${number}$", markersize=6, linestyle="", label=said))
    if handles:
        axes.legend(
            handles=handles, loc="upper center", bbox_to_anchor=(0.5, -0.17), frameon=False, fontsize=8,
            ncols=1 if len(handles) < 5 else 2, handletextpad=0.2,
        )  # fmt: skip
