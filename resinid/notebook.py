"""How an answer shows itself in a notebook: the one place where a value reaches up to what renders it."""

from __future__ import annotations

from importlib import import_module

__all__ = ["ShowsItself"]

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
