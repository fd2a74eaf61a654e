"""The guide: short pages on what people do with this package, each example in them tested."""

from __future__ import annotations

from importlib.resources import files
from types import MappingProxyType
from typing import Final

__all__ = ["TOPICS", "page"]

TOPICS: Final = MappingProxyType(
    {
        "piece": "write down one piece and rank its resins",
        "tests": "what can be observed",
        "next": "what to do next",
        "bag": "write down a bag of pieces, flakes or marks",
        "plan": "whether bags may be melted together, and how",
        "table": "a whole spreadsheet of pieces",
        "pictures": "sheets, labels and pictures",
        "embed": "errors, options, forms and JSON, for another program",
        "plug-in": "write a method of your own",
        "record": "keep what was found out, and learn from it",
        "answer": "read the answer",
        "sure": "how sure it is, and where it is not",
        "safety": "what can hurt, and what is never heated",
        "kit": "which kit to buy first, and what it tells",
    }
)
"""The topics, and what each is about."""


def page(topic: str) -> str:
    """Return the text of a page.

    Raises
    ------
    KeyError
        There is no page on that.

    Examples
    --------
    >>> page("piece").splitlines()[0]
    '# One piece'
    """
    if topic not in TOPICS:
        raise KeyError(topic)
    return files(__name__).joinpath(f"{topic}.md").read_text(encoding="utf-8")
