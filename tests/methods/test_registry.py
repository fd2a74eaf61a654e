"""The registry: deterministic order, broken plug-ins isolated, objects passed directly."""

from __future__ import annotations

import warnings
from dataclasses import dataclass
from importlib.metadata import EntryPoint, entry_points
from typing import TYPE_CHECKING, Any, ClassVar

import pytest

from resinid import Method, MethodError, MethodWarning, Term, UnknownNameError, identify, observe
from resinid.door.fields import choice
from resinid.methods import registry

if TYPE_CHECKING:
    from collections.abc import Iterator

    import numpy as np
    from numpy.typing import NDArray


@dataclass(frozen=True, slots=True)
class TapTest:
    """An invented test: a high note means a stiff piece."""

    test: ClassVar[str] = "tap"
    observes: ClassVar[str] = "flexural_modulus"
    note: str = choice(("high", "low"))

    def likelihood(self, values: NDArray[np.float64], error: NDArray[np.float64] | None) -> NDArray[np.float64]:  # noqa: ARG002 - because no error is shared
        high = values / (values + 1000.0)
        return high if self.note == "high" else 1.0 - high

    def term(self) -> Term:
        return Term(self.observes, self.likelihood, mishap=0.1, if_mishap=0.5)

    def describe(self) -> str:
        return f"{self.note} note"


TAP = Method("tap", "0.1", "Listen to a tap.", "", ("invented for this test",), (TapTest,))
NOT_A_METHOD = object()
NO_TESTS = Method("none", "0.1", "Nothing.", "", (), ())


@pytest.fixture(autouse=True)
def _fresh() -> Iterator[None]:
    registry.clear()
    yield
    registry.clear()


def plug(monkeypatch: pytest.MonkeyPatch, *points: tuple[str, str]) -> None:
    found = [EntryPoint(name, value, registry.GROUP) for name, value in points]
    monkeypatch.setattr("importlib.metadata.entry_points", lambda group: found if group == registry.GROUP else [])


def test_built_in_first_and_in_a_fixed_order() -> None:
    names = [entry.method.name for entry in registry.listed()]
    assert names[:4] == ["displacement", "float test", "melt behaviour", "flexibility"]
    assert names == [entry.method.name for entry in registry.listed()]
    assert all(entry.origin == "built-in" for entry in registry.listed()[:4])


def test_built_in_methods_are_entry_points_too() -> None:
    """Each built-in method is declared in the group, as a plug-in's is, and names the same object."""
    declared = entry_points(group=registry.GROUP)
    loaded = [entry.load() for entry in declared if entry.value.startswith("resinid.methods.")]
    assert len(loaded) == len({method.name for method in loaded}) >= 4
    assert all(any(method is own for own in registry.built_in()) for method in loaded)


def test_a_plug_in_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    plug(monkeypatch, ("tap", f"{__name__}:TAP"))
    assert registry.listed()[-1].method is TAP
    made = observe("tap", note="high")
    answer = identify([made, {"test": "float", "liquid": "water", "outcome": "floats"}])
    assert answer["PP"] > identify([{"test": "float", "liquid": "water", "outcome": "floats"}])["PP"]


def test_order_does_not_depend_on_installing(monkeypatch: pytest.MonkeyPatch) -> None:
    points = [("b", f"{__name__}:TAP"), ("a", f"{__name__}:TAP"), ("c", f"{__name__}:TAP")]
    plug(monkeypatch, *points)
    first = [entry.origin for entry in registry.listed()]
    registry.clear()
    plug(monkeypatch, *reversed(points))
    assert [entry.origin for entry in registry.listed()] == first


@pytest.mark.parametrize(
    ("value", "cause"),
    [
        ("no_such_module:METHOD", "ModuleNotFoundError"),
        (f"{__name__}:NO_SUCH_NAME", "AttributeError"),
        (f"{__name__}:NOT_A_METHOD", "MethodError"),
        (f"{__name__}:NO_TESTS", "offers no test"),
    ],
)
def test_a_broken_plug_in_is_isolated(monkeypatch: pytest.MonkeyPatch, value: str, cause: str) -> None:
    """One warning names the plug-in and the cause; everything else works."""
    plug(monkeypatch, ("bad", value), ("good", f"{__name__}:TAP"))
    with pytest.warns(MethodWarning, match=f"'bad'.*{cause}") as caught:
        names = [entry.method.name for entry in registry.listed()]
    assert len(caught) == 1
    assert names == [*(method.name for method in registry.built_in()), "tap"]


def test_a_duplicate_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    plug(monkeypatch, ("tap", "zzz_elsewhere:TAP"), ("tap", f"{__name__}:TAP"))
    with pytest.warns(MethodWarning, match="used instead"):
        assert len(registry.listed()) == len(registry.built_in()) + 1


def test_built_in_tests_need_no_discovery(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(group: str) -> Any:  # noqa: ANN401 - never returns
        raise AssertionError(group)

    monkeypatch.setattr("importlib.metadata.entry_points", refuse)
    assert observe("float", liquid="water", outcome="sinks").test == "float"


def test_an_object_is_passed_directly() -> None:
    made = observe("tap", methods=[TAP], note="low")
    assert made.describe() == "low note"
    answer = identify([{"test": "tap", "note": "low"}], methods=[TAP])
    assert answer["EVAC"] > answer.prior[answer.resins.index("EVAC")]
    assert registry.listed([TAP])[-1].origin == "passed directly"


def test_a_wrong_object_is_refused() -> None:
    with pytest.raises(MethodError, match="lacks name"):
        registry.listed([NOT_A_METHOD])  # type: ignore[list-item]  # because it is wrong on purpose
    broken = Method("x", "1", "nothing", "", (), (object,))  # type: ignore[arg-type]  # as above
    with pytest.raises(MethodError, match="lacks test"):
        registry.listed([broken])


def test_unknown_test_names_suggest() -> None:
    with warnings.catch_warnings(), pytest.raises(UnknownNameError, match="did you mean 'float'"):
        observe("flaot", liquid="water", outcome="sinks")
