"""Pictures of one piece: its readings among the resins, and the ranking."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import Fault, InputError, safe_repr
from resinid.heating.temperatures import barred_resins
from resinid.identification.result import Result
from resinid.identification.score import model_of
from resinid.io.arguments import check_counts, check_kind
from resinid.plot.look import LEADER, OTHER, READING, axes_or_new, draw_baths, named, tidy
from resinid.report.property_spans import baths_of, drawn_range, drawn_reading, reference_of, spans_of
from resinid.report.text import TITLES, percent, unit_of
from resinid.scoring.latents import AXES
from resinid.scoring.prior import NONE_OF_THESE

if TYPE_CHECKING:
    from matplotlib.axes import Axes

    from resinid.arrays import Array
    from resinid.reference.table import ReferenceTable
    from resinid.report.property_spans import Span


__all__ = ["draw_probabilities", "draw_standing"]

SHOWN: Final = 8
HIGH: Final = 0.82
"""Height of the tallest shape in a row of height one."""

LIKELY: Final = 0.01
"""Resins at least this probable have their middle on the axis."""

BESIDE: Final = 0.3
"""A number beside a bar needs less room than this; a diamond closer than that pushes it along."""


def draw_standing(
    answer: Result,
    name: str = "density",
    *,
    shown: int = SHOWN,
    reference: ReferenceTable | None = None,
    ax: Axes | None = None,
) -> Axes:
    """Draw where a piece's readings of a property lie among the most probable resins.

    Parameters
    ----------
    answer : Result
    name : {"density", "softening_temperature", "flexural_modulus"}, optional
    shown : int, optional
        How many resins.
    reference : ReferenceTable, optional
        The table the answer was made with, where it is not the package's own.
    ax : matplotlib.axes.Axes, optional
        Where to draw; on a new figure of pyplot's where not given.

    Returns
    -------
    matplotlib.axes.Axes
        The one drawn on. Horizontal: the property in its unit. Each row is a resin's
        distribution over its pieces, as high as its peak allows; the lowest is the
        likelihood of the readings. Liquids are numbered lines.

    Raises
    ------
    InputError
        No such property or number of resins; what is no answer, or one made with another table.

    Examples
    --------
    >>> import resinid
    >>> from matplotlib.figure import Figure
    >>> seen = [{"test": "float", "liquid": "water", "outcome": "floats"}]
    >>> axes = draw_standing(resinid.identify(seen), ax=Figure().add_subplot())
    >>> axes.get_xlabel()
    'Density [g/cm³]'
    """
    check_kind("answer", answer, Result, "resinid.identify")
    check_counts(shown=shown)
    chosen = reference_of(answer, reference)
    given: object = name
    if not isinstance(given, str) or given not in AXES:
        raise InputError(
            [Fault("name", f"{safe_repr(name, 50)} is no measured property; expected one of {', '.join(AXES)}")]
        )
    resins = [resin for resin in answer.resins if resin != NONE_OF_THESE][:shown]
    spans = spans_of(chosen, name, resins)
    reading = drawn_reading(answer.observations, name, chosen)
    baths = baths_of(answer.observations) if name == "density" else ()
    likely = [span for span in spans if answer[span.resin] >= LIKELY] or spans[:1]
    low, high, logarithmic = drawn_range(name, likely, reading, baths)
    axes = axes_or_new(ax)
    if logarithmic:
        axes.set_xscale("log")
    axes.set_xlim(low, high)
    rows = len(spans) + (1 if reading else 0)
    model = model_of(chosen)
    latent = model.latent(name)
    finite = np.isfinite(latent.values)
    values = latent.values[finite]
    measure = np.log(values) if logarithmic else values
    shapes = (model.gathering.T @ latent.mass)[:, finite] / np.gradient(measure)
    for place, span in enumerate(spans):
        base = rows - 1.0 - place
        _shape(axes, span, values, shapes[model.candidates.index(span.resin)], base, leader=place == 0)
    labels = [f"{named(span.resin)}  {percent(answer[span.resin])}" for span in spans]
    if reading:
        axes.fill_between(
            reading.values,
            HIGH * reading.relative,
            facecolor="white",
            edgecolor=READING,
            hatch="////",
            linewidth=1.4,
            zorder=2,
        )
        labels.append("the readings")
    axes.set_yticks([rows - 1.0 - place + 0.25 for place in range(rows)], labels)
    axes.tick_params(axis="y", length=0)
    axes.set_ylim(-0.02, rows)
    axes.set_xlabel(f"{TITLES[name]} [{unit_of(name)}]")
    axes.set_ylabel("Resin and its probability [%]")
    tidy(axes)
    draw_baths(axes, [bath for bath in baths if low <= bath.liquid.density <= high])
    return axes


def _shape(axes: Axes, span: Span, values: Array, shape: Array, base: float, *, leader: bool) -> None:
    low, high = axes.get_xlim()
    if span.absent:
        axes.annotate(span.absent, (0.02, base + 0.2), xycoords=("axes fraction", "data"), fontsize=8)
        return
    inside = (values >= low) & (values <= high)
    top = float(shape[inside].max()) if inside.any() else 0.0
    if top <= 0.0:
        axes.annotate("beyond the axis", (0.02, base + 0.2), xycoords=("axes fraction", "data"), fontsize=8)
        return
    line = "-" if span.stated else "--"
    axes.fill_between(
        values, base, base + HIGH * shape / top, color=LEADER if leader else OTHER, edgecolor="black",
        linewidth=0.8, linestyle=line, zorder=2,
    )  # fmt: skip
    if low <= span.middle <= high:
        axes.plot([span.middle] * 2, [base, base + 0.25], color="white" if leader else "black", linewidth=1.4, zorder=3)


def draw_probabilities(
    answer: Result, *, shown: int = SHOWN, reference: ReferenceTable | None = None, ax: Axes | None = None
) -> Axes:
    """Draw the ranking as bars; resins that must not be heated are hatched and marked with a word.

    Parameters
    ----------
    answer : Result
    shown : int, optional
        How many resins; the others are one bar.
    reference : ReferenceTable, optional
        The table the answer was made with, where it is not the package's own.
    ax : matplotlib.axes.Axes, optional
        Where to draw; on a new figure of pyplot's where not given.

    Returns
    -------
    matplotlib.axes.Axes
        The one drawn on. Diamonds are the probabilities before the observations.

    Raises
    ------
    InputError
        No such number of resins; what is no answer, or one made with another table.
    """
    check_kind("answer", answer, Result, "resinid.identify")
    check_counts(shown=shown)
    chosen = reference_of(answer, reference)
    barred = dict(zip(model_of(chosen).candidates, [*barred_resins(chosen).tolist(), 0.0], strict=True))
    names = list(answer.resins[:shown])
    after, before = [*answer.probability[:shown]], [*answer.prior[:shown]]
    if len(answer.resins) > shown:
        names.append(f"{len(answer.resins) - shown} others")
        after.append(sum(answer.probability[shown:]))
        before.append(sum(answer.prior[shown:]))
    axes = axes_or_new(ax)
    places = np.arange(len(names))
    for place, name, share in zip(places.tolist(), names, after, strict=True):
        stop = barred.get(name, 0.0) > 0
        axes.barh(
            place, 100 * share, height=0.7, color=LEADER if place == 0 else OTHER, edgecolor="black", linewidth=0.8,
            hatch="xxx" if stop else None,
        )  # fmt: skip
        near = share < before[place] < share + BESIDE
        right = 100 * (before[place] if near else share)
        said = f"{percent(share)}{'  do not heat' if stop else ''}"
        axes.annotate(said, (right, place), xytext=(7, 0), textcoords="offset points", va="center", fontsize=9)
    axes.plot(
        [100 * share for share in before], places, "D", color="white", markeredgecolor="black", markersize=5,
        linestyle="", label="before the observations",
    )  # fmt: skip
    axes.set_yticks(places, [named(name) for name in names])
    axes.tick_params(axis="y", length=0)
    axes.invert_yaxis()
    axes.set_xlim(0.0, max(60.0, 100 * max(*after, *before)) * 1.28)
    axes.set_xticks([tick for tick in (0, 20, 40, 60, 80, 100) if tick <= axes.get_xlim()[1]])
    axes.set_xlabel("Probability [%]")
    axes.set_ylabel("Resin")
    axes.legend(loc="upper center", bbox_to_anchor=(0.5, -0.13), frameon=False, fontsize=8)
    tidy(axes)
    return axes
