"""Pictures of bags: what one consists of, and what becomes of every two of a stock."""

from __future__ import annotations

from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from resinid.batches.composition import Composition
from resinid.batches.outcome import DELAMINATES, HEATS_APART, LIMITS, ONE_MELT
from resinid.batches.stock import StockMatrix
from resinid.heating.verdict import DO_NOT_HEAT, NOT_YET
from resinid.io.arguments import check_counts, check_kind
from resinid.plot.look import LEADER, LONGEST, OTHER, READING, axes_or_new, named, tidy
from resinid.report.style import OKABE_ITO
from resinid.report.text import SHORT, percent

if TYPE_CHECKING:
    from matplotlib.axes import Axes

__all__ = ["draw_composition", "draw_pairs"]

BESIDE: Final = ("axes fraction", "data")
"""Coordinates of what stands in the margin beside a row."""

CELLS: Final = MappingProxyType(
    {
        ONE_MELT: ("#ffffff", "", "black"),
        LIMITS: ("#cfe8f7", "...", "black"),
        DELAMINATES: (OKABE_ITO["orange"], "///", "black"),
        HEATS_APART: (OKABE_ITO["orange"], "\\\\\\", "black"),
        NOT_YET: ("#8c8c8c", "xx", "black"),
        DO_NOT_HEAT: ("#000000", "", "white"),
    }
)
"""For each verdict: fill, hatch, and the colour of its word."""


def draw_composition(
    composition: Composition, *, shown: int = 6, contaminants: int = 3, ax: Axes | None = None
) -> Axes:
    """Draw the shares of a bag with their intervals, and how much of each dangerous contaminant may be in it.

    Parameters
    ----------
    composition : Composition
    shown, contaminants : int, optional
        How many resins, and how many dangerous contaminants, to draw.
    ax : matplotlib.axes.Axes, optional
        Where to draw; on a new figure of pyplot's where not given.

    Returns
    -------
    matplotlib.axes.Axes
        The one drawn on. Bars are expected shares, whiskers 95 % credible intervals, diamonds
        the shares expected before looking; below the line, arrows are the upper
        limits of contaminants.

    Raises
    ------
    InputError
        What is no composition, or no number of resins or contaminants.
    """
    check_kind("composition", composition, Composition, "resinid.batch_composition")
    # No contaminant at all is allowed.
    number: object = contaminants
    check_counts(shown=shown, contaminants=None if isinstance(number, int) and number == 0 else contaminants)
    axes = axes_or_new(ax)
    shares, limits = composition.shares[:shown], composition.contaminants[:contaminants]
    for place, share in enumerate(shares):
        axes.barh(
            place,
            100 * share.mean,
            height=0.62,
            color=LEADER if place == 0 else OTHER,
            edgecolor="black",
            linewidth=0.8,
        )
        axes.plot([100 * share.low, 100 * share.high], [place] * 2, color="black", linewidth=3.6, zorder=3)
        axes.plot([100 * share.low, 100 * share.high], [place] * 2, color="white", linewidth=1.4, zorder=4)
        said = f"{percent(share.mean)}  ({percent(share.low)} to {percent(share.high)})"
        axes.annotate(said, (1.02, place), xycoords=BESIDE, va="center", fontsize=8, annotation_clip=False)
    axes.plot(
        [100 * share.before for share in shares], range(len(shares)), "D", color="white", markeredgecolor="black",
        markersize=5, linestyle="", label="expected before looking", zorder=5,
    )  # fmt: skip
    for place, contaminant in enumerate(limits, start=len(shares)):
        limit = 100 * contaminant.limit
        axes.plot([0, limit], [place] * 2, color=READING, linewidth=1.6, linestyle="--")
        axes.plot(limit, place, marker=9, color=READING, markersize=9, linestyle="")
        said = f"at most {percent(contaminant.limit)}"
        axes.annotate(said, (1.02, place), xycoords=BESIDE, va="center", fontsize=8, annotation_clip=False)
    axes.axhline(len(shares) - 0.5, color="black", linewidth=0.8)
    axes.set_yticks(
        range(len(shares) + len(limits)),
        [named(resin) for resin in (*(s.resin for s in shares), *(s.resin for s in limits))],
    )
    axes.tick_params(axis="y", length=0)
    axes.set_ylim(len(shares) + len(limits) - 0.4, -0.6)
    axes.set_xlim(0, 102)
    axes.set_xlabel("Share of the bag's pieces [%]")
    axes.set_ylabel("Resin")
    head = f"dangerous: upper limits at {100 * composition.level:g} %"
    axes.annotate(head, (0.99, len(shares) - 0.45), xycoords=BESIDE, ha="right", va="top", fontsize=8)
    axes.set_title(f"{named(composition.batch, 2 * LONGEST)}: {composition.items} items looked at", fontsize=10)
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.13), frameon=False, fontsize=8)
    tidy(axes)
    return axes


def draw_pairs(matrix: StockMatrix, *, ax: Axes | None = None) -> Axes:
    """Draw what becomes of every two bags of a stock in equal shares.

    Parameters
    ----------
    matrix : StockMatrix
    ax : matplotlib.axes.Axes, optional
        Where to draw; on a new figure of pyplot's where not given.

    Returns
    -------
    matplotlib.axes.Axes
        The one drawn on. Each cell says its verdict in a word, on a fill and hatch of its own.

    Raises
    ------
    InputError
        What is no such matrix.
    """
    check_kind("matrix", matrix, StockMatrix, "resinid.stock_matrix")
    from matplotlib.patches import Patch, Rectangle

    axes = axes_or_new(ax)
    size = len(matrix.names)
    letters = 9.0 if size <= 8 else max(9.0 - 0.4 * (size - 8), 4.0)
    for row, verdicts in enumerate(matrix.verdicts):
        for column, verdict in enumerate(verdicts):
            colour, hatch, ink = CELLS[verdict]
            edge = "0.6" if ink == "white" else "black"
            axes.add_patch(Rectangle((column, row), 1, 1, facecolor=colour, hatch=hatch, edgecolor=edge, linewidth=0.8))
            axes.text(
                column + 0.5, row + 0.5, SHORT[verdict], ha="center", va="center", color=ink,
                fontsize=letters, fontweight="bold" if ink == "white" else None,
                bbox={"facecolor": colour, "edgecolor": "none", "pad": 1.2},
            )  # fmt: skip
    axes.set_xlim(0, size)
    axes.set_ylim(size, 0)
    middles = [place + 0.5 for place in range(size)]
    names = [named(name) for name in matrix.names]
    axes.set_xticks(middles, names, rotation=30, ha="right", rotation_mode="anchor")
    axes.set_yticks(middles, names)
    axes.tick_params(length=0)
    axes.set_xlabel("Bag")
    axes.set_ylabel("Bag")
    axes.set_title("Every two in equal shares; each by itself on the diagonal", fontsize=10)
    handles = [
        Patch(facecolor=colour, hatch=hatch, edgecolor="black", label=f"{SHORT[verdict]}: {verdict}")
        for verdict, (colour, hatch, _) in CELLS.items()
    ]
    axes.legend(handles=handles, loc="upper left", bbox_to_anchor=(1.01, 1.0), frameon=False, fontsize=8)
    return axes
