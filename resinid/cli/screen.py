"""Putting text on the screen: emphasised on a terminal where rich is installed, plain elsewhere."""

from __future__ import annotations

import sys

__all__ = ["put"]


def put(text: str) -> None:
    """Print a text.

    Parameters
    ----------
    text : str
        Says everything by itself; the emphasis that the extra ``cli`` (rich) adds on
        a terminal only helps the eye, and honours ``NO_COLOR``.
    """
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
