"""Reading and writing of files, faults named by the file."""

from __future__ import annotations

import os
import sys
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import TYPE_CHECKING, BinaryIO, Final

from resinid.errors import Fault, Faults, InputError, ResinidError, TableError
from resinid.io.target import writable_target

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping

    from resinid.reference.table import ReferenceTable

__all__ = ["file_to_write", "naming", "prior_of_document", "read_text", "write_whole"]

_HALF: Final = ".tmp"

MOST_BYTES: Final = 16_000_000
"""A longer file is refused before it is read; documents are a sixteenth of that at most."""


def read_text(file: str) -> str:
    """Return the text of a file, or of standard input for ``-``.

    Raises
    ------
    InputError
        It cannot be read, or is not UTF-8.
    """
    if file == "-" and sys.stdin is None:
        raise InputError([Fault("standard input", "is closed; give a file, or pass one on")])
    try:
        if file == "-":
            return _bounded(sys.stdin.buffer, "standard input")
        path = Path(file)
        _check_plain(path)
        with path.open("rb") as opened:
            return _bounded(opened, file)
    except InputError:
        raise
    except UnicodeDecodeError as error:
        raise InputError([Fault(file, "is not UTF-8 text; save it as UTF-8")]) from error
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise InputError([Fault(file, f"cannot be read: {reason}")]) from error


def _check_plain(path: Path) -> None:
    if path.exists() and not path.is_file():
        other = "is a pipe or a device; pass it on as standard input, named -"
        what = "cannot be read: it is a folder" if path.is_dir() else other
        raise InputError([Fault(str(path), what)])


def _bounded(stream: BinaryIO, name: str) -> str:
    """Return the text of a stream; refuse what is longer than any document, and do not read on."""
    data = stream.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        raise InputError([Fault(name, f"is longer than {MOST_BYTES} bytes; split it")])
    return data.decode("utf-8").replace("\r\n", "\n").replace("\r", "\n")


def file_to_write(name: str, option: str, source: str | None = None) -> Path:
    """Return the file that an option names for writing.

    Raises
    ------
    InputError
        No name, or the file that is read.
    """
    if not name.strip() or name == "-":
        raise InputError([Fault(option, f"{name!r} is no name of a file to write; give one")])
    path = Path(name)
    try:
        same = source not in {None, "-"} and path.exists() and path.samefile(str(source))
    except (OSError, ValueError):  # a name that no file can have is told where it is read or written
        same = False
    if same:
        raise InputError([Fault(option, f"{name} is the file that is read; write to another one")])
    return path


def write_whole(path: Path, text: str) -> None:
    """Write a file so that it is there whole, old or new, whenever the machine stops.

    A link stays, and the file it leads to is written.

    Raises
    ------
    InputError
        It cannot be written, or is there and no file, such as a device.
    """
    try:
        path = writable_target(path)
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
    except InputError:
        raise
    except (OSError, ValueError, RuntimeError) as error:
        # ValueError: a name that no file can have, a text that UTF-8 cannot hold; RuntimeError: links in a ring.
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
def prior_of_document(
    given: str | None, written: str | Mapping[str, float], reference: ReferenceTable
) -> Iterator[str | Mapping[str, float]]:
    """Give the prior to use: the option's, or what a document says, whose faults are told with those of the rest."""
    from resinid.identification.score import prior_for

    wrong = Faults()
    if given is None:
        try:
            prior_for(reference, written)
        except InputError as error:
            wrong.extend(error.faults)
        except ResinidError as error:
            wrong.add("prior", str(error))
    try:
        yield given or ("uniform" if len(wrong) else written)
    except InputError as error:
        raise InputError([*wrong, *error.faults]) from error
    wrong.check()


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
