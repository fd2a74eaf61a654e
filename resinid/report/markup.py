"""Building HTML so that no text can become markup: the standard library's element tree, and our own boxes."""

from __future__ import annotations

from typing import TYPE_CHECKING, TypeAlias
from xml.etree.ElementTree import Element, tostring

from resinid.report.style import STYLE
from resinid.report.text import clean

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

__all__ = ["Child", "bullets", "card", "el", "fold", "grid", "html_of", "line", "page_of"]

Child: TypeAlias = Element | str | None


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


def line(*children: Child, class_: str | None = None) -> Element:
    """Return a paragraph."""
    return el("p", *children, class_=class_)


def bullets(items: Iterable[Child]) -> Element | None:
    """Return a list; None where there is nothing to list."""
    made = [el("li", item) for item in items]
    return el("ul", *made) if made else None


def fold(title: str, *children: Child) -> Element:
    """Return what is shown only when its title is opened."""
    return el("details", el("summary", title), *children)


def grid(
    caption: str, head: Sequence[str], rows: Iterable[Sequence[Child]], numbers: Iterable[int] = ()
) -> Element | None:
    """Return a table whose first column names its rows; None where it has no rows.

    Parameters
    ----------
    caption : str
        What the table shows.
    head : sequence of str
    rows : iterable of sequences
    numbers : iterable of int, optional
        Columns of numbers, set to the right.
    """
    right = set(numbers)

    def kind(place: int) -> str | None:
        return "n" if place in right else None

    body = [
        el(
            "tr",
            *(
                el("th", cell, scope="row", class_=kind(place)) if place == 0 else el("td", cell, class_=kind(place))
                for place, cell in enumerate(row)
            ),
        )
        for row in rows
    ]
    if not body:
        return None
    top = el("tr", *(el("th", name, scope="col", class_=kind(place)) for place, name in enumerate(head)))
    return el("table", el("caption", caption), el("thead", top), el("tbody", *body))


def card(label: str, *children: Child) -> str:
    """Return the HTML of an answer for a notebook: one box that brings its own style and loads nothing.

    Parameters
    ----------
    label : str
        What it is, for those who hear the page.
    *children
    """
    return html_of(el("section", el("style", STYLE), *children, class_="resinid", aria_label=label))
