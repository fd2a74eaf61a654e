"""The file that a name for writing leads to."""

from __future__ import annotations

from typing import TYPE_CHECKING

from resinid.errors import Fault, InputError

if TYPE_CHECKING:
    from pathlib import Path

__all__ = ["writable_target"]


def writable_target(path: Path) -> Path:
    """Return the file a link leads to; refuse what is there and can only be destroyed by writing a file.

    Raises
    ------
    InputError
        It is a folder, a device or a pipe.
    OSError, RuntimeError
        It cannot be looked at; links in a ring are a RuntimeError.

    Examples
    --------
    >>> from pathlib import Path
    >>> writable_target(Path("answers.csv")).name
    'answers.csv'
    """
    path = path.resolve() if path.is_symlink() else path
    if path.exists() and not path.is_file():
        why = "cannot be written: it is no file but a folder, device or pipe; give another name"
        raise InputError([Fault(str(path), why)])
    return path
