"""Arguments that are lists, counts and chances: what is none is refused here, before anything is done with it."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from itertools import islice
from numbers import Integral, Real
from pathlib import Path
from typing import Any, Final, TypeVar, cast

from resinid.errors import Fault, Faults, InputError, safe_repr

T = TypeVar("T")

MOST_LISTED: Final = 100_000
"""More methods, names or batches than this are taken for a slip."""

__all__ = [
    "as_float",
    "as_folder",
    "as_json_types",
    "as_names",
    "as_tuple",
    "check_counts",
    "check_kind",
    "check_prior",
    "check_text",
    "input_error",
    "unplaced",
]


def input_error(place: str, message: str) -> InputError:
    """Return the error of one fault.

    Examples
    --------
    >>> print(input_error("top", "is 0; give a whole number from 1"))
    top: is 0; give a whole number from 1
    """
    return InputError([Fault(place, message)])


def unplaced(message: str) -> InputError:
    """Return the error of one fault whose place the caller knows and adds."""
    return input_error("", message)


def as_names(place: str, given: object, example: str) -> tuple[str, ...]:
    """Return a list of texts, such as the dangers that are allowed.

    Raises
    ------
    InputError
        It is a single text, no list, or holds something else.

    Examples
    --------
    >>> as_names("allow", ["burn"], "burn")
    ('burn',)
    """
    names = _listed(place, given)
    if names is None or not all(isinstance(name, str) for name in names):
        raise input_error(
            place, f"{safe_repr(given)} is not a list of texts; write for example {place} = [{example!r}]"
        )
    return cast("tuple[str, ...]", names)


def as_tuple(place: str, given: Iterable[T], example: str) -> tuple[T, ...]:
    """Return a list of objects, such as methods.

    Raises
    ------
    InputError
        It is no list.

    Examples
    --------
    >>> as_tuple("methods", [], "METHOD")
    ()
    """
    listed = _listed(place, given)
    if listed is None:
        raise input_error(place, f"{safe_repr(given)} is not a list; write for example {place} = [{example}]")
    return cast("tuple[T, ...]", listed)


def _listed(place: str, given: object) -> tuple[object, ...] | None:
    """Return what is listed; None where it is no list. Nobody lists more than :data:`MOST_LISTED` by hand."""
    if not isinstance(given, Iterable) or isinstance(given, (str, bytes, Mapping)):
        return None
    try:
        listed = tuple(islice(given, MOST_LISTED + 1))
    except TypeError:  # such as numpy's array of no dimension, which only looks like a list
        return None
    if len(listed) > MOST_LISTED:
        raise input_error(place, f"lists more than {MOST_LISTED}; give fewer at a time")
    return listed


def check_prior(prior: object) -> None:
    """Refuse what is neither the name of a prior nor weights by resin.

    Examples
    --------
    >>> check_prior({"PP": 2.0, "PS": 1.0})
    """
    if not isinstance(prior, (str, Mapping)):
        what = "is neither the name of a prior nor weights by resin; write for example prior = {'PP': 2, 'PS': 1}"
        raise input_error("prior", f"{safe_repr(prior)} {what}")


def check_kind(place: str, given: object, kind: type, how: str) -> None:
    """Refuse what is not of a kind, such as an answer.

    Examples
    --------
    >>> check_kind("answer", "PP", dict, "resinid.identify")
    Traceback (most recent call last):
        ...
    resinid.errors.InputError: answer: 'PP' is no dict; make one with resinid.identify
    """
    if not isinstance(given, kind):
        raise input_error(place, f"{safe_repr(given)} is no {kind.__name__}; make one with {how}")


def check_text(place: str, given: object) -> None:
    """Refuse what is not the text of a document, such as its path.

    Examples
    --------
    >>> check_text("stock.csv", "name,marked")
    """
    if not isinstance(given, str):
        what = "is not the text of a document; hand over what is in it, as pathlib.Path(name).read_text() does"
        raise input_error(place, f"{safe_repr(given)} {what}")


def as_float(given: object) -> float:
    """Return a real number of any type, numpy's included, as a float; NaN for anything else, which no limits hold.

    Examples
    --------
    >>> from fractions import Fraction
    >>> as_float(Fraction(1, 2)), as_float(True), as_float("0.5")
    (0.5, nan, nan)
    """
    if not isinstance(given, Real) or isinstance(given, bool):
        return math.nan
    try:
        return float(given)
    except OverflowError:
        return math.inf


def as_folder(place: str, given: object) -> Path:
    """Return the path of a folder.

    Raises
    ------
    InputError
        It is none.

    Examples
    --------
    >>> as_folder("folder", "own").name
    'own'
    """
    try:
        path = Path(cast("str", given))
        path.exists()  # no name that is too long
    except (TypeError, ValueError, OSError):
        raise input_error(place, f"{safe_repr(given)} is no path of a folder; write for example 'my_table'") from None
    return path


def as_json_types(value: Any) -> Any:  # noqa: ANN401 - because it is whatever JSON may hold
    """Return a value with numbers of other types, such as numpy's, as plain ones, so that JSON can be made of it.

    Examples
    --------
    >>> from fractions import Fraction
    >>> as_json_types({"value": Fraction(1, 2), "of": ["water", 2]})
    {'value': 0.5, 'of': ['water', 2]}
    """
    if isinstance(value, (str, int, float)) or value is None:
        return value
    if isinstance(value, Mapping):
        return {key: as_json_types(part) for key, part in value.items()}
    if isinstance(value, (list, tuple)):
        return [as_json_types(part) for part in value]
    if isinstance(value, Integral):
        return int(value)
    return float(value) if isinstance(value, Real) else value


def check_counts(**given: object) -> None:
    """Refuse what is no whole number from 1, all together; None stands for what was not given.

    Examples
    --------
    >>> check_counts(top=3, workers=1)
    """
    faults = Faults()
    for place, count in given.items():
        whole = isinstance(count, Integral) and not isinstance(count, bool)
        if count is not None and not (whole and cast("int", count) >= 1):
            faults.add(place, f"is {safe_repr(count, 50)}; give a whole number from 1")
    faults.check()
