"""Errors raised on purpose: one base class, each error also a builtin.

Every message says what was asked, what was found, what is allowed and how to
mend it. An input with several faults raises one :class:`InputError` that lists
them all, each with its place.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Self

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

__all__ = [
    "Fault",
    "Faults",
    "InputError",
    "MethodError",
    "MethodWarning",
    "NotAllowedError",
    "PlugInError",
    "RangeError",
    "ResinidError",
    "TableError",
    "TableWarning",
    "UnknownNameError",
    "place_of",
    "safe_repr",
]

LONGEST: Final = 100
"""[characters] More of something that was given is not repeated in a message."""


def safe_repr(value: object, longest: int = LONGEST) -> str:
    """Return a value as a message repeats it: its ``repr``, cut short, or its kind where it has none.

    Examples
    --------
    >>> safe_repr("water"), len(safe_repr("water " * 1000))
    ("'water'", 100)
    """
    try:
        # A text is cut first, for the repr of a long one takes its time.
        text = repr(value[: longest + 1] if isinstance(value, str) else value)
    except Exception:  # noqa: BLE001 - because it may be nested too deeply, or fail at saying what it is in any way
        text = f"<{type(value).__name__}>"
    return text if len(text) <= longest else f"{text[: longest - 3]}..."


def place_of(*parts: object) -> str:
    """Return the place of a fault, its parts as they were given but none longer than a message bears.

    Examples
    --------
    >>> place_of("prior", "PP"), place_of("prior", 5)
    ('prior.PP', 'prior.5')
    """
    return ".".join(part if isinstance(part, str) and len(part) <= LONGEST else safe_repr(part) for part in parts)


class ResinidError(Exception):
    """Base class of every error this package raises on purpose."""


class RangeError(ResinidError, ValueError):
    """A number lies outside the range in which a model holds."""


class UnknownNameError(ResinidError, KeyError):
    """A resin, liquid, method, test or source of that name does not exist."""

    def __str__(self) -> str:
        """Return the plain message, which ``KeyError`` would quote."""
        return str(self.args[0]) if self.args else ""


class MethodError(ResinidError, TypeError):
    """A method plug-in does not keep the contract."""


class PlugInError(MethodError):
    """A plug-in failed while it was used.

    Parameters
    ----------
    message : str
        Names the plug-in and the cause.
    kind : type or None
        The test's class.
    """

    def __init__(self, message: str, kind: type | None = None) -> None:
        self.kind = kind
        super().__init__(message, kind)

    def __str__(self) -> str:
        """Return the message."""
        return str(self.args[0])


class NotAllowedError(ResinidError, RuntimeError):
    """A dangerous test was used without having been allowed."""


class MethodWarning(UserWarning):
    """A method plug-in was left out; the message names it and the cause."""


class TableWarning(UserWarning):
    """Something in a table was taken for granted: columns that passed by, or numbers without an uncertainty."""


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with an input.

    Parameters
    ----------
    place : str
        Where it was found, such as ``observation[2].in_air`` or ``properties.csv:14:low``.
    message : str
        What is wrong, what was expected and how to mend it.
    """

    place: str
    message: str

    def __str__(self) -> str:
        """Return ``place: message``."""
        return f"{self.place}: {self.message}" if self.place else self.message


class InputError(ResinidError, ValueError):
    """An input that cannot be used; lists every fault found in it.

    Parameters
    ----------
    faults : iterable of Fault
        All faults, in the order found.

    Examples
    --------
    >>> print(InputError([Fault("in_air", "needs a unit, for example '5.02 g'")]))
    in_air: needs a unit, for example '5.02 g'
    """

    def __init__(self, faults: Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = tuple(faults)
        super().__init__(self.faults)

    def __str__(self) -> str:
        """Return one line a fault."""
        return "\n".join(str(fault) for fault in self.faults)


class TableError(InputError):
    """A reference table that cannot be used; each fault names file, line and column."""


class Faults:
    """Gather faults and raise them together.

    Parameters
    ----------
    error : type of InputError, optional
        What :meth:`check` raises.

    Examples
    --------
    >>> faults = Faults()
    >>> faults.add("in_air", "is negative")
    >>> len(faults)
    1
    """

    def __init__(self, error: type[InputError] = InputError) -> None:
        self._error = error
        self._found: list[Fault] = []

    def __len__(self) -> int:
        """Return how many faults were found."""
        return len(self._found)

    def __iter__(self) -> Iterator[Fault]:
        """Iterate over the faults in the order found."""
        return iter(self._found)

    def __enter__(self) -> Self:
        """Open a block at whose end all faults are raised together."""
        return self

    def __exit__(self, kind: type[BaseException] | None, value: object, trace: object) -> None:
        """Raise the gathered faults unless another error is on its way."""
        if kind is None:
            self.check()

    def add(self, place: str, message: str) -> None:
        """Record one fault."""
        self._found.append(Fault(place, message))

    def extend(self, faults: Iterable[Fault], *, under: str = "") -> None:
        """Record faults found inside a part, their places prefixed with ``under``."""
        for fault in faults:
            parts = [part for part in (under, fault.place) if part]
            self.add(".".join(parts), fault.message)

    def check(self) -> None:
        """Raise the gathered faults, if any."""
        if self._found:
            raise self._error(self._found)
