"""The registry: built-in methods, and plug-ins found through entry points.

Steps, one function each: discover, remove duplicates, load in isolation, check,
order, freeze. A built-in method is a folder beside this file whose package has a
``METHOD``; built-in tests are found without looking at entry points at all.
"""

from __future__ import annotations

import functools
import pkgutil
import sys
import warnings
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, cast

from resinid.door.fields import close_to
from resinid.errors import MethodError, MethodWarning, NotAllowedError, TableError, UnknownNameError, shown
from resinid.methods.outside import calling
from resinid.methods.vetting import faults_of
from resinid.scoring.observed import CORE, name_of
from resinid.table.brought import sources_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from importlib.metadata import EntryPoint

    from resinid.methods.contract import Method, Observation
    from resinid.scoring.observed import Observable
    from resinid.table.entries import Source

__all__ = [
    "BUILT_IN",
    "GROUP",
    "Listed",
    "allowed",
    "built_in",
    "clear",
    "find_test",
    "folders_of",
    "listed",
    "sources_brought",
]

GROUP: Final = "resinid.methods"
"""Entry-point group in which plug-ins name their method object."""

OWN: Final = "resinid.methods."

BUILT_IN: Final = "built-in"
PASSED: Final = "a method passed directly"

FIRST: Final = ("displacement", "float_test", "melt", "flexibility")
"""Folders of the methods that are looked into first, as most readings are theirs."""


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


def load(entry: EntryPoint, others: Sequence[Listed] = ()) -> Listed | None:
    """Load one plug-in; on any failure warn, naming it and the cause, and return None."""
    who = f"loading {entry.value}"
    try:
        method = calling(entry.load, who)
        check(method, who)
        wrong = calling(clash, who, method, others)
    except MethodError as error:
        _warn(entry, f"was left out: {type(error).__name__}: {error}")
        return None
    if wrong:
        _warn(entry, f"was left out: {wrong}")
        return None
    version = f" {entry.dist.version}" if entry.dist else ""
    return Listed(method, f"{entry.dist.name if entry.dist else 'unknown'}{version} ({entry.value})")


def check(method: Any, who: str = "a method") -> None:  # noqa: ANN401 - because anything may come from a plug-in
    """Raise MethodError with every fault where an object does not keep the contract."""
    faults = calling(faults_of, who, method)
    if faults:
        raise MethodError("; ".join(faults))


def clash(method: Method, others: Iterable[Listed]) -> str:
    """Return what of a method is another's already: a test of that name, or a property known otherwise."""
    for entry in others:
        if entry.method is method:
            continue
        if entry.method.name == method.name:
            return f"its name {method.name!r} is that of another method ({entry.origin})"
        for theirs in entry.method.tests:
            for ours in method.tests:
                if ours.test == theirs.test and ours is not theirs:
                    return (
                        f"its test {ours.test!r} has the name of one of method {entry.method.name!r} ({entry.origin})"
                    )
                one, other = observes(ours), observes(theirs)
                if name_of(one) == name_of(other) and one != other:
                    return f"it knows {name_of(one)!r} otherwise than method {entry.method.name!r} ({entry.origin})"
    own = [name_of(what) for test in method.tests if not isinstance(what := observes(test), str)]
    taken = [name for name in own if name in CORE]
    return f"it brings along {taken[0]!r}, which is a core property" if taken else ""


def observes(test: type[Observation]) -> Observable:
    """Return what a test's class observes."""
    return cast("Observable", test.observes)


def _warn(entry: EntryPoint, what: str) -> None:
    owner = entry.dist.name if entry.dist else "unknown distribution"
    warnings.warn(f"method plug-in {entry.name!r} ({entry.value}, from {owner}) {what}", MethodWarning, stacklevel=2)


def _loaded(folder: str) -> Method:
    method: Method = import_module(OWN + folder).METHOD
    return method


@functools.cache
def built_in() -> tuple[Method, ...]:
    """Return the methods that come with this package, one a folder beside this file."""
    folders = sorted(found.name for found in pkgutil.iter_modules([str(Path(__file__).parent)]) if found.ispkg)
    return tuple(_loaded(folder) for folder in (*FIRST, *(folder for folder in folders if folder not in FIRST)))


@functools.cache
def _all() -> tuple[Listed, ...]:
    # Our own entry points are what an installer shows; the built-in methods are in use without them.
    others = [entry for entry in discover() if not entry.value.startswith(OWN)]
    found = [Listed(method, BUILT_IN) for method in built_in()]
    for entry in without_duplicates(others):
        plug_in = load(entry, found)
        if plug_in is not None:
            found.append(plug_in)
    return tuple(found)


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
    found = list(_all())
    for method in extra:
        if any(entry.method is method for entry in found):
            continue
        check(method, PASSED)
        wrong = calling(clash, PASSED, method, found)
        if wrong:
            raise MethodError(f"method {method.name!r} cannot be used beside the others: {wrong}")
        found.append(Listed(method, "passed directly"))
    return tuple(found)


def _tests(methods: Iterable[Method]) -> dict[str, type[Observation]]:
    return {test.test: test for method in methods for test in method.tests}


@functools.cache
def _first_tests() -> dict[str, type[Observation]]:
    return _tests(_loaded(folder) for folder in FIRST)


def find_test(name: str, extra: Iterable[Method] = ()) -> type[Observation]:
    """Return the class of the test of that name; built-in tests come first.

    Raises
    ------
    UnknownNameError
        No method in use offers such a test.
    """
    found = _first_tests().get(name) or _tests(built_in()).get(name)
    if found is not None:
        return found
    known = _tests(entry.method for entry in listed(extra))
    if name not in known:
        near = close_to(name, known)
        raise UnknownNameError(f"no method offers the test {shown(name)}; known: {', '.join(known)}{near}")
    return known[name]


def sources_brought(extra: Iterable[Method] = ()) -> tuple[Source, ...]:
    """Return the sources in the tables that methods bring along, each key once; a plug-in's faulty file is left out."""
    found: dict[str, Source] = {}
    for entry in listed(extra):
        for folder in folders_of(entry.method):
            try:
                found |= {source.key: source for source in sources_of(folder)}
            except TableError as error:
                if entry.origin == BUILT_IN:
                    raise
                what = f"sources of method {entry.method.name!r} ({entry.origin}) were left out: {error}"
                warnings.warn(what, MethodWarning, stacklevel=2)
    return tuple(found.values())


def folders_of(method: Method) -> tuple[Path, ...]:
    """Return the folders in which a method may have tables: those it names, and those of its tests' modules."""
    named = [getattr(observes(test), "folder", None) for test in method.tests]
    files = [getattr(sys.modules.get(test.__module__), "__file__", None) for test in method.tests]
    return tuple(dict.fromkeys([*filter(None, named), *(Path(file).parent for file in files if file)]))


def allowed(kind: type[Observation], allow: Iterable[str]) -> type[Observation]:
    """Return a test's class if its danger was allowed, or it has none.

    Raises
    ------
    NotAllowedError
        The test is off until a person allows its danger.
    """
    danger = getattr(kind, "only_if_allowed", "")
    if danger and danger not in tuple(allow):
        raise NotAllowedError(
            f"the test {kind.test!r} is off, for it is dangerous ({danger}); where local codes and your training "
            f"permit it, allow it with allow = [{danger!r}]"
        )
    return kind
