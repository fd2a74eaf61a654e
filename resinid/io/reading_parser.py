"""How a reading is written: one number, one uncertainty or none, and one unit.

A slip inside the number must never become part of the unit. ``1.3.8 g/cm3`` would be 1.3 of
a unit ``.8 g/cm3``, which is a density too. So a number ends where no digit or point follows,
a unit begins with a letter, and a unit holds no number but its powers. Nor is an exponent gone
wrong (``0.e^01``) a unit, as pint would have it.
"""

from __future__ import annotations

import re
from decimal import Decimal
from typing import TYPE_CHECKING, Final, NamedTuple

if TYPE_CHECKING:
    from resinid.quantities import Quantity

__all__ = ["Written", "one_reading", "one_unit"]

# What was taken is never given back (the second plus signs), so no digit is left for the unit.
_NUMBER = r"[+-]?(?:[0-9]++\.?[0-9]*+|\.[0-9]++)(?:[eE][+-]?[0-9]++)?+(?![\d.]|[eE]\s*[\d.^*+-])"
_BOTH = rf"({_NUMBER})\s*(?:(?:±|\+/-|\+-)\s*({_NUMBER})\s*)?"
# 0.957(3): the uncertainty in units of the last digit, see JCGM 100:2008, 7.2.2.
_BRIEF = r"([+-]?(?:[0-9]++(?:\.[0-9]++)?|\.[0-9]++))\(([0-9]{1,3})\)(?![\d.(eE])"
_WRITTEN: Final = re.compile(rf"\s*(?:{_BRIEF}|\(\s*{_BOTH}\)|{_BOTH})\s*(\S.*)?", re.DOTALL)


class Written(NamedTuple):
    """The parts of a reading as they were written; the uncertainty None where there was none."""

    number: str
    spread: str | None
    unit: str


def one_reading(text: str) -> Written | None:
    """Cut a text into its parts; None where it is not one number, one uncertainty and one unit.

    Examples
    --------
    >>> one_reading("(0.952 ± 0.001) g/cm3")
    Written(number='0.952', spread='0.001', unit='g/cm3')
    >>> one_reading("0.9.52 g/cm3")
    >>> one_reading("0.957(3) g/cm3")
    Written(number='0.957', spread='0.003', unit='g/cm3')
    """
    match = _WRITTEN.fullmatch(text)
    unit = (match[7] or "").strip() if match else ""
    if match is None or not (unit[:1].isalpha() or unit[:1] in "%‰°"):  # the latter holds nothing too
        return None
    if match[1]:
        decimals = len(match[1].partition(".")[2])
        return Written(match[1], f"{Decimal(match[2]).scaleb(-decimals):f}", unit)
    return Written(match[3] or match[5], match[4] or match[6], unit)


_POWER: Final = re.compile(r"(?<=[A-Za-z])\^?([23]|-[123])(?![\d])")
_SUPERSCRIPTS: Final = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
_RAISED: Final = re.compile("[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+")
_EXPONENT = r"\s*[-+]?\s*(?:\d{1,2}|0\.5)(?![\d.eE])"
_TOWER: Final = re.compile(rf"\d\s*(?:\*\*|\^)|(?:\*\*|\^)(?!{_EXPONENT})")
"""A number that is raised to a power, or a power that is neither a half nor a whole number of two digits at most."""
_AGAIN: Final = re.compile(r"\)\s*(?:\*\*|\^)|\b(?:sq|square|squared|cubic|cubed)\b")
_SIGNS: Final = frozenset("*/^()._+-%‰°")
_TEN_MINUTES: Final = re.compile(r"/\s*\(?\s*10\s*\*?\s*min\s*\)?$")
_NO_FACTOR: Final = re.compile(rf"^\s*1\s*/|(?:\*\*|\^){_EXPONENT}|/\(10\*min\)$")
"""Numbers a unit may hold, for none of them rescales a reading: those of 1/s, of powers, and of g/(10 min)."""


def one_unit(unit: str, quantity: Quantity) -> str:
    """Return a unit in pint's spelling.

    Raises
    ------
    ValueError
        It holds a number or a sign of its own, or working it out could take for ever.

    Examples
    --------
    >>> from resinid.quantities import quantity
    >>> one_unit("kg/m³", quantity("density")), one_unit("g/10 min", quantity("melt_flow_rate"))
    ('kg/m**3', 'g/(10*min)')
    """
    raised = _RAISED.sub(lambda match: "**" + match[0].translate(_SUPERSCRIPTS), unit)
    written = _POWER.sub(r"**\1", raised.replace("·", "*"))
    # pint works out numbers in a unit exactly, and 9**9**9**9 would fill any memory.
    # What is no letter, digit or operator it leaves out, which would bring powers together.
    known = all(c.isalpha() or c.isspace() or (c.isascii() and c.isdigit()) or c in _SIGNS for c in written)
    if not known or "//" in written or _TOWER.search(written) or len(_AGAIN.findall(written)) > 1:
        raise ValueError(written)
    if "10*min" in quantity.unit:
        written = _TEN_MINUTES.sub("/(10*min)", written)
    # A plug-in's quantity may be in a unit with a number, which then is known to be meant.
    if unit != quantity.unit and any(c.isdigit() or c in "+-." for c in _NO_FACTOR.sub("", written)):
        raise ValueError(written)
    return written
