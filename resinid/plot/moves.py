"""How each test moved the ranking."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from resinid.identification.identify import identify
from resinid.identification.result import Result
from resinid.io.arguments import check_kind
from resinid.plot.look import FILLS, REST, axes_or_new, named, observation_label, tidy
from resinid.report.property_spans import reference_of

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from resinid.plot.look import Fill
    from resinid.reference.table import ReferenceTable

__all__ = ["draw_moves"]

MOST_STEPS: Final = 12
NARROW: Final = 9.0
"""[%] A part of a bar narrower than this cannot hold a name."""


def draw_moves(answer: Result, *, reference: ReferenceTable | None = None, ax: Axes | None = None) -> Axes:
    """Draw how each test moved the ranking: one bar before, then one after each observation in turn.

    Parameters
    ----------
    answer : Result
        Of up to twelve observations; of more, the first steps are left out.
    reference : ReferenceTable, optional
        The table the answer was made with, where it is not the package's own.
    ax : matplotlib.axes.Axes, optional
        Where to draw; on a new figure of pyplot's where not given.

    Returns
    -------
    matplotlib.axes.Axes
        The one drawn on. The parts of a bar are the resins' probabilities given the
        observations down to that row. The five resins that matter most have fills and
        hatches of their own, the others are one pale part.

    Raises
    ------
    InputError
        What is no answer, or one made with another table.
    """
    check_kind("answer", answer, Result, "resinid.identify")
    chosen = reference_of(answer, reference)
    prior = dict(zip(answer.resins, answer.prior, strict=True))
    count = len(answer.observations)
    first = max(count - MOST_STEPS, -1) + 1 if count > MOST_STEPS else 0
    steps = [identify(answer.observations[:upto], prior=prior, reference=chosen) for upto in range(first, count + 1)]
    labels = ["before" if first == 0 else f"after {first} tests"]
    labels += [observation_label(observation) for observation in answer.observations[first:]]
    best = {resin: max(step[resin] for step in steps) for resin in answer.resins}
    kept = sorted(answer.resins, key=lambda resin: (-answer[resin], -best[resin]))[:3]
    kept += sorted((r for r in answer.resins if r not in kept), key=lambda resin: -best[resin])[: len(FILLS) - 3]
    axes = axes_or_new(ax)
    for place, step in enumerate(steps):
        left = 0.0
        for resin, fill in zip(kept, FILLS, strict=True):
            _part(axes, place, left, 100 * step[resin], resin, fill)
            left += 100 * step[resin]
        _part(axes, place, left, 100.0 - left, "others", REST)
    axes.set_yticks(range(len(steps)), labels)
    axes.tick_params(axis="y", length=0, labelsize=8)
    axes.invert_yaxis()
    axes.set_xlim(0.0, 100.0)
    axes.set_xlabel("Probability after that test [%]")
    axes.set_ylabel("Tests, in the order given")
    tidy(axes)
    handles, names = axes.get_legend_handles_labels()
    axes.legend(
        handles, names, loc="upper center", bbox_to_anchor=(0.5, -0.15), ncols=3, frameon=False, fontsize=8,
        handlelength=2.4, handleheight=1.2,
    )  # fmt: skip
    return axes


def _part(  # noqa: PLR0917 - all of it is one part of a bar
    axes: Axes, place: int, left: float, width: float, name: str, fill: Fill
) -> None:
    axes.barh(
        place, width, left=left, height=0.66, color=fill.colour, edgecolor="black", linewidth=0.7, hatch=fill.hatch,
        label=named(name) if place == 0 else None,
    )  # fmt: skip
    if width >= NARROW:
        axes.text(
            left + width / 2, place, named(name), ha="center", va="center", fontsize=8,
            bbox={"facecolor": "white", "edgecolor": "none", "pad": 1.2},
        )  # fmt: skip
