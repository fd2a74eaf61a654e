"""Which version of this package answers."""

from __future__ import annotations

import functools
from typing import Final

__all__ = ["JSON_FORMAT", "package_version"]


JSON_FORMAT: Final = 3
"""Version of the JSON forms of answers; 1 and 2 had other names. Only this one is read."""


@functools.cache
def package_version() -> str:
    """Return the version of this package, whose other versions may answer otherwise; ``unknown`` if not installed.

    Examples
    --------
    >>> package_version() != ""
    True
    """
    from importlib.metadata import PackageNotFoundError, version

    try:
        return version("resinid")
    except PackageNotFoundError:
        return "unknown"
