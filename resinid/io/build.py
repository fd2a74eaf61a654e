"""Entries made into a test, all faults reported at once, and a test written as entries again."""

from __future__ import annotations

import functools
from typing import TYPE_CHECKING, Any, Final, TypeVar

from resinid.errors import Fault, Faults, InputError, safe_repr
from resinid.io.arguments import as_json_types, unplaced
from resinid.io.close_words import unknown_keys
from resinid.io.fields import LONGEST_TEXT, declared_fields, field_rules, is_plain, quantity_of, required_fields
from resinid.io.reading import Reading, is_real

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from resinid.io.fields import FieldRule

__all__ = ["build", "faults_of_readings", "unbuild"]

T = TypeVar("T")


def build(kind: type[T], entries: Mapping[Any, object]) -> T:
    """Make one ``kind`` from what was written, or report every fault in it.

    Parameters
    ----------
    kind : type
        A frozen dataclass whose fields were declared with :mod:`resinid.io.fields`.
        If it has a method ``faults()``, that is asked about the finished object.
    entries : mapping of str to object
        What was written.

    Returns
    -------
    T

    Raises
    ------
    InputError
        Unknown or missing keys, values no rule takes, or faults of the whole.
    """
    faults = Faults()
    rules = field_rules(kind)
    values: dict[str, Any] = {}
    faults.extend(unknown_keys(entries, rules))
    for key, entry in entries.items():
        rule = rules.get(key) if isinstance(key, str) else None
        if rule is None:
            continue
        try:
            values[key] = rule.parse(entry)
        except InputError as error:
            faults.extend(error.faults, under=key)
    for key in required_fields(kind):
        if key not in entries:
            faults.add(key, f"is missing; expected {rules[key].expects()}")
    faults.check()
    made = kind(**values)
    found: Iterable[Fault] = made.faults() if hasattr(made, "faults") else ()
    faults.extend(found)
    faults.check()
    return made


def faults_of_readings(made: object) -> Faults:
    """Return what is wrong with the fields of a test that was made without :func:`build`.

    Examples
    --------
    >>> from resinid.methods.displacement.method import MeasuredDensity
    >>> print(*faults_of_readings(MeasuredDensity(Reading(-5.0, 0.01))))
    density: -5 g/cm3 is impossible for a density; expected 0.005 to 3 g/cm3
    """
    faults = Faults()
    for name, rule, default in declared_fields(type(made)):  # type: ignore[arg-type]  # because mypy takes a class for unhashable
        value = getattr(made, name)
        if value is default:
            continue
        try:
            _check_held(rule, value)
        except InputError as error:
            faults.extend(error.faults, under=name)
    return faults


def _check_held(rule: FieldRule, value: object) -> None:
    """Raise InputError where a field holds what its rule would not have made."""
    if quantity_of(rule) is not None:
        if not isinstance(value, Reading):
            raise unplaced(
                f"{safe_repr(value, LONGEST_TEXT)} is no Reading; make the test with resinid.observe, which reads units"
            )
        if not is_real(value.value) or not is_real(value.u):
            raise unplaced(f"{safe_repr(value, LONGEST_TEXT)} is not of numbers; make both floats")
        rule.parse(value)
    elif is_plain(rule):
        made = rule.parse(value)
        if made != value:
            raise unplaced(f"{safe_repr(value, LONGEST_TEXT)} is not as it is held; write {made!r}")
    else:
        try:
            same = _known_as_made(rule, value)  # type: ignore[arg-type]  # because what cannot be hashed is caught
        except TypeError:
            same = _as_made(rule, value)
        if not same:
            what = f"is not as it is held; let resinid.observe or Batch.of read {rule.expects()}"
            raise unplaced(f"{safe_repr(value, LONGEST_TEXT)} {what}")


def _as_made(rule: FieldRule, value: object) -> bool:
    """Return whether a rule of a plug-in or of another module makes this value, from it or from its written form."""
    return _makes(lambda: rule.parse(value), value) or _makes(lambda: rule.parse(rule.dump(value)), value)


_known_as_made: Final = functools.lru_cache(maxsize=1024, typed=True)(_as_made)


def _makes(make: Callable[[], object], value: object) -> bool:
    try:
        return bool(make() == value)
    except Exception:  # noqa: BLE001 - because what was put into a field may fail in any way
        return False


def unbuild(made: object) -> dict[str, object]:
    """Return entries from which :func:`build` makes an equal object; JSON types only."""
    declared = declared_fields(type(made))  # type: ignore[arg-type]  # because mypy takes a class for unhashable
    held = ((name, rule, getattr(made, name), default) for name, rule, default in declared)
    return {
        name: as_json_types(rule.dump(value))
        for name, rule, value, default in held
        if value is not None and value != default
    }
