"""Fields of a test, as its class declares them.

A test is a frozen dataclass. Its fields are declared with the helpers below,
which attach the rule that turns what was written into the field's value;
:func:`resinid.io.build.build` applies the rules.
"""

from __future__ import annotations

import dataclasses
import functools
from dataclasses import MISSING, dataclass
from typing import TYPE_CHECKING, Any, Final, Protocol

from resinid.errors import safe_repr
from resinid.io.arguments import as_float, unplaced
from resinid.io.close_words import did_you_mean, same_word
from resinid.io.reading import Reading, read
from resinid.quantities import QUANTITIES, Quantity

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = [
    "LONGEST_TEXT",
    "FieldRule",
    "asked",
    "choice",
    "declared_fields",
    "field_rules",
    "flag",
    "is_plain",
    "limits_of",
    "measured",
    "number",
    "options_of",
    "quantity_of",
    "required_fields",
    "text",
    "written_with",
]

_KEY: Final = "resinid.io"

LONGEST_TEXT: Final = 200
"""Characters that a text may have; of a longer word no near one is looked for."""


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
        return f"{self.quantity.words}, for example '{self.quantity.example}'"


@dataclass(frozen=True, slots=True)
class _Choice:
    options: tuple[str, ...]

    def parse(self, value: object) -> str:
        if isinstance(value, str):
            wanted = value.strip().lower()
            for option in self.options:
                if option.lower() == wanted:
                    return option
            if len(value) <= LONGEST_TEXT and (same := same_word(value, self.options)):
                return same
        hint = did_you_mean(value, self.options)
        raise unplaced(f"{safe_repr(value, LONGEST_TEXT)} is not one of: {', '.join(self.options)}{hint}")

    def dump(self, value: str) -> object:
        return value

    def expects(self) -> str:
        return "one of: " + ", ".join(self.options)


@dataclass(frozen=True, slots=True)
class _Flag:
    def parse(self, value: object) -> bool:
        if isinstance(value, bool):
            return value
        raise unplaced(f"{safe_repr(value, LONGEST_TEXT)} is not true or false")

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
            raise unplaced(f"{safe_repr(value, LONGEST_TEXT)} is not a number from {self.low:g} to {self.high:g}")
        return read

    def dump(self, value: object) -> object:
        return value

    def expects(self) -> str:
        return f"a number from {self.low:g} to {self.high:g}"


@dataclass(frozen=True, slots=True)
class _Text:
    def parse(self, value: object) -> str:
        if isinstance(value, str) and len(value) <= LONGEST_TEXT:
            return value
        raise unplaced(f"{safe_repr(value, LONGEST_TEXT)} is not a text of at most {LONGEST_TEXT} characters")

    def dump(self, value: object) -> object:
        return value

    def expects(self) -> str:
        return "a short text"


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


@functools.lru_cache(maxsize=256)
def declared_fields(kind: type) -> tuple[tuple[str, FieldRule, object], ...]:
    """Return name, rule and default of each declared field of a test, in order; MISSING where there is no default."""
    fields = dataclasses.fields(kind) if dataclasses.is_dataclass(kind) else ()
    return tuple((field.name, field.metadata[_KEY], field.default) for field in fields if _KEY in field.metadata)


def field_rules(kind: type) -> dict[str, FieldRule]:
    """Return the rule of each declared field of a test, in order."""
    return {name: rule for name, rule, _ in declared_fields(kind)}


def asked(kind: type) -> dict[str, dict[str, Any]]:
    """Return what a form asks for a test, as JSON types: what each field takes, its unit and words, whether it must be.

    Examples
    --------
    >>> from resinid.methods.melt.heated import Softening
    >>> asked(Softening)["temperature"]
    {'says': "temperature, for example '165 degC'", 'unit': 'degC', 'words': [], 'needed': True}
    """
    needed = required_fields(kind)
    out: dict[str, dict[str, Any]] = {}
    for name, rule, _ in declared_fields(kind):
        quantity = quantity_of(rule)
        unit = None if quantity is None else quantity.unit
        words = list(options_of(rule))
        out[name] = {"says": rule.expects(), "unit": unit, "words": words, "needed": name in needed}
    return out


def required_fields(kind: type) -> tuple[str, ...]:
    """Return the names of the declared fields of a test that have no default."""
    return tuple(name for name, _, default in declared_fields(kind) if default is MISSING)


def quantity_of(rule: FieldRule) -> Quantity | None:
    """Return the quantity a rule reads, or None where it reads no measured value."""
    return rule.quantity if isinstance(rule, _Measured) else None


def options_of(rule: FieldRule) -> tuple[str, ...]:
    """Return the words a rule chooses from; none where it is no choice."""
    return rule.options if isinstance(rule, _Choice) else ()


def limits_of(rule: FieldRule) -> tuple[float, float] | None:
    """Return the limits of a bare number, or None where the rule reads something else."""
    return (rule.low, rule.high) if isinstance(rule, _Number) else None


def is_plain(rule: FieldRule) -> bool:
    """Return whether a rule reads one of some words, true or false, a bare number or a text."""
    return isinstance(rule, (_Choice, _Flag, _Number, _Text))
