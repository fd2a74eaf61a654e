"""The conformance check names whatever is wrong, and raises nothing but its list of faults."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pytest
from test_conformance import Knock, method_of
from test_plug_in_values import UNMADE, Tick, fails, kind_of
from test_plug_in_values import WRONG as WRONG_VALUES
from test_wrong_methods import WRONG as WRONG_METHODS
from test_wrong_methods import leave

from resinid import MethodError, Plan
from resinid.door.fields import measured
from resinid.methods import outside
from resinid.methods.registry import built_in
from resinid.scoring.term import Normals
from resinid.testing import check_method

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    from resinid.door.reading import Reading

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class Bare(Knock):
    note: str = "high"


def unequal(_self: object, _other: object) -> bool:
    raise ZeroDivisionError


def plan_of(kind: type[Any], test: str = "tick") -> Plan:
    return Plan(test, "knock twice", (kind("high"), kind("low")), 1.0, ("knock", "knock"))


def planning(plan: Callable[[], object]) -> classmethod[Any, Any, Any]:
    return classmethod(lambda _cls, _have: [plan()])


@dataclass(frozen=True)
class Rung(Tick):
    """A stiffness rung out of a piece."""

    note: Reading = measured("flexural_modulus")  # type: ignore[assignment]  # because it is a test of another kind
    observes = "flexural_modulus"

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        z = (values - self.note.value) / self.note.u
        likely: Array = np.exp(-0.5 * z * z)
        return likely

    def describe(self) -> str:
        return "it rings"


def column(**wrong: Any) -> classmethod[Any, Any, Any]:  # noqa: ANN401 - because it is wrong on purpose
    def many(_cls: object, readings: Mapping[str, tuple[Array, Array]]) -> Normals:
        values, u = readings["note"]
        right = Normals(values, u, 0.5 / (u * np.sqrt(2.0 * np.pi)), 0.1, logarithmic=False, shared=None)
        return replace(right, **wrong)

    return classmethod(many)


WRONG: Final[dict[str, tuple[dict[str, Any], str]]] = {
    "normalised": ({"value": staticmethod(lambda v: 1.0 / np.full(v.size, v.size))}, "not to be normalised"),
    "name of a built-in": ({"test": "float"}, "has the name of one of method 'float test'"),
    "steering signs": ({"describe": lambda _: "\x1b[2J"}, "expected one short line"),
    "cannot be compared": ({"__eq__": unequal, "__hash__": Knock.__hash__}, "ZeroDivisionError"),
    "plans raise": ({"plans": classmethod(fails)}, "ZeroDivisionError"),
    "plans leave": ({"plans": classmethod(lambda _cls, _have: leave(_cls))}, "SystemExit"),
    "plans junk": ({"plans": planning(lambda: 3)}, "plans.. gave a int"),
    "plans of another": ({"plans": planning(lambda: plan_of(Knock))}, "is no plan of this test"),
    "plans by another name": ({"plans": planning(lambda: plan_of(Tick, "float"))}, "is no plan of this test"),
}
COLUMNS: Final[dict[str, tuple[classmethod[Any, Any, Any], str]]] = {
    "raises": (classmethod(fails), "ZeroDivisionError"),
    "misshapen": (column(sd=np.ones(7)), "an entry a piece"),
    "makes readings up": (column(centre=np.ones(2)), "its centre must be"),
    "mishap a text": (column(mishap="a"), "mishap is 'a'"),
    "key unhashable": (column(shared=[]), "cannot be hashed"),
    "something else": (column(sd=np.full(2, 1e3)), "says something else"),
}


SEEN_AT_ONCE: Final = {"observes raises": "lacks name", "clears_heating raises": "clears_heating is"}
"""What is wrong in the class already, of what else is found only where it is used."""


@pytest.mark.parametrize(("make", "what"), WRONG_METHODS.values(), ids=WRONG_METHODS)
def test_a_wrong_method(make: Callable[[], Any], what: str) -> None:
    with pytest.raises(MethodError, match=what):
        check_method(make())


@pytest.mark.parametrize(
    ("attributes", "what"),
    [(each[0], SEEN_AT_ONCE.get(name, each[1])) for name, each in (WRONG_VALUES | UNMADE | WRONG).items()],
    ids=[*WRONG_VALUES, *UNMADE, *WRONG],
)
def test_a_wrong_test(attributes: dict[str, Any], what: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(outside, "LIMIT", 0.2)
    with pytest.raises(MethodError, match=what):
        check_method(method_of(kind_of(attributes)))


@pytest.mark.parametrize(("many", "what"), COLUMNS.values(), ids=COLUMNS)
def test_a_wrong_column(many: classmethod[Any, Any, Any], what: str) -> None:
    with pytest.raises(MethodError, match=what):
        check_method(method_of(type("Rang", (Rung,), {"many": many})))


def test_right_ones_pass() -> None:
    assert {made.describe() for made in check_method(method_of(Tick))} == {"high note", "low note"}
    assert check_method(method_of(Rung))


def test_a_dataclass_is_no_docstring() -> None:
    """The line that the decorator writes says nothing that the fields do not."""
    with pytest.raises(MethodError, match="has no docstring"):
        check_method(method_of(Bare), readings={"knock": [{}]})


def test_a_name_that_is_taken() -> None:
    taken = replace(method_of(Tick), name=built_in()[0].name)
    with pytest.raises(MethodError, match="is that of another method"):
        check_method(taken)


def test_every_fault_is_listed() -> None:
    wrong = kind_of({"describe": fails, "plans": planning(lambda: 3), "clears_heating": True})
    with pytest.raises(MethodError) as caught:
        check_method(replace(method_of(wrong), sources=()))
    assert all(word in str(caught.value) for word in ("names no source", "plans()", "ZeroDivisionError"))
