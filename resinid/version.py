"""Which version of this package answers."""

from __future__ import annotations

import functools

__all__ = ["package_version"]


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
