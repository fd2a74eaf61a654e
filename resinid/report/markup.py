"""An answer as HTML, built so that no text can become markup: the standard library's element tree."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final, TypeAlias
from xml.etree.ElementTree import Element, tostring

from resinid.report.sections import FOLDED, PAGE, Figure, Items, Line, Table
from resinid.report.style import STYLE
from resinid.report.text import clean

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from resinid.report.sections import Part, Report, Section

__all__ = ["Child", "card", "el", "elements", "html_of", "page_of"]

Child: TypeAlias = Element | str | None

BAR: Final = (90.0, 12.0)
"""[px] Width and height of a bar beside its number."""

BARRED: Final = 2
"""Columns before the bars."""


def el(tag: str, *children: Child, **attributes: str | float | None) -> Element:
    """Make an element; texts are escaped when it is written.

    Parameters
    ----------
    tag : str
    *children : Element or str or None
        In order; None is left out.
    **attributes
        ``class_`` stands for ``class``, and other underscores for hyphens; None is left out.

    Examples
    --------
    >>> html_of(el("p", "a < b ", el("b", "c"), " & d", class_="soft"))
    '<p class="soft">a &lt; b <b>c</b> &amp; d</p>'
    """
    made = Element(tag)
    for name, value in attributes.items():
        if value is not None:
            shown = f"{value:.5g}" if isinstance(value, float) else clean(str(value))
            made.set(name.rstrip("_").replace("_", "-"), shown)
    last: Element | None = None
    for child in children:
        if isinstance(child, Element):
            made.append(child)
            last = child
        elif child is not None and last is None:
            made.text = (made.text or "") + clean(child)
        elif child is not None and last is not None:
            last.tail = (last.tail or "") + clean(child)
    return made


def html_of(element: Element) -> str:
    """Return an element as HTML."""
    return tostring(element, encoding="unicode", method="html")


def page_of(title: str, style: str, *body: Child) -> str:
    """Return a page of HTML that stands alone: it loads nothing, and nothing in it runs."""
    head = el(
        "head",
        el("meta", charset="utf-8"),
        el("meta", name="viewport", content="width=device-width, initial-scale=1"),
        el("meta", http_equiv="Content-Security-Policy", content="default-src 'none'; style-src 'unsafe-inline'"),
        el("title", title),
        el("style", style),
    )
    return f"<!DOCTYPE html>\n{html_of(el('html', head, el('body', *body), lang='en'))}\n"


def card(report: Report) -> str:
    """Return a report for a notebook: one box that brings its own style and loads nothing."""
    return html_of(
        el("section", el("style", STYLE), *elements(report.parts), class_="resinid", aria_label=report.title)
    )


def elements(parts: Iterable[Part | None]) -> list[Element]:
    """Return parts of a report as HTML; what has nothing to show is left out."""
    return [made for part in parts if part is not None and (made := _element(part)) is not None]


def _element(part: Part) -> Element | None:
    match part:
        case Line():
            made: Element | None = el("p", *_words(part), class_=part.kind or None)
        case Items():
            made = el("ul", *(el("li", *_words(item)) for item in part.items)) if part.items else None
        case Figure():
            made = el("figure", part.picture, el("figcaption", part.caption))
        case Table():
            made = _table(part) if part.rows else None
        case _:
            made = _section(part)
    return made


def _section(part: Section) -> Element:
    inside = elements(part.parts)
    if part.kind == FOLDED:
        return el("details", el("summary", part.heading), *inside)
    if part.kind == PAGE:
        return el("section", el("h2", part.heading), *inside)
    heading = el("p", el("strong", part.heading)) if part.heading else None
    return el("div", heading, *inside, class_=part.kind or None)


def _words(item: str | Line) -> list[Child]:
    if isinstance(item, str):
        return [item]
    return [el("strong", item.lead) if item.lead else None, item.text or None]


def _table(part: Table) -> Element:
    right = set(part.numbers)

    def row(cells: Sequence[str | Line], first: str, others: str, bar: Child) -> Element:
        made = [
            el(
                first if place == 0 else others,
                *_words(cell),
                scope="row" if place == 0 and others == "td" else "col" if others == "th" else None,
                class_="n" if place in right else None,
            )
            for place, cell in enumerate(cells)
        ]
        if part.bars:
            made.insert(BARRED, el(others, bar, scope="col" if others == "th" else None))
        return el("tr", *made)

    bars: list[Child] = [_bar(share) for share in part.bars] or [None] * len(part.rows)
    body = (row(cells, "th", "td", bar) for cells, bar in zip(part.rows, bars, strict=True))
    top = el("thead", row(part.head, "th", "th", "0 to 100 %"))
    return el("table", el("caption", part.caption), top, el("tbody", *body))


def _bar(share: float) -> Element:
    """Return a bar for a share between 0 and 1; the number stands beside it, so it is hidden from readers."""
    width, height = BAR
    return el(
        "svg",
        el("rect", x=0.5, y=0.5, width=width - 1, height=height - 1, class_="track"),
        el("rect", x=0.5, y=0.5, width=(width - 1) * min(max(share, 0.0), 1.0), height=height - 1, class_="bar"),
        width=width,
        height=height,
        viewBox=f"0 0 {width:g} {height:g}",
        aria_hidden="true",
    )
