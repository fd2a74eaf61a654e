"""Each resin's distribution of a property, drawn against the published statements behind it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import UnknownNameError, safe_repr
from resinid.io.arguments import as_tuple
from resinid.plot.look import axes_or_new, named
from resinid.reference.mixture import mixture
from resinid.reference.rules import RULES, UNSOURCED
from resinid.reference.table import reference_or_default
from resinid.scoring.normal import normal_density

if TYPE_CHECKING:
    from collections.abc import Iterable

    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

    from resinid.arrays import Array
    from resinid.reference.entries import Statement
    from resinid.reference.mixture import Normal
    from resinid.reference.table import ReferenceTable

__all__ = ["draw_mixture", "mixtures"]

COLUMNS: Final = 5
PANEL: Final = (2.3, 1.6)
"""[inch] Width and height of one small picture."""

TITLES: Final = MappingProxyType(
    {
        "density": "Density [g/cm³]",
        "softening_temperature": "Softening temperature on a hot plate [°C]; marks are the printed transitions",
        "flexural_modulus": "Flexural modulus [MPa]; marks include tensile moduli",
    }
)

TAIL: Final = 3.0
"""Standard deviations of each normal that a picture shows."""

MOST_TICKS: Final = 4

WIDE: Final = 2.5
"""Ratio of largest to smallest value beyond which a logarithmic axis is drawn."""


@dataclass(frozen=True, slots=True)
class _Part:
    """A variant's normals, their weights already times the variant's."""

    variant: str
    normals: tuple[Normal, ...]
    share: float
    never: float


def mixtures(reference: ReferenceTable, latent: str, resins: Iterable[str] | None = None) -> Figure:
    """Draw every resin's mixture of one property as small pictures on one page.

    Parameters
    ----------
    reference : ReferenceTable
    latent : {"density", "softening_temperature", "flexural_modulus"}
    resins : iterable of str, optional
        Symbols or aliases; all resins of the table where not given.

    Returns
    -------
    matplotlib.figure.Figure
        Not shown and bound to no window; use its ``savefig``.

    Raises
    ------
    UnknownNameError
        The table has no such property or resin.
    InputError
        What is no table, or resins that are no list.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> figure = mixtures(default_reference(), "density", ["PE-HD", "PP"])
    >>> len([axes for axes in figure.axes if axes.get_title()])
    2
    """
    from matplotlib.figure import Figure

    _check_latent(latent)
    reference = reference_or_default(reference)
    named_ = reference.symbols if resins is None else as_tuple("resins", resins, "'PP'")
    symbols = tuple(reference.resin(name).symbol for name in named_)
    rows = max(math.ceil(len(symbols) / COLUMNS), 1)
    figure = Figure(figsize=(PANEL[0] * COLUMNS, PANEL[1] * rows + 0.9), layout="constrained")
    figure.suptitle(TITLES[latent], fontsize=11)
    figure.supxlabel(
        "Filled: the resin. Lines: its variants. Bars and dots below: statements, "
        "black from print, hollow from memory or common practice.",
        fontsize=8,
    )
    panels = figure.subplots(rows, COLUMNS, squeeze=False).ravel()
    for axes, symbol in zip(panels, symbols, strict=False):
        draw_mixture(reference, symbol, latent, ax=axes)
    for axes in panels[len(symbols) :]:
        axes.set_axis_off()
    return figure


def draw_mixture(reference: ReferenceTable, resin: str, latent: str, *, ax: Axes | None = None) -> Axes:
    """Draw one resin's mixture of one property and the statements behind it.

    Parameters
    ----------
    reference : ReferenceTable
    resin : str
        Symbol or alias.
    latent : {"density", "softening_temperature", "flexural_modulus"}
    ax : matplotlib.axes.Axes, optional
        Where to draw; on a new figure of pyplot's where not given.

    Returns
    -------
    matplotlib.axes.Axes
        The one drawn on.

    Raises
    ------
    UnknownNameError
        The table has no such property or resin.
    InputError
        What is no table.
    """
    _check_latent(latent)
    reference = reference_or_default(reference)
    symbol = reference.resin(resin).symbol
    axes = axes_or_new(ax)
    axes.set_title(named(symbol), fontsize=8, fontweight="bold", pad=2)
    axes.set_yticks([])
    axes.tick_params(axis="x", labelsize=6, length=2, pad=1)
    for side in ("left", "right", "top"):
        axes.spines[side].set_visible(False)
    parts = _parts(reference, symbol, latent)
    never = math.fsum(part.never for part in parts)
    if not any(part.normals for part in parts):
        axes.set_xticks([])
        axes.spines["bottom"].set_visible(False)
        axes.text(
            0.5, 0.6, "never" if never else "nothing published", transform=axes.transAxes, ha="center", fontsize=7
        )
        return axes
    if never:
        axes.text(0.99, 0.97, f"never: {never:.0%}", transform=axes.transAxes, ha="right", va="top", fontsize=6)
    _curves(axes, parts, latent)
    _statements(axes, parts)
    return axes


def _check_latent(latent: object) -> None:
    if not isinstance(latent, str) or latent not in RULES:
        raise UnknownNameError(f"{safe_repr(latent)} has no distribution; known: {', '.join(RULES)}")


def _parts(reference: ReferenceTable, symbol: str, latent: str) -> list[_Part]:
    out: list[_Part] = []
    for variant in reference.variants:
        if variant.resin == symbol:
            found = mixture(reference, variant, latent)
            out.append(_Part(variant.name, found.normals, variant.weight, found.never * variant.weight))
    return out


def _curves(axes: Axes, parts: list[_Part], latent: str) -> None:
    logarithmic = RULES[latent].logarithmic
    ends = [(n.mean - TAIL * n.sd, n.mean + TAIL * n.sd) for part in parts for n in part.normals]
    coordinates = np.linspace(min(low for low, _ in ends), max(high for _, high in ends), 600)
    values = np.exp(coordinates) if logarithmic else coordinates
    whole = np.zeros_like(coordinates)
    for part in parts:
        curve = part.share * _curve(part.normals, coordinates)
        whole += curve
        axes.plot(values, curve, color="0.35", linewidth=0.6)
    axes.fill_between(values, whole, color="0.82", linewidth=0)
    axes.plot(values, whole, color="0.0", linewidth=0.9)
    top = float(whole.max())
    axes.set_ylim(-0.9 * top, 1.08 * top)
    if logarithmic and values[-1] > WIDE * values[0]:
        axes.set_xscale("log")
    axes.set_xlim(values[0], values[-1])
    _ticks(axes, float(values[0]), float(values[-1]))
    axes.axhline(0.0, color="0.6", linewidth=0.4)


def _curve(normals: tuple[Normal, ...], coordinates: Array) -> Array:
    out = np.zeros_like(coordinates)
    for normal in normals:
        out += normal.weight * normal_density(coordinates - normal.mean, normal.sd)
    return out


def _ticks(axes: Axes, low: float, high: float) -> None:
    """Set at most four round ticks, the same way on a linear and a logarithmic axis."""
    from matplotlib.ticker import FixedLocator, FuncFormatter, LogLocator, MaxNLocator, NullLocator

    log = axes.get_xscale() == "log"
    locator = LogLocator(subs=(1.0, 2.0, 5.0)) if log else MaxNLocator(4)
    margin = 0.04 * (high - low)
    ticks = [tick for tick in locator.tick_values(low, high) if low + margin <= tick <= high - margin or log]
    ticks = [tick for tick in ticks if low <= tick <= high]
    while len(ticks) > MOST_TICKS:
        ticks = ticks[::2]
    digits = max((len(f"{tick:g}".partition(".")[2]) for tick in ticks), default=0)
    axes.xaxis.set_major_locator(FixedLocator(ticks))
    axes.xaxis.set_minor_locator(NullLocator())
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: f"{value:g}" if log else f"{value:.{digits}f}"))


def _statements(axes: Axes, parts: list[_Part]) -> None:
    """Draw one bar or dot a statement, from just under the curve downwards."""
    rows: dict[int, Statement] = {}
    for part in parts:
        for normal in part.normals:
            if normal.statement is not None:
                rows.setdefault(id(normal.statement), normal.statement)
    depth = axes.get_ylim()[0]
    for place, row in enumerate(rows.values(), start=1):
        height = depth * place / (len(rows) + 1)
        colour = "0.55" if row.obtained in UNSOURCED else "0.0"
        fill = "white" if row.obtained in UNSOURCED else colour
        if row.low is not None and row.high is not None:
            axes.plot([row.low, row.high], [height, height], color=colour, linewidth=1.1, solid_capstyle="butt")
        middle = row.typical if row.typical is not None else row.low if row.high is None else None
        if middle is not None:
            axes.plot(middle, height, "o", color=colour, markerfacecolor=fill, markersize=2.6, markeredgewidth=0.6)
