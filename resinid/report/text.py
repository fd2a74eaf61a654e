"""Words and numbers as they are shown everywhere, and an answer as plain text that fits 80 columns."""

from __future__ import annotations

import math
import re
import textwrap
import unicodedata
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

from resinid.report.sections import FOLDED, Figure, Items, Line, Table

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from resinid.report.sections import Part, Section

__all__ = [
    "SHORT",
    "TITLES",
    "WIDTH",
    "clean",
    "columns",
    "factor",
    "lot_words",
    "percent",
    "share_words",
    "span",
    "text_of",
    "unit_of",
    "wrapped",
]

WIDTH: Final = 80
"""[characters] Of a line on a terminal."""

UNIT: Final = re.compile(r"(?<=\d) (?=(?:%|°C|g|mL|g/cm3|mm|min|h|bits)(?![\w/]))")
"""Space between a number and its unit, where no line may end."""

TITLES: Final = MappingProxyType(
    {
        "density": "Density",
        "softening_temperature": "Softening temperature",
        "flexural_modulus": "Flexural modulus",
    }
)
"""Measured properties as a picture names them."""

SHORT: Final = MappingProxyType(
    {
        "one melt": "one",
        "usable with limits": "limits",
        "will delaminate": "apart",
        "too different to melt at one heat": "heat",
        "NOT YET": "not yet",
        "DO NOT HEAT": "NO",
    }
)
"""Short forms of the verdicts on melting together, for a matrix."""

LARGEST_SHOWN: Final = 1000.0
SMALLEST_SHOWN: Final = 0.001

BIDI: Final = frozenset("\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")
"""Characters that turn the order of a line round, and so can make it say something else."""

HIDDEN: Final = frozenset({"Cc", "Cs"})
"""Unicode categories of control characters and of halves of characters."""


def clean(text: str) -> str:
    r"""Return a text with what could steer a terminal or a browser replaced; line ends and tabs stay.

    Examples
    --------
    >>> clean("cap\x1b[31m\n")
    'cap\ufffd[31m\n'
    """
    if text.isascii() and text.isprintable():
        return text
    return "".join(
        "\ufffd" if sign in BIDI or (unicodedata.category(sign) in HIDDEN and sign not in "\n\t") else sign
        for sign in text
    )


def wrapped(text: str, first: str = "", indent: str = "  ") -> str:
    """Return a paragraph that fits the screen, no line ending between a number and its unit or within a word.

    Examples
    --------
    >>> wrapped("a" * 75 + " 6.8 %").splitlines()[1]
    '  6.8 %'
    """
    whole = textwrap.fill(
        UNIT.sub("\u00a0", text),
        WIDTH,
        initial_indent=first,
        subsequent_indent=indent,
        break_long_words=False,
        break_on_hyphens=False,
    )
    return whole.replace("\u00a0", " ")


def percent(share: float) -> str:
    """Return a share in per cent.

    Examples
    --------
    >>> percent(0.674), percent(1e-5), percent(0.0)
    ('67.4 %', '< 0.1 %', '0.0 %')
    """
    return "< 0.1 %" if 0 < share < SMALLEST_SHOWN else f"{100 * share:.1f} %"


def span(low: float, high: float, form: str = "g") -> str:
    """Return a range; one number where both ends are printed alike.

    Examples
    --------
    >>> span(60.0, 66.0, ".0f"), span(65.8, 66.0, ".0f"), span(2.0, 2.0)
    ('60 to 66', '66', '2')
    """
    first, last = f"{low:{form}}", f"{high:{form}}"
    return first if first == last else f"{first} to {last}"


def factor(log: float) -> str:
    """Return a factor from its natural logarithm.

    Examples
    --------
    >>> factor(0.0), factor(-3.0), factor(20.0)
    ('1.00', '0.050', '> 999')
    """
    value = math.exp(min(log, 700.0))
    if value >= LARGEST_SHOWN:
        return "> 999"
    if value < SMALLEST_SHOWN:
        return "< 0.001"
    return f"{value:.3f}" if value < 0.1 else f"{value:.2f}"


def unit_of(name: str) -> str:
    """Return the unit of a quantity as printed.

    Examples
    --------
    >>> unit_of("density"), unit_of("softening_temperature")
    ('g/cm³', '°C')
    """
    from resinid.quantities import QUANTITIES, quantity

    # A softening temperature is no one published property; its unit is that of any temperature.
    found = quantity(name if name in QUANTITIES else "temperature")
    return found.label.replace("cm3", "cm³")


def columns(head: Sequence[str], rows: Iterable[Sequence[str]], right: Iterable[int] = (), least: int = 0) -> str:
    """Return aligned columns; the last is wrapped to what is left of 80 columns.

    Parameters
    ----------
    head : sequence of str
    rows : iterable of sequences of str
    right : iterable of int, optional
        Columns set to the right.
    least : int, optional
        Columns after the first so many are left out where they do not fit.

    Examples
    --------
    >>> print(columns(("resin", "share"), [("PE-HD", "9 %")], right=[1]))
    resin  share
    PE-HD    9 %
    """
    body = [tuple(head), *(tuple(row) for row in rows)]
    right = set(right)
    widths = [max(map(len, column)) for column in zip(*body, strict=True)]
    while least and len(widths) > least and sum(widths) + 2 * (len(widths) - 1) > WIDTH:
        widths.pop()
    before = sum(widths[:-1]) + 2 * (len(widths) - 1)
    widths[-1] = min(widths[-1], max(WIDTH - before, 12))
    lines: list[str] = []
    for row in body:
        last = textwrap.wrap(row[len(widths) - 1], widths[-1]) or [""]
        cells = [*row[: len(widths) - 1], last[0]]
        padded = (
            cell.rjust(w) if i in right else cell.ljust(w)
            for i, (cell, w) in enumerate(zip(cells, widths, strict=True))
        )
        lines += ["  ".join(padded).rstrip(), *(" " * before + more for more in last[1:])]
    return "\n".join(lines)


def text_of(parts: Iterable[Part | None], *, full: bool = True, gap: str = "\n\n") -> str:
    """Return parts of a report as plain text; folded sections in short, where not all is asked for.

    Examples
    --------
    >>> from resinid.report.sections import Items, Line, Section
    >>> print(text_of([Line("a cap"), Section("Cautions", (Items(("hot",)),))]))
    a cap
    <BLANKLINE>
    Cautions:
      - hot
    """
    blocks = (_block(part, full=full) for part in parts if part is not None)
    return gap.join(block for block in blocks if block)


def _block(part: Part, *, full: bool) -> str:
    match part:
        case Line():
            block = wrapped(str(part))
        case Items():
            block = "\n".join(wrapped(str(item), "  - ", "    ") for item in part.items)
        case Figure():
            block = wrapped(part.caption)
        case Table():
            block = _table(part) if part.rows else ""
        case _ if part.kind == FOLDED and not full:
            block = wrapped(part.brief) if part.brief else ""
        case _:
            block = _section(part)
    return block


def _table(part: Table) -> str:
    rows = [tuple(map(str, row)) for row in part.rows]
    if part.plain:
        label = max(len(name) for name, _ in rows) + 1
        return "\n".join(wrapped(text, f"{name:<{label}}", " " * label) for name, text in rows)
    return f"{wrapped(part.caption)}:\n{columns(part.head, rows, part.numbers, part.least)}"


def _section(part: Section) -> str:
    kept = [each for each in part.parts if each is not None]
    if part.heading and len(kept) == 1 and isinstance(kept[0], Line):
        return wrapped(f"{part.heading}: {kept[0]}")
    inside = text_of(kept, gap="\n")
    return f"{part.heading}:\n{inside}" if part.heading else inside


def share_words(names: Iterable[str], shares: Iterable[float]) -> str:
    """Return names with their shares.

    Examples
    --------
    >>> share_words(["caps", "milk"], [0.75, 0.25])
    'caps 75%, milk 25%'
    """
    return ", ".join(f"{name} {share:.0%}" for name, share in zip(names, shares, strict=True))


def lot_words(lot: str, date: str, longest: int) -> str:
    """Return the line of a page that gives lot and date, a blank to write on for what is not given.

    Examples
    --------
    >>> lot_words("", "2026-11-30", 60)
    'lot: ______________   date: 2026-11-30'
    """
    blank = "______________"
    return f"lot: {textwrap.shorten(clean(lot), longest, placeholder='...') or blank}   date: {clean(date) or blank}"
