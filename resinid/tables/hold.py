"""One run at a time for a folder: a second one is refused, so that what two write is never mixed."""

from __future__ import annotations

import importlib
import os
from contextlib import contextmanager, suppress
from typing import TYPE_CHECKING

from resinid.errors import Fault, InputError

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

__all__ = ["held"]


@contextmanager
def held(folder: Path) -> Iterator[None]:
    """Hold a folder, made if it is not there, against other runs; an empty one is taken away afterwards.

    The lock goes with the process, however that ends. Where the system has no such locks, nothing is held.

    Raises
    ------
    InputError
        Another run holds it.

    Examples
    --------
    >>> from pathlib import Path
    >>> from tempfile import TemporaryDirectory
    >>> with TemporaryDirectory() as place, held(Path(place) / "out.parts"):
    ...     with held(Path(place) / "out.parts"):
    ...         pass
    Traceback (most recent call last):
        ...
    resinid.errors.InputError: ...out.parts: another run is writing it; wait for that, or name another target
    """
    folder.mkdir(exist_ok=True)
    if os.name != "posix":
        yield
        return
    locks = importlib.import_module("fcntl")
    handle = os.open(folder, os.O_RDONLY)
    try:
        try:
            locks.flock(handle, locks.LOCK_EX | locks.LOCK_NB)
        except BlockingIOError:
            what = "another run is writing it; wait for that, or name another target"
            raise InputError([Fault(str(folder), what)]) from None
        # Between opening and locking it, the other run may have finished and taken it away.
        if not (folder.exists() and os.path.samestat(os.fstat(handle), folder.stat())):
            raise InputError([Fault(str(folder), "another run has just finished; start again")])
        yield
        with suppress(OSError):
            folder.rmdir()
    finally:
        os.close(handle)
