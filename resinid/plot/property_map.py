"""The property map: density against softening temperature, with the reading's ellipse."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

from resinid.identification.result import Result
from resinid.io.arguments import as_tuple, check_kind
from resinid.plot.look import LEADER, READING, axes_or_new, named, tidy
from resinid.report.property_spans import drawn_reading, reference_of, spans_of
from resinid.scoring.prior import NONE_OF_THESE

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from matplotlib.axes import Axes

    from resinid.reference.table import ReferenceTable
    from resinid.report.property_spans import DrawnReading, Span

__all__ = ["ELLIPSE", "draw_property_map"]

ELLIPSE: Final = math.exp(-0.5 * 5.991465)
"""The ellipse's ends lie where the likelihood is this share of the best: the region of a
bivariate normal that holds 95 %. 5.9915 is the 0.95 quantile of chi-squared with two
degrees of freedom, -2 ln 0.05."""

MARKERS: Final = {"semicrystalline": "s", "amorphous": "o", "crosslinked": "^"}
NAMED: Final = 16
PLACES: Final = ((1, 1), (1, -1), (-1, 1), (-1, -1), (0, 1), (0, -1), (1, 0), (-1, 0))
FOAM: Final = 0.8
"""[g/cm3] Lighter pieces are foams: no solid resin is lighter (common practice, no source)."""

FAR: Final = (5.0, 11.0, 18.0, 26.0)
"""[points] How far from its mark a name may be put, nearest first."""

LETTER: Final = (4.7, 9.5)
"""[points] Width of a letter and height of a line at the size names have here."""


def draw_property_map(
    answer: Result,
    *,
    resins: Iterable[str] | None = None,
    reference: ReferenceTable | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Draw density against softening temperature for all resins, and what the readings allow.

    Parameters
    ----------
    answer : Result
    resins : iterable of str, optional
        Which resins to name; the sixteen most probable where not given.
    reference : ReferenceTable, optional
        The table the answer was made with, where it is not the package's own.
    ax : matplotlib.axes.Axes, optional
        Where to draw; on a new figure of pyplot's where not given.

    Returns
    -------
    matplotlib.axes.Axes
        The one drawn on. A mark is the middle of a resin's pieces, its arms run from 5 to 95 %
        of them. The hatched ellipse is the 95 % region of the readings; where they set
        no limit on one side it runs off the map, and without a reading of one of the
        two it is a band.

    Raises
    ------
    InputError
        What is no answer, or one made with another table; resins that are no list.
    UnknownNameError
        A resin that is not in the table.
    """
    check_kind("answer", answer, Result, "resinid.identify")
    chosen = reference_of(answer, reference)
    likely = [resin for resin in answer.resins if resin != NONE_OF_THESE]
    wanted = (
        likely[:NAMED] if resins is None else [chosen.resin(each).symbol for each in as_tuple("resins", resins, "'PP'")]
    )
    heavy = dict(zip(likely, spans_of(chosen, "density", likely), strict=True))
    soft = dict(zip(likely, spans_of(chosen, "softening_temperature", likely), strict=True))
    drawn = [r for r in likely if math.isfinite(soft[r].middle) and math.isfinite(heavy[r].middle)]
    kinds = {resin.symbol: resin.kind for resin in chosen.resins}
    axes = axes_or_new(ax)
    for resin in reversed(drawn):
        known = resin in wanted
        _cross(axes, soft[resin], heavy[resin], MARKERS[kinds[resin]], known=known, leader=resin == answer.leader)
    axes.set_xlabel("Softening temperature on a hot plate [°C]")
    axes.set_ylabel("Density [g/cm³]")
    readings = drawn_reading(answer.observations, "density", chosen)
    _limits(axes, [soft[r] for r in drawn], [heavy[r] for r in drawn], readings)
    _ellipse(axes, answer, chosen)
    bottom = axes.get_ylim()[0]
    placed = [r for r in drawn if r in wanted and heavy[r].middle > bottom]
    _names(axes, placed, soft, heavy, answer.leader)
    rest = [r for r in wanted if r not in placed]
    _legend(axes, rest)
    tidy(axes)
    return axes


def _cross(axes: Axes, across: Span, up: Span, marker: str, *, known: bool, leader: bool) -> None:
    colour = LEADER if leader else "0.25" if known else "0.55"
    axes.plot([across.low, across.high], [up.middle] * 2, color=colour, linewidth=1.6 if leader else 0.8, zorder=2)
    axes.plot([across.middle] * 2, [up.low, up.high], color=colour, linewidth=1.6 if leader else 0.8, zorder=2)
    axes.plot(
        across.middle, up.middle, marker, color=colour if leader else "white", markeredgecolor=colour,
        markersize=7 if leader else 5, zorder=4 if leader else 3,
    )  # fmt: skip


def _limits(axes: Axes, across: Sequence[Span], up: Sequence[Span], reading: DrawnReading | None) -> None:
    """Hold the middles of all, but of foams only where the piece may be one: they would squeeze the rest."""
    least = 0.0 if reading and reading.low < FOAM else FOAM
    kept = [(x.middle, y.middle) for x, y in zip(across, up, strict=True) if y.middle >= least]
    if not kept:
        return
    left, right = min(x for x, _ in kept), max(x for x, _ in kept)
    low, high = min(y for _, y in kept), max(y for _, y in kept)
    axes.set_xlim(left - 0.08 * (right - left) - 5, right + 0.08 * (right - left) + 5)
    axes.set_ylim(low - 0.06 * (high - low) - 0.01, high + 0.08 * (high - low) + 0.01)


def _ellipse(axes: Axes, answer: Result, reference: ReferenceTable) -> None:
    from matplotlib.patches import Ellipse, Rectangle

    across = drawn_reading(answer.observations, "softening_temperature", reference)
    up = drawn_reading(answer.observations, "density", reference)
    if across is None and up is None:
        return
    x = across.limits(ELLIPSE) if across else (-math.inf, math.inf)
    y = up.limits(ELLIPSE) if up else (-math.inf, math.inf)
    look: dict[str, Any] = {"fill": False, "edgecolor": READING, "linewidth": 2.0, "hatch": "//", "zorder": 5}
    if all(map(math.isfinite, (*x, *y))):
        middle = ((x[0] + x[1]) / 2, (y[0] + y[1]) / 2)
        axes.add_patch(Ellipse(middle, x[1] - x[0], y[1] - y[0], **look))
        return
    # Held a little outside the map, so that an open end shows no edge.
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    wide, tall = right - left, high - low
    x = max(x[0], left - wide), min(x[1], right + wide)
    y = max(y[0], low - tall), min(y[1], high + tall)
    axes.add_patch(Rectangle((x[0], y[0]), x[1] - x[0], y[1] - y[0], **look))


def _names(axes: Axes, resins: Sequence[str], soft: dict[str, Span], heavy: dict[str, Span], leader: str) -> None:
    """Put each name where it covers no mark and no other name."""
    box, per_inch = axes.get_window_extent(), axes.figure.dpi
    wide, tall = 72 * box.width / per_inch, 72 * box.height / per_inch
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()

    def points(resin: str) -> tuple[float, float]:
        x, y = soft[resin].middle, heavy[resin].middle
        return wide * (x - left) / (right - left), tall * (y - low) / (high - low)

    taken = [(x - 4, y - 4, x + 4, y + 4) for x, y in map(points, resins)]
    for resin in sorted(resins, key=lambda one: one != leader):
        x, y = points(resin)
        width, height = LETTER[0] * len(resin) + 2, LETTER[1]
        tries = [
            (x + far * dx - (width if dx < 0 else width / 2 if dx == 0 else 0), y + far * dy - height / 2)
            for far in FAR
            for dx, dy in PLACES
        ]
        boxes = [(a, b, a + width, b + height) for a, b in tries]
        within = [b for b in boxes if b[0] > 0 and b[2] < wide and b[1] > 0 and b[3] < tall] or boxes
        best = min(within, key=lambda one: (sum(_overlap(one, other) for other in taken), within.index(one)))
        taken.append(best)
        axes.annotate(
            named(resin), (soft[resin].middle, heavy[resin].middle), xytext=(best[0] - x, best[1] - y + 2),
            textcoords="offset points", fontsize=8, bbox={"facecolor": "white", "edgecolor": "none", "pad": 0.4},
            fontweight="bold" if resin == leader else "normal", zorder=6,
            arrowprops={"arrowstyle": "-", "color": "0.5", "linewidth": 0.6, "shrinkA": 0, "shrinkB": 3}
            if math.hypot(best[0] - x, best[1] - y) > 16 + (width if best[0] < x else 0)
            else None,
        )  # fmt: skip


def _overlap(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    across = min(one[2], other[2]) - max(one[0], other[0])
    up = min(one[3], other[3]) - max(one[1], other[1])
    return across * up if across > 0 and up > 0 else 0.0


def _legend(axes: Axes, rest: Sequence[str]) -> None:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    handles: list[Line2D | Patch] = [
        Line2D([], [], marker=marker, color="0.25", markerfacecolor="white", linewidth=0.8, label=kind)
        for kind, marker in MARKERS.items()
    ]
    handles.append(Patch(fill=False, edgecolor=READING, hatch="///", label="the readings, 95 % region"))
    title = f"Not on the map (foam, never softens, or no data): {', '.join(map(named, rest))}" if rest else None
    axes.legend(
        handles=handles, loc="upper center", bbox_to_anchor=(0.5, -0.13), ncols=4, frameon=False, fontsize=8,
        title=title, title_fontsize=8,
    )  # fmt: skip
