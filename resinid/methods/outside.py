"""Calling what is not ours: in a thread of its own, with a time limit, every failure named."""

from __future__ import annotations

import inspect
import sys
import threading
from typing import TYPE_CHECKING, Final, TypeGuard, TypeVar

import numpy as np

from resinid.errors import PlugInError

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

T = TypeVar("T")

__all__ = ["LIMIT", "array_of", "calling", "is_finite", "is_own", "is_writable", "test_of"]

LIMIT: Final = 5.0
"""[s] What a plug-in does not do in this time it does not do."""

LARGEST: Final = sys.float_info.max


def is_own(kind: type) -> bool:
    """Return whether a test's class belongs to this package."""
    return kind.__module__.partition(".")[0] == "resinid"


def test_of(kind: type) -> str:
    """Return the name of a test for a message, without running any code of the plug-in's.

    Examples
    --------
    >>> from resinid.methods.float_test.method import FloatTest
    >>> test_of(FloatTest), test_of(int)
    ('float', 'int')
    """
    found: object = inspect.getattr_static(kind, "test", None)
    return found if isinstance(found, str) else kind.__name__


def calling(function: Callable[..., T], who: str, *arguments: object, kind: type | None = None) -> T:
    """Call what a plug-in offers, in a thread of its own and no longer than :data:`LIMIT`.

    Raises
    ------
    PlugInError
        It raised an error or did not return in time; ``who`` is named.
    """
    done: list[T] = []
    failed: list[BaseException] = []
    said: list[str] = []

    def run() -> None:
        try:
            done.append(function(*arguments))
        except BaseException as error:  # noqa: BLE001 - because a plug-in may fail in any way and must not take us along
            said.append(_said(error))
            failed.append(error)

    thread = threading.Thread(target=run, daemon=True, name=f"resinid plug-in: {who}")
    thread.start()
    thread.join(LIMIT)
    if failed:
        raise PlugInError(f"{who}: {said[0]}", kind) from failed[0]
    if not done:
        raise PlugInError(f"{who}: did not return within {LIMIT:g} s", kind)
    return done[0]


def _said(error: BaseException) -> str:
    try:
        return f"{type(error).__name__}: {error}"
    except BaseException:  # noqa: BLE001 - because an error of a plug-in's may even fail at saying what it is
        return type(error).__name__


def is_finite(given: object) -> TypeGuard[float]:
    """Return whether something is a finite real number.

    Examples
    --------
    >>> is_finite(0.5), is_finite(float("nan")), is_finite(True), is_finite("0.5")
    (True, False, False, False)
    """
    number = isinstance(given, (int, float, np.integer, np.floating)) and not isinstance(given, bool)
    return number and bool(-LARGEST <= given <= LARGEST)  # type: ignore[operator]  # because the line above says so


def array_of(given: object) -> NDArray[np.float64]:
    """Return a copy of an array of real numbers; what would be lost in making it one is refused.

    Raises
    ------
    TypeError
        It holds complex numbers, texts or objects, or some of its entries are masked.

    Examples
    --------
    >>> array_of([1, 2]).tolist()
    [1.0, 2.0]
    """
    if np.ma.isMaskedArray(given) and np.ma.getmaskarray(given).any():
        raise TypeError("returned an array with masked entries; expected an array of real numbers")
    found = np.asarray(given)
    if found.dtype.kind not in "biuf":
        raise TypeError(f"returned an array of {found.dtype}; expected an array of real numbers")
    return np.array(found, dtype=np.float64)


def is_writable(text: str) -> bool:
    r"""Return whether a text can be written, which half a character cannot.

    Examples
    --------
    >>> is_writable("5 °C"), is_writable("\ud800")
    (True, False)
    """
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True
