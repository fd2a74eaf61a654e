"""What an answer says, before it is rendered: lines, lists, tables and figures under headings.

A module of this package builds each answer once from these; ``text.py`` renders them for a
terminal and ``markup.py`` as HTML for notebooks, sheets and labels.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeAlias

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from xml.etree.ElementTree import Element

__all__ = ["FOLDED", "PAGE", "Figure", "Items", "Line", "Part", "Report", "Section", "Table", "listed", "sources_part"]

FOLDED = "folded"
"""Kind of a section that a card opens by its heading, and that a terminal prints where all is asked for."""

PAGE = "page"
"""Kind of a section of a page, whose heading is one of the document's."""


@dataclass(frozen=True, slots=True)
class Line:
    """A paragraph, with words before it that stand out; ``kind`` is a class of the style sheet."""

    text: str
    lead: str = ""
    kind: str = ""

    def __str__(self) -> str:
        return self.lead + self.text


@dataclass(frozen=True, slots=True)
class Items:
    """A list."""

    items: tuple[str | Line, ...]


@dataclass(frozen=True, slots=True)
class Table:
    """A table whose first column names its rows.

    Parameters
    ----------
    caption : str
        What it shows.
    head : sequence of str
    rows : sequence of sequences of str or Line
    numbers : sequence of int, optional
        Columns set to the right.
    bars : sequence of float, optional
        Share of each row, which HTML draws as a bar after the second column.
    least : int, optional
        A terminal that is too narrow shows only the first so many columns.
    plain : bool, optional
        Whether a terminal prints the rows alone.
    """

    caption: str
    head: Sequence[str]
    rows: Sequence[Sequence[str | Line]]
    numbers: Sequence[int] = ()
    bars: Sequence[float] = ()
    least: int = 0
    plain: bool = False


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture and what it shows."""

    picture: Element
    caption: str


@dataclass(frozen=True, slots=True)
class Section:
    """Parts under a heading.

    Parameters
    ----------
    heading : str
    parts : tuple of Part or None
    kind : str, optional
        :data:`FOLDED`, :data:`PAGE`, or a class of the style sheet.
    brief : str, optional
        What a terminal prints for a folded section where not all is asked for.
    """

    heading: str
    parts: tuple[Part | None, ...]
    kind: str = ""
    brief: str = ""


@dataclass(frozen=True, slots=True)
class Report:
    """What an answer says; ``title`` says what it is, for those who hear the page."""

    title: str
    parts: tuple[Part | None, ...]


Part: TypeAlias = Line | Items | Table | Figure | Section


def listed(heading: str, items: Iterable[str | Line]) -> Section | None:
    """Return a list under a heading; None where there is nothing to list."""
    kept = tuple(items)
    return Section(heading, (Items(kept),)) if kept else None


def sources_part(keys: Sequence[str], title: str = "Sources") -> Section:
    """Return the keys of the sources."""
    brief = f"{title}: {len(keys)}; --full names them, 'resinid sources' prints each."
    return Section(f"{title} ({len(keys)})", (Line(", ".join(keys) or "none"),), FOLDED, brief)
