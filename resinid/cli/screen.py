"""Putting text on the screen: emphasised on a terminal where rich is installed, plain elsewhere."""

from __future__ import annotations

import io
import sys

from resinid.report.text import clean

__all__ = ["complain", "put", "steady", "takes_any_letter"]


def steady() -> None:
    """Let no letter stop the program that a terminal or file lacks: write its number, read a sign for it."""
    for stream, errors in ((sys.stdin, "replace"), (sys.stdout, "backslashreplace"), (sys.stderr, "backslashreplace")):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=errors)


def takes_any_letter() -> bool:
    """Return whether standard output has all letters; where it has not, JSON writes them as its own escapes."""
    return (getattr(sys.stdout, "encoding", None) or "utf-8").lower().replace("-", "").replace("_", "") in {
        "utf8",
        "utf16",
        "utf32",
    }


def complain(text: str) -> None:
    """Print a message where errors go, with what could steer a terminal replaced."""
    print(clean(text), file=sys.stderr)


def put(text: str) -> None:
    """Print a text.

    Parameters
    ----------
    text : str
        Says everything by itself; the emphasis that the extra ``cli`` (rich) adds on
        a terminal only helps the eye, and honours ``NO_COLOR``. Signs that could steer
        a terminal, such as from the name of a piece, are replaced.
    """
    text = clean(text)
    if sys.stdout.isatty():
        try:
            from rich.console import Console
            from rich.text import Text
        except ImportError:
            pass
        else:
            shown = Text(text)
            shown.highlight_regex(r"DO NOT HEAT|NOT YET|DISAGREES", "bold red")
            shown.highlight_regex(r"(?m)^(Heating|Cautions|Observations|Sources)[^:]*:", "bold")
            shown.highlight_words(text.partition("\n")[:1], "bold")
            Console(highlight=False).print(shown, soft_wrap=True)
            return
    print(text)
