"""Reading and writing of files, faults named by the file."""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, Final

from resinid.errors import Fault, Faults, InputError, TableError

if TYPE_CHECKING:
    from collections.abc import Iterator

__all__ = ["naming", "read_text", "write_whole"]

_HALF: Final = ".tmp"


def read_text(file: str) -> str:
    """Return the text of a file, or of standard input for ``-``.

    Raises
    ------
    InputError
        It cannot be read, or is not UTF-8.
    """
    try:
        if file == "-":
            return sys.stdin.buffer.read().decode("utf-8")
        return Path(file).read_text(encoding="utf-8")
    except UnicodeDecodeError as error:
        raise InputError([Fault(file, "is not UTF-8 text; save it as UTF-8")]) from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError([Fault(file, f"cannot be read: {reason}")]) from error


def write_whole(path: Path, text: str) -> None:
    """Write a file so that it is there whole, old or new, whenever the machine stops.

    Raises
    ------
    InputError
        It cannot be written.
    """
    try:
        data = text.encode()
        beside = path.with_name(f".{path.name}.{os.getpid()}{_HALF}")
        _sweep(path)
        try:
            with beside.open("wb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
            beside.replace(path)
        except BaseException:  # also when interrupted: nothing half-written stays
            with suppress(OSError):
                beside.unlink()
            raise
        if os.name == "posix":  # elsewhere a folder cannot be opened
            folder = os.open(path.parent, os.O_RDONLY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)
    except (OSError, ValueError) as error:  # ValueError: a name that no file can have, a text that UTF-8 cannot hold
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError([Fault(str(path), f"cannot be written: {reason}")]) from error


def _sweep(path: Path) -> None:
    """Take away what a process that was killed while writing this file left beside it."""
    if os.name != "posix":  # elsewhere it cannot be told whether a process is still there
        return
    for left in path.parent.iterdir():
        owner = left.name.removeprefix(f".{path.name}.").removesuffix(_HALF)
        if left.name == f".{path.name}.{owner}{_HALF}" and owner.isdecimal():
            try:
                os.kill(int(owner), 0)
            except ProcessLookupError:
                left.unlink(missing_ok=True)
            except (OSError, OverflowError):
                continue


@contextmanager
def naming(file: str) -> Iterator[None]:
    """Put the name of a file before the place of every fault found in it; those of the table have their own."""
    try:
        yield
    except TableError:
        raise
    except InputError as error:
        faults = Faults()
        for fault in error.faults:
            faults.add(f"{file}: {fault.place}" if fault.place else file, fault.message)
        raise InputError(faults) from error
