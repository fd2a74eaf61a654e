"""Words and numbers as they are shown, the same on the terminal, in a notebook and on a sheet."""

from __future__ import annotations

import math
import re
import textwrap
import unicodedata
from types import MappingProxyType
from typing import Final

__all__ = ["SHORT", "TITLES", "WIDTH", "clean", "factor", "percent", "span", "unit_of", "wrapped"]

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
