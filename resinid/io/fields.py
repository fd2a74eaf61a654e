"""Fields of a test: how each entry a person writes becomes a typed value.

A test is a frozen dataclass. Its fields are declared with the helpers below,
which attach the rule that turns what was written into the field's value;
:func:`build` applies the rules and reports every fault of the entry at once.
"""

from __future__ import annotations

import dataclasses
import functools
from dataclasses import MISSING, dataclass
from typing import TYPE_CHECKING, Any, Final, Protocol, TypeVar

from resinid.errors import Fault, Faults, InputError, safe_repr
from resinid.io.arguments import as_float, plain_of, unplaced
from resinid.io.close_words import nearest, same_word
from resinid.io.reading import Reading, is_real, read
from resinid.quantities import QUANTITIES, Quantity

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

__all__ = [
    "FieldRule",
    "build",
    "choice",
    "close_to",
    "faults_of_readings",
    "field_rules",
    "flag",
    "limits_of",
    "measured",
    "needed_of",
    "number",
    "options_of",
    "quantity_of",
    "text",
    "unbuild",
    "unknown",
    "written_with",
]

T = TypeVar("T")
_KEY: Final = "resinid.io"
_LONGEST_TEXT: Final = 200
_MOST_STRANGE: Final = 20


class FieldRule(Protocol):
    """How one field is read and written."""

    def parse(self, value: object) -> Any:  # noqa: ANN401 - each rule has a type of its own
        """Return the field's value; raise InputError with place-less faults."""

    def dump(self, value: Any) -> object:  # noqa: ANN401 - each rule has a type of its own
        """Return what :meth:`parse` takes back, made of JSON types."""

    def expects(self) -> str:
        """Say in a few words what to write."""


@dataclass(frozen=True, slots=True)
class _Measured:
    quantity: Quantity

    def parse(self, value: object) -> Reading:
        return read(value, self.quantity)

    def dump(self, value: Reading) -> object:
        return {"value": value.value, "u": value.u, "unit": self.quantity.unit}

    def expects(self) -> str:
        return f"{self.quantity.name.replace('_', ' ')}, for example '{self.quantity.example}'"


@dataclass(frozen=True, slots=True)
class _Choice:
    options: tuple[str, ...]

    def parse(self, value: object) -> str:
        if isinstance(value, str):
            wanted = value.strip().lower()
            for option in self.options:
                if option.lower() == wanted:
                    return option
            if len(value) <= _LONGEST_TEXT and (same := same_word(value, self.options)):
                return same
        raise unplaced(
            f"{safe_repr(value, _LONGEST_TEXT)} is not one of: {', '.join(self.options)}{close_to(value, self.options)}"
        )

    def dump(self, value: str) -> object:
        return value

    def expects(self) -> str:
        return "one of: " + ", ".join(self.options)


@dataclass(frozen=True, slots=True)
class _Flag:
    def parse(self, value: object) -> bool:
        if isinstance(value, bool):
            return value
        raise unplaced(f"{safe_repr(value, _LONGEST_TEXT)} is not true or false")

    def dump(self, value: object) -> object:
        return value

    def expects(self) -> str:
        return "true or false"


@dataclass(frozen=True, slots=True)
class _Number:
    low: float
    high: float

    def parse(self, value: object) -> float:
        read = as_float(value)
        if not self.low <= read <= self.high:
            raise unplaced(f"{safe_repr(value, _LONGEST_TEXT)} is not a number from {self.low:g} to {self.high:g}")
        return read

    def dump(self, value: object) -> object:
        return value

    def expects(self) -> str:
        return f"a number from {self.low:g} to {self.high:g}"


@dataclass(frozen=True, slots=True)
class _Text:
    def parse(self, value: object) -> str:
        if isinstance(value, str) and len(value) <= _LONGEST_TEXT:
            return value
        raise unplaced(f"{safe_repr(value, _LONGEST_TEXT)} is not a text of at most {_LONGEST_TEXT} characters")

    def dump(self, value: object) -> object:
        return value

    def expects(self) -> str:
        return "a short text"


def close_to(value: object, names: Iterable[str]) -> str:
    """Return ``"; did you mean ...?"`` for a near miss, else nothing.

    Examples
    --------
    >>> close_to("flaots", ["floats", "sinks"])
    "; did you mean 'floats'?"
    """
    near = nearest(value[:_LONGEST_TEXT], names) if isinstance(value, str) else ""
    return f"; did you mean {near!r}?" if near else ""


def unknown(entries: Iterable[object], known: Iterable[str], why: str = "is not known here; expected") -> list[Fault]:
    """Return a fault for each key that is not known; of more than some, only how many there are.

    Examples
    --------
    >>> print(*unknown(["test", "liqiud"], ["test", "liquid"]))
    liqiud: is not known here; expected test, liquid; did you mean 'liquid'?
    """
    names = tuple(known)
    strange = [key for key in entries if key not in names]
    found = [
        Fault(safe_repr(key).strip("'"), f"{why} {', '.join(names)}{close_to(key, names)}")
        for key in strange[:_MOST_STRANGE]
    ]
    if len(strange) > _MOST_STRANGE:
        found.append(Fault("", f"and {len(strange) - _MOST_STRANGE} more keys that are not known"))
    return found


def written_with(rule: FieldRule, default: Any = MISSING) -> Any:  # noqa: ANN401 - as dataclasses.field is typed
    """Declare a dataclass field that is read by ``rule``."""
    if default is MISSING:
        return dataclasses.field(metadata={_KEY: rule})
    return dataclasses.field(default=default, metadata={_KEY: rule})


def measured(name: str | Quantity, default: Any = MISSING) -> Any:  # noqa: ANN401 - as dataclasses.field is typed
    """Declare a field that holds a :class:`Reading` of a quantity of the vocabulary, or of a plug-in's own."""
    return written_with(_Measured(QUANTITIES[name] if isinstance(name, str) else name), default)


def choice(options: Iterable[str], default: Any = MISSING) -> Any:  # noqa: ANN401 - as dataclasses.field is typed
    """Declare a field that holds one of ``options``."""
    return written_with(_Choice(tuple(options)), default)


def flag(*, default: bool) -> Any:  # noqa: ANN401 - as dataclasses.field is typed
    """Declare a field that is true or false."""
    return written_with(_Flag(), default)


def number(low: float, high: float, default: Any = MISSING) -> Any:  # noqa: ANN401 - as dataclasses.field is typed
    """Declare a field that holds a bare number within limits, such as a probability."""
    return written_with(_Number(low, high), default)


def text(default: str = "") -> Any:  # noqa: ANN401 - as dataclasses.field is typed
    """Declare a field that holds a short free text."""
    return written_with(_Text(), default)


def field_rules(kind: type) -> dict[str, FieldRule]:
    """Return the rule of each declared field of a test, in order."""
    return {field.name: field.metadata[_KEY] for field in dataclasses.fields(kind) if _KEY in field.metadata}


def needed_of(kind: type) -> tuple[str, ...]:
    """Return the names of the declared fields of a test that have no default."""
    fields = dataclasses.fields(kind)
    return tuple(field.name for field in fields if _KEY in field.metadata and field.default is MISSING)


def quantity_of(rule: FieldRule) -> Quantity | None:
    """Return the quantity a rule reads, or None where it reads no measured value."""
    return rule.quantity if isinstance(rule, _Measured) else None


def options_of(rule: FieldRule) -> tuple[str, ...]:
    """Return the words a rule chooses from; none where it is no choice."""
    return rule.options if isinstance(rule, _Choice) else ()


def limits_of(rule: FieldRule) -> tuple[float, float] | None:
    """Return the limits of a bare number, or None where the rule reads something else."""
    return (rule.low, rule.high) if isinstance(rule, _Number) else None


def build(kind: type[T], entries: Mapping[Any, object]) -> T:
    """Make one ``kind`` from what was written, or report every fault in it.

    Parameters
    ----------
    kind : type
        A frozen dataclass whose fields were declared with this module's helpers.
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
    faults.extend(unknown(entries, rules))
    for key, entry in entries.items():
        rule = rules.get(key) if isinstance(key, str) else None
        if rule is None:
            continue
        try:
            values[key] = rule.parse(entry)
        except InputError as error:
            faults.extend(error.faults, under=key)
    for key in needed_of(kind):
        if key not in entries:
            faults.add(key, f"is missing; expected {rules[key].expects()}")
    faults.check()
    made = kind(**values)
    found: Iterable[Fault] = made.faults() if hasattr(made, "faults") else ()
    faults.extend(found)
    faults.check()
    return made


@functools.lru_cache(maxsize=256)
def _declared_of(kind: type) -> tuple[tuple[str, FieldRule, object], ...]:
    fields = dataclasses.fields(kind) if dataclasses.is_dataclass(kind) else ()
    return tuple((field.name, field.metadata[_KEY], field.default) for field in fields if _KEY in field.metadata)


def faults_of_readings(made: object) -> Faults:
    """Return what is wrong with the fields of a test that was made without :func:`build`.

    Examples
    --------
    >>> from resinid.methods.displacement.method import MeasuredDensity
    >>> print(*faults_of_readings(MeasuredDensity(Reading(-5.0, 0.01))))
    density: -5 g/cm3 is impossible for a density; expected 0.005 to 3 g/cm3
    """
    faults = Faults()
    for name, rule, default in _declared_of(type(made)):  # type: ignore[arg-type]  # because mypy takes a class for unhashable
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
    if isinstance(rule, _Measured):
        if not isinstance(value, Reading):
            raise unplaced(
                f"{safe_repr(value, _LONGEST_TEXT)} is no Reading; "
                "make the test with resinid.observe, which reads units"
            )
        if not is_real(value.value) or not is_real(value.u):
            raise unplaced(f"{safe_repr(value, _LONGEST_TEXT)} is not of numbers; make both floats")
        rule.parse(value)
    elif isinstance(rule, (_Choice, _Flag, _Number, _Text)):
        made = rule.parse(value)
        if made != value:
            raise unplaced(f"{safe_repr(value, _LONGEST_TEXT)} is not as it is held; write {made!r}")
    else:
        try:
            same = _known_as_made(rule, value)  # type: ignore[arg-type]  # because what cannot be hashed is caught
        except TypeError:
            same = _as_made(rule, value)
        if not same:
            what = f"is not as it is held; let resinid.observe or Batch.of read {rule.expects()}"
            raise unplaced(f"{safe_repr(value, _LONGEST_TEXT)} {what}")


def _as_made(rule: FieldRule, value: object) -> bool:
    """Return whether a rule that is not of this module makes this value, of itself or of what it is written as."""
    return _makes(lambda: rule.parse(value), value) or _makes(lambda: rule.parse(rule.dump(value)), value)


_known_as_made: Final = functools.lru_cache(maxsize=1024, typed=True)(_as_made)


def _makes(make: Callable[[], object], value: object) -> bool:
    try:
        return bool(make() == value)
    except Exception:  # noqa: BLE001 - because what was put into a field may fail in any way
        return False


def unbuild(made: object) -> dict[str, object]:
    """Return entries from which :func:`build` makes an equal object; JSON types only."""
    out: dict[str, object] = {}
    for declared in dataclasses.fields(made):  # type: ignore[arg-type]  # because only dataclasses come here
        rule: FieldRule | None = declared.metadata.get(_KEY)
        value = getattr(made, declared.name)
        if rule is not None and value is not None and value != declared.default:
            out[declared.name] = plain_of(rule.dump(value))
    return out
