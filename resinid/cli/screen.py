"""Putting text on the screen: emphasised on a terminal where rich is installed, plain elsewhere."""

from __future__ import annotations

import sys
import unicodedata

__all__ = ["put", "tame"]


def tame(text: str) -> str:
    """Return a text with what could steer a terminal or turn the reading order shown as a question mark in a box.

    Examples
    --------
    >>> tame(f"cap{chr(27)}[2J") == f"cap{chr(0xFFFD)}[2J"
    True
    """
    if text.isascii() and text.replace("\n", "").isprintable():
        return text
    harmless = {"\n", "\t"}
    return "".join(c if c in harmless or unicodedata.category(c) not in {"Cc", "Cf"} else "\ufffd" for c in text)


def put(text: str) -> None:
    """Print a text.

    Parameters
    ----------
    text : str
        Says everything by itself; the emphasis that the extra ``cli`` (rich) adds on
        a terminal only helps the eye, and honours ``NO_COLOR``.
    """
    text = tame(text)
    if sys.stdout.isatty():
        try:
            from rich.console import Console
            from rich.text import Text
        except ImportError:
            pass
        else:
            shown = Text(text)
            shown.highlight_regex(r"DO NOT HEAT|DISAGREES", "bold red")
            shown.highlight_regex(r"(?m)^(Heating|Cautions|Observations|Sources)[^:]*:", "bold")
            shown.highlight_words(text.partition("\n")[:1], "bold")
            Console(highlight=False).print(shown, soft_wrap=True)
            return
    print(text)
