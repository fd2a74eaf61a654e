"""What is wrong in what a method declares, before any of its tests is made; for the conformance check."""

from __future__ import annotations

import dataclasses
import re
import sys
import unicodedata
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final, cast

import numpy as np

from resinid.scoring.grid import Axis
from resinid.scoring.properties import CORE, Dependence

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.methods.contract import Method

__all__ = ["PLAIN_NAME", "is_finite", "is_hashable", "method_faults", "strange_signs"]

WORDS: Final = ("name", "version", "summary", "caution")

PLAIN_NAME: Final = re.compile(r"\w+")
"""What a test may be called, so that a column of a table can name it."""


def is_finite(value: object) -> bool:
    """Return whether something is a finite real number.

    Examples
    --------
    >>> is_finite(0.5), is_finite(float("nan")), is_finite(True), is_finite("0.5")
    (True, False, False, False)
    """
    number = isinstance(value, (int, float, np.integer, np.floating)) and not isinstance(value, bool)
    return number and bool(abs(value) <= sys.float_info.max)  # type: ignore[arg-type]  # because the line above says so


def is_hashable(value: object) -> bool:
    """Return whether something can be hashed."""
    try:
        hash(value)
    except Exception:  # noqa: BLE001 - because a plug-in's hash may fail in any way
        return False
    return True


def strange_signs(text: str) -> bool:
    r"""Return whether a text holds signs that cannot be written or that steer a terminal; lines may end.

    Examples
    --------
    >>> strange_signs("knock on it"), strange_signs("\x1b[2J")
    (False, True)
    """
    return any(unicodedata.category(sign) in {"Cc", "Cs"} for sign in text if sign != "\n")


def method_faults(method: Method) -> list[str]:
    """Return what is wrong with a method that has all that the contract names."""
    who = f"method {method.name!r:.80}"
    faults: list[str] = []
    for name in WORDS:
        word: object = getattr(method, name)
        if not isinstance(word, str) or (not word and name != "caution"):
            faults.append(f"{name} of {who} is {word!r:.80}; expected a text")
        elif strange_signs(word):
            faults.append(f"{name} of {who} has signs that cannot be shown")
    for name in ("sources", "tools"):
        words: object = getattr(method, name)
        if not isinstance(words, tuple) or not all(isinstance(each, str) for each in words):
            faults.append(f"{name} of {who} is {words!r:.80}; expected a tuple of texts")
        elif any(map(strange_signs, words)):
            faults.append(f"{name} of {who} has signs that cannot be shown")
    if method.sources == ():
        faults.append(f"{who} names no source; write 'common practice, no source' where there is none")
    if not method.tests:
        faults.append(f"{who} offers no test")
    faults += [f"{test.test!r:.80} of {who} {fault}" for test in method.tests for fault in _test_faults(test)]
    names = [test.test for test in method.tests]
    return faults + [f"{who} has two tests named {name!r}" for name in dict.fromkeys(names) if names.count(name) > 1]


def _test_faults(test: Any) -> Iterable[str]:  # noqa: ANN401 - because anything may come from a plug-in
    if not PLAIN_NAME.fullmatch(test.test):
        yield "has a name of other signs than letters, digits and underscores"
    parameters = getattr(test, "__dataclass_params__", None)
    if not dataclasses.is_dataclass(test) or not getattr(parameters, "frozen", False):
        yield "is not a frozen dataclass"
    for part in ("term", "describe", "plans", "many"):
        what = getattr(test, part, None)
        if what is not None and not callable(what):
            yield f"has a {part} that cannot be called"
    if not isinstance(danger := getattr(test, "only_if_allowed", ""), str):
        yield f"has {danger!r:.80} as only_if_allowed; expected the name of a danger"
    if not isinstance(clears := getattr(test, "clears_heating", True), bool):
        yield f"has {clears!r:.80} as clears_heating; expected True or False"
    if isinstance(test.observes, str):
        if test.observes not in CORE:
            yield f"observes {test.observes!r:.80}, which is no core property: {', '.join(CORE)}"
    else:
        yield from _property_faults(test.observes)


def _property_faults(what: Any) -> Iterable[str]:  # noqa: ANN401 - because anything may come from a plug-in
    of = f"of its property {what.name!r:.80}"
    if not isinstance(what.name, str) or not what.name:
        yield f"observes what has the name {what.name!r:.80}; expected a text"
    if not callable(what.latent):
        yield f"has a latent {of} that cannot be called"
    if not is_hashable(what):
        yield f"has a property {what.name!r:.80} that cannot be hashed; make it a frozen dataclass"
    folder = getattr(what, "folder", None)
    if folder is not None and not isinstance(folder, Path):
        yield f"has {folder!r:.80} as folder {of}; expected a pathlib.Path"
    if not _is_axis(getattr(what, "axis", None)):
        yield f"has an axis {of} that is no resinid Axis with finite ends and steps above zero"
    if not isinstance(what.depends, tuple):
        yield f"has {what.depends!r:.80} as depends {of}; expected a tuple of Dependence"
        return
    for link in what.depends:
        if not isinstance(link, Dependence):
            yield f"has {link!r:.80} in depends {of}; expected a Dependence"
        elif not (
            isinstance(cast("object", link.on), str) and link.why and is_finite(link.share) and 0 <= link.share <= 1
        ):
            yield f"has a dependence {of} on {link.on!r:.80} without a reason and a share from 0 to 1"


def _is_axis(axis: object) -> bool:
    if axis is None:
        return True
    if not isinstance(axis, Axis) or not isinstance(axis.logarithmic, bool):
        return False
    ends = (axis.low, axis.high, axis.centre, axis.below, axis.above, axis.step)
    return all(map(is_finite, ends)) and axis.low < axis.high and min(axis.below, axis.above, axis.step) > 0
