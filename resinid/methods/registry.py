"""The registry: built-in methods, and plug-ins found through entry points.

One function a step: discover in a fixed order, remove duplicates (built-in methods win, then
the first by name), load, and warn of what cannot be used. A built-in method is a folder beside
this file whose ``method.py`` has a ``METHOD``; its tests are found without looking at entry points.
"""

from __future__ import annotations

import functools
import pkgutil
import warnings
from dataclasses import dataclass, fields
from importlib import import_module
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, cast

from resinid.errors import Faults, MethodError, MethodWarning, NotAllowedError, UnknownNameError, safe_repr
from resinid.io.arguments import as_names
from resinid.io.close_words import did_you_mean
from resinid.io.fields import asked
from resinid.methods.contract import Method
from resinid.scoring.properties import CORE, property_name

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence
    from importlib.metadata import EntryPoint

    from resinid.methods.contract import Observation
    from resinid.scoring.properties import Observable

__all__ = [
    "BUILT_IN",
    "GROUP",
    "Listed",
    "allowed",
    "built_in",
    "clear",
    "find_test",
    "is_built_in",
    "listed",
    "trusted_tests",
]

GROUP: Final = "resinid.methods"
"""Entry-point group in which plug-ins name their method object."""

OWN: Final = "resinid.methods."

BUILT_IN: Final = "built-in"

METHOD_HAS: Final = tuple(field.name for field in fields(Method))
TEST_HAS: Final = ("test", "observes", "term", "describe")
PROPERTY_HAS: Final = ("name", "depends", "latent")
"""What the contract names of a method, of a test and of a property that a method brings along."""

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

    def to_dict(self) -> dict[str, Any]:
        """Return the method as JSON types: of each test the fields, and what each of them takes.

        Examples
        --------
        >>> next(entry for entry in listed() if entry.method.name == "float test").to_dict()["words"]
        {'float': {'outcome': ['floats', 'hovers', 'sinks']}}
        """
        fields = {test.test: asked(test) for test in self.method.tests}
        return {
            "name": self.method.name,
            "version": self.method.version,
            "origin": self.origin,
            "summary": self.method.summary,
            "tests": list(fields),
            "fields": fields,
            "words": {
                test: words
                for test, form in fields.items()
                if (words := {field: each["words"] for field, each in form.items() if each["words"]})
            },
            "allow": {test.test: getattr(test, "only_if_allowed", "") for test in self.method.tests},
            "caution": self.method.caution,
            "sources": list(self.method.sources),
        }


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
    try:
        method = entry.load()
        if any(method is other.method for other in others):
            return None
        check(method)
        taken = clash(method, others)
    except (Exception, SystemExit) as error:  # noqa: BLE001 - a module may fail in any way, or leave, when it is imported
        taken = f"{type(error).__name__}: {error}"
    if taken:
        _warn(entry, f"was left out: {taken}")
        return None
    version = f" {entry.dist.version}" if entry.dist else ""
    return Listed(method, f"{entry.dist.name if entry.dist else 'unknown'}{version} ({entry.value})")


def check(method: Any) -> None:  # noqa: ANN401 - because anything may come from a plug-in
    """Raise MethodError where an object lacks what the contract names; ``check_method`` looks into all the rest."""
    _need(method, "method", METHOD_HAS)
    if not isinstance(method.name, str) or not isinstance(method.tests, tuple):
        raise MethodError(f"method {method.name!r:.80} needs a text as name and a tuple of classes as tests")
    for test in method.tests:
        who = f"test of method {method.name!r:.80}"
        _need(test, who, TEST_HAS)
        if not isinstance(test.test, str) or not isinstance(test, type):
            raise MethodError(f"{test!r:.200} is no {who}: it needs to be a class with a text as the name test")
        if not isinstance(observes(test), str):
            _need(observes(test), f"property for a {who}", PROPERTY_HAS)


def _need(given: object, what: str, names: Iterable[str]) -> None:
    missing = [name for name in names if not hasattr(given, name)]
    if missing:
        raise MethodError(f"{given!r:.200} is no {what}: it lacks {', '.join(missing)}")


def clash(method: Method, others: Iterable[Listed]) -> str:
    """Return what of a method is another's already: a name, or a property known otherwise."""
    for entry in others:
        if entry.method is method:
            continue
        theirs = _tests([entry.method])
        of = f"method {entry.method.name!r} ({entry.origin})"
        if entry.method.name == method.name:
            return f"its name is that of {of}"
        for test in method.tests:
            if theirs.get(test.test, test) is not test:
                return f"its test {test.test!r} has the name of one of {of}"
        known = {property_name(what): what for what in map(observes, entry.method.tests)}
        for what in map(observes, method.tests):
            if known.get(property_name(what), what) != what:
                return f"it knows {property_name(what)!r} otherwise than {of}"
    own = [property_name(what) for what in map(observes, method.tests) if not isinstance(what, str)]
    taken = [name for name in own if name in CORE]
    return f"it brings along {taken[0]!r}, which is a core property" if taken else ""


def observes(test: type[Observation]) -> Observable:
    """Return what a test's class observes."""
    return cast("Observable", test.observes)


def _warn(entry: EntryPoint, what: str) -> None:
    owner = entry.dist.name if entry.dist else "unknown distribution"
    warnings.warn(f"method plug-in {entry.name!r} ({entry.value}, from {owner}) {what}", MethodWarning, stacklevel=2)


def _loaded(folder: str) -> Method:
    method: Method = import_module(f"{OWN}{folder}.method").METHOD
    return method


@functools.cache
def built_in() -> tuple[Method, ...]:
    """Return the methods that come with this package, one a folder beside this file."""
    folders = sorted(found.name for found in pkgutil.iter_modules([str(Path(__file__).parent)]) if found.ispkg)
    return tuple(_loaded(folder) for folder in (*FIRST, *(folder for folder in folders if folder not in FIRST)))


@functools.cache
def _all() -> tuple[Listed, ...]:
    found = [Listed(method, BUILT_IN) for method in built_in()]
    for entry in without_duplicates(discover()):
        if plug_in := load(entry, found):
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
        check(method)
        if taken := clash(method, found):
            raise MethodError(f"method {method.name!r} cannot be used beside the others: {taken}")
        found.append(Listed(method, "passed directly"))
    return tuple(found)


def _tests(methods: Iterable[Method]) -> dict[str, type[Observation]]:
    return {test.test: test for method in methods for test in method.tests}


@functools.cache
def _first_tests() -> dict[str, type[Observation]]:
    return _tests(_loaded(folder) for folder in FIRST)


@functools.cache
def _built_in_ids() -> frozenset[int]:
    return frozenset(map(id, _tests(built_in()).values()))


@functools.cache
def _first_ids() -> frozenset[int]:
    return frozenset(map(id, _first_tests().values()))


def is_built_in(kind: type) -> bool:
    """Return whether a test's class is one that a folder beside this file offers.

    A subclass of a built-in test is a plug-in, whatever its name or module: classes are compared by identity.

    Examples
    --------
    >>> from resinid.methods.float_test.method import FloatTest
    >>> is_built_in(FloatTest), is_built_in(type("Float", (FloatTest,), {}))
    (True, False)
    """
    return id(kind) in _first_ids() or id(kind) in _built_in_ids()


def trusted_tests(names: object, extra: Iterable[Method] = ()) -> tuple[type[Observation], ...]:
    """Return the plug-ins' tests that a caller trusts, given names of methods or tests.

    Raises
    ------
    InputError
        It is no list of texts, or a name is of no method or test in use, or of a method and of
        another one's test.
    """
    wanted = as_names("trusted", names, "slide angle")
    if not wanted:
        return ()
    methods = {entry.method.name: entry.method.tests for entry in listed(extra)}
    tests = _tests(entry.method for entry in listed(extra))
    with Faults() as faults:
        for name in wanted:
            of, test = methods.get(name), tests.get(name)
            if of is None and test is None:
                near = did_you_mean(name, [*methods, *tests])
                faults.add("trusted", f"no method or test in use is called {safe_repr(name)}{near}")
            elif of is not None and test is not None and test not in of:
                faults.add(
                    "trusted", f"{safe_repr(name)} is a method and another one's test; use another of their names"
                )
    return tuple(test for name in wanted for test in methods.get(name) or (tests[name],))


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
        near = did_you_mean(name, known)
        raise UnknownNameError(f"no method offers the test {safe_repr(name)}; known: {', '.join(known)}{near}")
    return known[name]


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
