"""The registry: built-in methods, and plug-ins found through entry points.

Steps, one function each: discover, remove duplicates, load in isolation, check,
order, freeze. Built-in tests are found without looking at entry points at all.
"""

from __future__ import annotations

import functools
import warnings
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Any, Final

from resinid.door.fields import close_to
from resinid.errors import MethodError, MethodWarning, UnknownNameError
from resinid.methods import displacement, flexibility, float_test, melt

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping
    from importlib.metadata import EntryPoint

    from resinid.methods.contract import Method, Observation

__all__ = ["GROUP", "Listed", "clear", "find_test", "listed"]

GROUP: Final = "resinid.methods"
"""Entry-point group in which plug-ins name their method object."""

BUILT_IN: Final = (displacement.METHOD, float_test.METHOD, melt.METHOD, flexibility.METHOD)
OWN: Final = "resinid.methods."
ATTRIBUTES: Final = ("name", "version", "summary", "caution", "sources", "tests")


@dataclass(frozen=True, slots=True)
class Listed:
    """A method in use and where it came from.

    Parameters
    ----------
    method : Method
    origin : str
        ``built-in``, or the distribution and entry point it was loaded from.
    """

    method: Method
    origin: str


def discover() -> list[EntryPoint]:
    """Return the entry points of the group, ordered so that installing order does not matter."""
    from importlib.metadata import entry_points

    return sorted(entry_points(group=GROUP), key=lambda e: (e.name, e.dist.name if e.dist else "", e.value))


def without_duplicates(found: Iterable[EntryPoint]) -> list[EntryPoint]:
    """Keep the first entry point of each name; warn of the others."""
    kept: dict[str, EntryPoint] = {}
    for entry in found:
        if entry.name in kept and kept[entry.name].value != entry.value:
            _warn(entry, f"has the name of {kept[entry.name].value}, which is used instead")
        kept.setdefault(entry.name, entry)
    return list(kept.values())


def load(entry: EntryPoint) -> Listed | None:
    """Load one plug-in; on any failure warn, naming it and the cause, and return None."""
    try:
        method = entry.load()
        check(method)
    except Exception as error:  # noqa: BLE001 - because a plug-in may fail in any way and must not take us along
        _warn(entry, f"was left out: {type(error).__name__}: {error}")
        return None
    version = f" {entry.dist.version}" if entry.dist else ""
    return Listed(method, f"{entry.dist.name if entry.dist else 'unknown'}{version} ({entry.value})")


def check(method: Any) -> None:  # noqa: ANN401 - because anything may come from a plug-in
    """Raise MethodError where an object does not keep the contract."""
    missing = [name for name in ATTRIBUTES if not hasattr(method, name)]
    if missing:
        raise MethodError(f"{method!r:.200} is not a method: it lacks {', '.join(missing)}; make a resinid.Method")
    if not method.tests:
        raise MethodError(f"method {method.name!r} offers no test")
    for test in method.tests:
        lacks = [name for name in ("test", "observes", "term", "describe") if not hasattr(test, name)]
        if lacks:
            raise MethodError(f"test {test!r:.200} of method {method.name!r} lacks {', '.join(lacks)}")


def _warn(entry: EntryPoint, what: str) -> None:
    owner = entry.dist.name if entry.dist else "unknown distribution"
    warnings.warn(f"method plug-in {entry.name!r} ({entry.value}, from {owner}) {what}", MethodWarning, stacklevel=2)


@functools.cache
def _all() -> tuple[Listed, ...]:
    # Our own entry points are what an installer shows; the built-in methods are in use without them.
    others = [entry for entry in discover() if not entry.value.startswith(OWN)]
    plug_ins = [found for entry in without_duplicates(others) if (found := load(entry)) is not None]
    return (*(Listed(method, "built-in") for method in BUILT_IN), *plug_ins)


def clear() -> None:
    """Forget what was discovered, so that the next listing looks again."""
    _all.cache_clear()


def listed(extra: Iterable[Method] = ()) -> tuple[Listed, ...]:
    """Return every method in use: built-in first, then plug-ins by name, then ``extra``.

    Parameters
    ----------
    extra : iterable of Method, optional
        Method objects passed directly, without being installed.

    Raises
    ------
    MethodError
        An extra object does not keep the contract.
    """
    given = tuple(extra)
    for method in given:
        check(method)
    return (*_all(), *(Listed(method, "passed directly") for method in given))


_BUILT_IN_TESTS: Final[Mapping[str, type[Observation]]] = MappingProxyType(
    {test.test: test for method in BUILT_IN for test in method.tests}
)


def find_test(name: str, extra: Iterable[Method] = ()) -> type[Observation]:
    """Return the class of the test of that name; built-in tests come first.

    Raises
    ------
    UnknownNameError
        No method in use offers such a test.
    """
    if name in _BUILT_IN_TESTS:
        return _BUILT_IN_TESTS[name]
    known: dict[str, type[Observation]] = dict(_BUILT_IN_TESTS)
    for entry in listed(extra):
        for test in entry.method.tests:
            known.setdefault(test.test, test)
    if name not in known:
        raise UnknownNameError(f"no method offers the test {name!r}; known: {', '.join(known)}{close_to(name, known)}")
    return known[name]
