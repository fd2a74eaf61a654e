"""The picture on the bench sheet, as inline SVG made by hand: it needs no plotting library."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.report.markup import el
from resinid.report.property_spans import baths_of, drawn_range, drawn_reading, spans_of
from resinid.report.text import TITLES, percent, unit_of
from resinid.scoring.prior import NONE_OF_THESE

if TYPE_CHECKING:
    from collections.abc import Sequence
    from xml.etree.ElementTree import Element

    from resinid.identification.result import Result
    from resinid.reference.table import ReferenceTable
    from resinid.report.property_spans import BathOutcome, DrawnReading, Span

__all__ = ["said", "standing_picture", "ticks"]

WIDTH: Final = 680.0
LEFT: Final = 150.0
RIGHT: Final = 668.0
ROW: Final = 21.0
SEEN: Final = 34.0
LANE: Final = 15.0
LETTER: Final = 6.6
TIP: Final = 7.0
"""[px] Sizes of the picture; a letter's width is what a common screen font needs at 12 px, and a little more."""

POINTS: Final = 160
MOST_BATHS: Final = 6
RESINS: Final = 6


@dataclass(frozen=True, slots=True)
class _Axis:
    low: float
    high: float
    logarithmic: bool

    def at(self, value: float) -> float:
        """Return the place of a value across the picture, kept within it."""
        low, high, here = self.low, self.high, min(max(value, self.low), self.high)
        if self.logarithmic:
            low, high, here = math.log(low), math.log(high), math.log(here)
        return LEFT + (RIGHT - LEFT) * (here - low) / (high - low)


def ticks(low: float, high: float, *, logarithmic: bool = False) -> tuple[float, ...]:
    """Return round values between two, some five of them.

    Examples
    --------
    >>> [round(tick, 2) for tick in ticks(0.89, 1.01)]
    [0.9, 0.92, 0.94, 0.96, 0.98, 1.0]
    >>> ticks(90.0, 1500.0, logarithmic=True)
    (100.0, 200.0, 500.0, 1000.0)
    """
    if logarithmic:
        decades = range(math.floor(math.log10(low)), math.ceil(math.log10(high)) + 1)
        found = [digit * 10.0**power for power in decades for digit in (1, 2, 5)]
        kept = [value for value in found if low <= value <= high]
        return tuple(kept if len(kept) <= 8 else [value for value in kept if math.log10(value) % 1 < 1e-9])
    rough = (high - low) / 5
    power = 10.0 ** math.floor(math.log10(rough))
    step = min((digit * power for digit in (1.0, 2.0, 5.0, 10.0)), key=lambda one: abs(math.log(one / rough)))
    first, last = math.ceil(low / step - 1e-9), math.floor(high / step + 1e-9)
    return tuple(round(number * step, 12) for number in range(first, last + 1))


def standing_picture(
    result: Result, name: str, reference: ReferenceTable, shown: int = RESINS, most_baths: int = MOST_BATHS
) -> Element:
    """Return where the piece's readings of one property lie among the most probable resins.

    The axis holds the readings, the liquids, the leading resin and the middles of the
    others; what lies beyond is cut.

    Parameters
    ----------
    result : Result
    name : {"density", "softening_temperature", "flexural_modulus"}
        Observed at least once.
    reference : ReferenceTable
        The one the result was made with.
    shown, most_baths : int, optional
        How many resins, and how many liquids: those closest to what the readings say.
    """
    listed = [resin for resin in result.resins if resin != NONE_OF_THESE]
    spans = spans_of(reference, name, listed[:shown])
    reading = drawn_reading(result.observations, name, reference)
    baths = _closest(baths_of(result.observations), reading, most_baths) if name == "density" else ()
    axis = _Axis(*drawn_range(name, spans, reading, baths))
    lanes, bath_marks = _bath_labels(baths, axis)
    top = 6.0 + LANE * lanes
    foot = top + ROW * len(spans) + (SEEN if reading else 0.0)
    rows = [part for place, span in enumerate(spans) for part in _row(span, result, axis, top + ROW * place)]
    seen = _seen(reading, axis, foot) if reading else []
    lines = [
        el("line", x1=axis.at(b.liquid.density), x2=axis.at(b.liquid.density), y1=top - 4, y2=foot, class_="bath")
        for b in baths
    ]
    text = said(spans, reading, baths, name)
    height = foot + 40.0
    return el(
        "svg",
        el("title", f"{TITLES[name]} of the piece among the resins"),
        el("desc", text),
        el("defs", _hatch()),
        *lines,
        *bath_marks,
        *rows,
        *seen,
        *_scale(axis, name, foot),
        viewBox=f"0 0 {WIDTH:g} {height:g}",
        width="100%",
        role="img",
        aria_label=f"{TITLES[name]} of the piece among the resins. {text}",
    )


def _closest(baths: Sequence[BathOutcome], reading: DrawnReading | None, most: int) -> tuple[BathOutcome, ...]:
    if reading is None:
        return tuple(baths[:most])
    best = float(np.median(reading.values[reading.relative > 0.99]))
    kept = sorted(baths, key=lambda bath: abs(bath.liquid.density - best))[:most]
    return tuple(bath for bath in baths if bath in kept)


def said(spans: Sequence[Span], reading: DrawnReading | None, baths: Sequence[BathOutcome], name: str) -> str:
    """Return in words what the picture shows."""
    unit = unit_of(name)
    parts: list[str] = []
    if reading:
        low, high = reading.low, reading.high
        if math.isinf(low) and math.isinf(high):
            parts.append("The readings exclude no value.")
        elif math.isinf(low):
            parts.append(f"The readings agree with values up to {high:.4g} {unit}.")
        elif math.isinf(high):
            parts.append(f"The readings agree with values from {low:.4g} {unit}.")
        else:
            parts.append(f"The readings agree with {low:.4g} to {high:.4g} {unit}.")
    parts += [
        f"{span.resin}: {span.low:.4g} to {span.high:.4g} {unit}."
        if span.stated and not span.absent
        else f"{span.resin}: {span.absent or 'no data'}."
        for span in spans
    ]
    parts += [f"It {bath.outcome} in {bath.liquid.label} ({bath.liquid.density:.4f} {unit})." for bath in baths]
    return " ".join(parts)


def _row(span: Span, result: Result, axis: _Axis, top: float) -> list[Element]:
    leader = span.resin == result.leader
    middle = top + ROW / 2
    name = el(
        "text",
        f"{span.resin}  {percent(result[span.resin])}",
        x=LEFT - 10,
        y=middle + 4,
        text_anchor="end",
        class_="strong" if leader else None,
    )
    if span.absent:
        return [name, el("text", span.absent, x=LEFT + 4, y=middle + 4)]
    box = el(
        "path",
        d=_box(axis, span, middle),
        class_="bar" if leader else "other",
        stroke_dasharray=None if span.stated else "3 3",
    )
    parts = [name, box]
    if axis.low <= span.middle <= axis.high:
        centre = axis.at(span.middle)
        parts.append(el("line", x1=centre, x2=centre, y1=middle - 9, y2=middle + 9, class_="tick"))
    return parts


def _box(axis: _Axis, span: Span, middle: float) -> str:
    """Return the outline of a span; an end that lies beyond the axis is drawn as a point."""
    low, high = axis.at(span.low), axis.at(span.high)
    high = max(high, low + 1.5)
    left = TIP if span.low < axis.low else 0.0
    right = TIP if span.high > axis.high else 0.0
    corners = (
        (low + left, middle - 6),
        (low, middle),
        (low + left, middle + 6),
        (high - right, middle + 6),
        (high, middle),
        (high - right, middle - 6),
    )
    return f"M{' L'.join(f'{x:.1f},{y:.1f}' for x, y in corners)} Z"


def _seen(reading: DrawnReading, axis: _Axis, foot: float) -> list[Element]:
    grid = np.linspace(0.0, 1.0, POINTS)
    low, high = axis.low, axis.high
    values = low * (high / low) ** grid if axis.logarithmic else low + (high - low) * grid
    # The readings' own nodes near their best value, so that a sharp one is not drawn blunt.
    inside = reading.values[(reading.values > low) & (reading.values < high)]
    sharp = inside[np.interp(inside, reading.values, reading.relative) > 0.01]
    values = np.unique(np.concatenate([values, sharp[:: max(sharp.size // POINTS, 1)]]))
    heights = np.interp(values, reading.values, reading.relative)
    points = [f"{axis.at(v):.1f},{foot - (SEEN - 8) * h:.1f}" for v, h in zip(values.tolist(), heights, strict=True)]
    line = " L".join(points)
    return [
        el("path", d=f"M{LEFT:.1f},{foot:.1f} L{line} L{RIGHT:.1f},{foot:.1f} Z", class_="seen"),
        el("path", d=f"M{line}", class_="curve"),
        el("text", "the readings", x=LEFT - 10, y=foot - 8, text_anchor="end", class_="strong"),
    ]


def _hatch() -> Element:
    stripe = el("line", x1=0, y1=0, x2=0, y2=6, class_="hatch")
    return el("pattern", stripe, id="resinid-hatch", width=5, height=6, patternUnits="userSpaceOnUse",
              patternTransform="rotate(45)")  # fmt: skip


def _bath_labels(baths: Sequence[BathOutcome], axis: _Axis) -> tuple[int, list[Element]]:
    """Return how many lanes the names of the liquids need so that none lies on another, and the names."""
    taken: list[float] = []
    placed: list[tuple[float, int, str]] = []
    for bath in baths:
        text = f"{bath.outcome} in {bath.liquid.label} {bath.liquid.density:.4f}"
        width = LETTER * len(text)
        left = min(max(axis.at(bath.liquid.density) - width / 2, 2.0), WIDTH - width - 2)
        lane = next((place for place, end in enumerate(taken) if end + 8 < left), len(taken))
        taken[lane : lane + 1] = [left + width]
        placed.append((left, lane, text))
    return len(taken), [el("text", text, x=left, y=LANE * (len(taken) - lane) - 1) for left, lane, text in placed]


def _scale(axis: _Axis, name: str, foot: float) -> list[Element]:
    found = ticks(axis.low, axis.high, logarithmic=axis.logarithmic)
    digits = max((len(f"{tick:g}".partition(".")[2]) for tick in found), default=0)
    marks = [el("line", x1=LEFT, x2=RIGHT, y1=foot, y2=foot, class_="axis")]
    for tick in found:
        x = axis.at(tick)
        marks.append(el("line", x1=x, x2=x, y1=foot, y2=foot + 5, class_="axis"))
        marks.append(el("text", f"{tick:.{digits}f}", x=x, y=foot + 18, text_anchor="middle"))
    title = f"{TITLES[name]} [{unit_of(name)}]"
    return [*marks, el("text", title, x=(LEFT + RIGHT) / 2, y=foot + 34, text_anchor="middle")]
