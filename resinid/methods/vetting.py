"""Whether a method keeps the contract, looked into before anything else of it is used."""

from __future__ import annotations

import dataclasses
import re
import unicodedata
from typing import TYPE_CHECKING, Any, Final

from resinid.methods.brought import property_faults
from resinid.methods.contract import Method

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["PLAIN_NAME", "faults_of", "strange_signs"]

ATTRIBUTES: Final = ("name", "version", "summary", "caution", "sources", "tests")
WORDS: Final = ("name", "version", "summary", "caution")
NEEDED: Final = ("name", "version", "summary")

PLAIN_NAME: Final = re.compile(r"\w+")
"""What a test may be called, so that a column of a table can name it."""


def faults_of(method: Any) -> list[str]:  # noqa: ANN401 - because anything may come from a plug-in
    """Return all that is wrong with a method; runs code of the plug-in's.

    Examples
    --------
    >>> from resinid.methods.registry import built_in
    >>> faults_of(built_in()[0])
    []
    """
    missing = [name for name in ATTRIBUTES if not hasattr(method, name)]
    if missing:
        return [f"{method!r:.200} is not a method: it lacks {', '.join(missing)}; make a resinid.Method"]
    if type(method) is not Method:
        return [f"{method!r:.200} is not a method: it is a {type(method).__name__}; make a resinid.Method"]
    words = {name: getattr(method, name) for name in WORDS}
    if not all(isinstance(word, str) for word in words.values()) or not all(words[name] for name in NEEDED):
        return [f"method {method.name!r:.80} needs a name, a version and a summary, all texts"]
    who = f"method {method.name!r:.80}"
    faults = [f"{name} of {who} has signs that cannot be shown" for name, word in words.items() if strange_signs(word)]
    for name in ("sources", "tools"):
        given: object = getattr(method, name)
        if not isinstance(given, tuple) or not all(isinstance(each, str) for each in given):
            faults.append(f"{name} of {who} is {given!r:.80}; expected a tuple of texts")
        elif any(map(strange_signs, given)):
            faults.append(f"{name} of {who} has signs that cannot be shown")
    tests: object = method.tests
    if not isinstance(tests, tuple):
        return [*faults, f"tests of {who} is {tests!r:.80}; expected a tuple of classes"]
    if not tests:
        faults.append(f"{who} offers no test")
    faults += [f"test {fault}" for test in tests for fault in _test_faults(test, method.name)]
    return faults + _twice(tests, who)


def strange_signs(text: str) -> bool:
    r"""Return whether a text holds signs that cannot be written or that steer a terminal; lines may end.

    Examples
    --------
    >>> strange_signs("knock on it"), strange_signs("\x1b[2J")
    (False, True)
    """
    return any(unicodedata.category(sign) in {"Cc", "Cs"} for sign in text if sign != "\n")


def _test_faults(test: Any, method: str) -> Iterable[str]:  # noqa: ANN401 - because anything may come from a plug-in
    of = f"of method {method!r:.80}"
    lacks = [name for name in ("test", "observes", "term", "describe") if not hasattr(test, name)]
    if lacks:
        yield f"{test!r:.200} {of} lacks {', '.join(lacks)}"
        return
    if not isinstance(test, type):
        yield f"{test!r:.200} {of} is no class; hand over the class, not what it makes"
        return
    name: object = getattr(test, "test")  # noqa: B009 - because a class as such has none
    if not isinstance(name, str) or not PLAIN_NAME.fullmatch(name):
        yield f"{test.__name__} {of} has the name {name!r:.80}; expected letters, digits and underscores"
        return
    who = f"{name!r:.80} {of}"
    parameters = getattr(test, "__dataclass_params__", None)
    if not dataclasses.is_dataclass(test) or not getattr(parameters, "frozen", False):
        yield f"{who} is not a frozen dataclass"
    for part in ("term", "describe", "plans", "many"):
        what = getattr(test, part, None)
        if what is not None and not callable(what):
            yield f"{who}: {part} cannot be called"
    if not isinstance(getattr(test, "only_if_allowed", ""), str):
        yield f"{who}: only_if_allowed is {test.only_if_allowed!r:.80}; expected the name of a danger"
    if not isinstance(getattr(test, "clears_heating", True), bool):
        yield f"{who}: clears_heating is {test.clears_heating!r:.80}; expected True or False"
    for fault in property_faults(test.observes):
        yield f"{who}: {fault}"


def _twice(tests: tuple[object, ...], who: str) -> list[str]:
    names = [name for test in tests if isinstance(name := getattr(test, "test", None), str)]
    return [f"{who} has two tests named {name!r}" for name in dict.fromkeys(names) if names.count(name) > 1]
