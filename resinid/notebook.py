"""How an answer shows itself in a notebook, and is kept as JSON: here alone a value reaches up to what renders it."""

from __future__ import annotations

import json
from dataclasses import asdict
from importlib import import_module
from typing import Any, cast

from resinid.version import JSON_FORMAT

__all__ = ["Answer", "ShowsItself"]

RENDERERS = "resinid.report.notebook_html"
"""Module whose ``render`` renders every class that derives from :class:`ShowsItself`."""


class ShowsItself:
    """A value that a notebook shows as HTML.

    The renderers are imported by name when they are first asked for, since they import the
    values they render.
    """

    __slots__ = ()

    def _repr_html_(self) -> str:
        out: str = import_module(RENDERERS).render(self)
        return out


class Answer(ShowsItself):
    """An answer: a frozen dataclass that a notebook shows, and that is kept or sent as JSON."""

    __slots__ = ()

    def to_dict(self) -> dict[str, Any]:
        """Return the whole answer as JSON types."""
        return asdict(cast("Any", self))

    def to_json(self) -> str:
        """Return the whole answer as JSON text, with the ``format`` it is in."""
        return json.dumps({"format": JSON_FORMAT, **self.to_dict()}, ensure_ascii=False, allow_nan=False)
