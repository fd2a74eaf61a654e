"""A sheet of one page, its text set as large as fits: estimated before any browser sees it."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

from resinid.report.markup import el, elements, page_of
from resinid.report.style import SHEET, STYLE

if TYPE_CHECKING:
    from collections.abc import Iterable
    from xml.etree.ElementTree import Element

    from resinid.report.sections import Part

__all__ = ["FONT", "PICTURE", "SIDE", "SMALLEST", "fitted_page"]

FONT: Final = 12.0
"""[px] Size of the text where there is room: 9 pt in print."""

SMALLEST: Final = 0.7
"""Least share of that size; a sheet that would need less runs on to a second page."""

PAGE: Final = (718.0, 960.0)
"""[px] Width of A4 and height of Letter within margins of 10 mm, the height less two per cent."""

LETTER: Final = 0.56
"""[em] Width of a letter on average; the widest common screen font (DejaVu Sans) needs this, most need less."""

LINE: Final = 1.4
"""[em] From one line to the next, as the style sheet says."""

PICTURE: Final = 600.0
"""[px] Width of the picture at most."""

SIDE: Final = (0.54, 0.42)
"""Shares of the width for the two columns at the top."""

SPACE: Final = {"h1": 1.0, "h2": 0.95, "tr": 0.32, "li": 0.16, "p": 0.75, "caption": 0.5, "figcaption": 0.7, "div": 1.9}
"""[em] What the style sheet puts around an element besides its lines."""

LARGER: Final = {"h1": 1.6, "h2": 1.08}
BLOCKS: Final = frozenset({"h1", "h2", "tr", "li", "p", "caption", "figcaption"})
CELLS: Final = 1.2
"""A row of cells breaks sooner than a line of the same text."""


def fitted_page(title: str, heading: str, versions: Iterable[Iterable[Part | None]], legible: float) -> str:
    """Return a page of HTML that stands alone, of the first version that fits at a legible size, else of the last."""
    for parts in versions:
        made = [el("h1", heading), *elements(parts)]
        size = _fit(made)
        if size >= legible:
            break
    return page_of(title, STYLE + SHEET, el("main", *made, class_="resinid", style=f"--fit:{size:.2f}"))


def _fit(kept: list[Element]) -> float:
    """Return the largest share of :data:`FONT`, at most 1, at which some parts fit one page."""
    for hundredths in range(100, round(100 * SMALLEST), -1):
        if sum(_height(part, PAGE[0], hundredths / 100) for part in kept) <= PAGE[1]:
            return hundredths / 100
    return SMALLEST


def _height(part: Element, width: float, scale: float) -> float:
    em = FONT * scale
    if part.tag == "svg" and part.get("role") == "img":
        _, _, across, down = map(float, str(part.get("viewBox")).split())
        return min(width, PICTURE) * down / across
    if part.tag in BLOCKS:
        return _lines(part, width, em) * LINE * em * LARGER.get(part.tag, 1.0) + SPACE[part.tag] * em
    if part.get("class") == "side":
        return max(_height(child, share * width, scale) for child, share in zip(part, SIDE, strict=True))
    if part.get("class") == "sources":
        return sum(_height(child, 0.46 * width, 0.85 * scale) for child in part) / 2 + 2 * LINE * em
    return sum(_height(child, width, scale) for child in part) + SPACE.get(part.tag, 0.0) * em


def _lines(part: Element, width: float, em: float) -> int:
    letters = len("".join(part.itertext())) * (CELLS if part.tag == "tr" else 1.0)
    return max(math.ceil(letters * LETTER * LARGER.get(part.tag, 1.0) * em / (width - 2 * em)), 1)
