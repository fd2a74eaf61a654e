"""Which version of this package answers."""

__all__ = ["JSON_FORMAT", "__version__", "package_version"]

__version__ = "0.1.0"

JSON_FORMAT = 3
"""Version of the JSON forms of answers; 1 and 2 had other names. Only this one is read."""


def package_version() -> str:
    """Return the version of this package, whose other versions may answer otherwise.

    Examples
    --------
    >>> package_version() == __version__
    True
    """
    return __version__
