"""A method that breaks the contract is refused before anything of it is used, with all its faults; others go on."""

from __future__ import annotations

import dataclasses
from importlib.metadata import EntryPoint
from typing import TYPE_CHECKING, Any, Final

import pytest
from test_conformance import Knock

from resinid import Method, MethodError, MethodWarning, UnknownNameError, identify, next_tests, observe
from resinid.cli.main import main
from resinid.methods import registry
from resinid.scoring.grid import Axis
from resinid.scoring.observed import Aspect, Dependence

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator
    from pathlib import Path

METHOD: Final = Method("knock", "1", "Knock on it.", "", ("invented for this test",), (Knock,))
BACKWARDS: Final = Axis(1.0, 0.0, 0.5, 1.0, 1.0, 0.1, logarithmic=False)
"""Ends where it should begin."""


def leave(_self: object) -> None:
    raise SystemExit(3)


class Hidden:
    """Raises as soon as its tests are looked at."""

    name = version = summary = caution = "hidden"
    sources = ()
    tests = property(leave)


@dataclasses.dataclass(frozen=True)
class Known:
    """A property of its own."""

    name: Any = "note"
    depends: Any = ()
    latent: Any = len
    axis: Any = None


class Unhashable(Known):
    """As a plain dataclass is."""

    __hash__ = None  # type: ignore[assignment]  # because it is wrong on purpose


class Nameless(Known):
    """Raises where its name is asked for."""

    name = property(leave)


def changed(**attributes: Any) -> Method:  # noqa: ANN401 - because they are wrong on purpose
    return dataclasses.replace(METHOD, **attributes)


def knocking(**attributes: object) -> type[Knock]:
    return type("Tick", (Knock,), {"test": "tick", **attributes})


def of(**attributes: object) -> Method:
    """The method with a test class that is wrong in some attributes."""
    return changed(tests=(knocking(**attributes),))


def depending(share: float) -> Known:
    return Known(depends=(Dependence("flexural_modulus", share, "invented"),))


WRONG: Final[dict[str, tuple[Callable[[], Any], str]]] = {
    "observes None": (lambda: of(observes=None), "lacks name"),
    "observes a number": (lambda: of(observes=3), "lacks name, latent, depends"),
    "observes a property": (lambda: of(observes=property(leave)), "lacks name"),
    "observes what is not known": (lambda: of(observes="loudness"), "no core property"),
    "nameless": (lambda: of(observes=Nameless.__new__(Nameless)), "SystemExit"),
    "name a number": (lambda: of(observes=Known(name=3)), "has the name 3"),
    "latent a number": (lambda: of(observes=Known(latent=3)), "latent of its property 'note' cannot be called"),
    "unhashable": (lambda: of(observes=Unhashable()), "cannot be hashed"),
    "depends a text": (lambda: of(observes=Known(depends="abc")), "tuple of Dependence"),
    "depends on texts": (lambda: of(observes=Known(depends=("abc",))), "expected a Dependence"),
    "share negative": (lambda: of(observes=depending(-3.0)), "share from 0 to 1, not -3"),
    "share above one": (lambda: of(observes=depending(5.0)), "share from 0 to 1, not 5"),
    "share no number": (lambda: of(observes=depending(float("nan"))), "share from 0 to 1, not nan"),
    "axis a text": (lambda: of(observes=Known(axis="log")), "is no resinid Axis"),
    "axis backwards": (lambda: of(observes=Known(axis=BACKWARDS)), "is no resinid Axis"),
    "folder a text": (lambda: of(observes=Aspect("note", ("high",), folder="/tmp")), "pathlib.Path"),  # type: ignore[arg-type]  # noqa: S108 - because it is wrong on purpose
    "test a number": (lambda: of(test=3), "has the name 3"),
    "test None": (lambda: of(test=None), "has the name None"),
    "test empty": (lambda: of(test=""), "has the name ''"),
    "test a list": (lambda: of(test=["tick"]), "has the name"),
    "test no plain name": (lambda: of(test="ti ck.x#2"), "letters, digits and underscores"),
    "term a number": (lambda: of(term=3), "term cannot be called"),
    "danger no text": (lambda: of(only_if_allowed=3), "only_if_allowed is 3"),
    "clears_heating no flag": (lambda: of(clears_heating=property(leave)), "clears_heating"),
    "sources None": (lambda: changed(sources=None), "sources of method 'knock' is None"),
    "sources a text": (lambda: changed(sources="abc"), "sources of method 'knock' is 'abc'"),
    "sources numbers": (lambda: changed(sources=(1, 2)), "expected a tuple of texts"),
    "tools None": (lambda: changed(tools=None), "tools of method 'knock' is None"),
    "caution None": (lambda: changed(caution=None), "all texts"),
    "steering signs": (lambda: changed(name="kn\x1b[2Jock"), "cannot be shown"),
    "half a character": (lambda: changed(summary="\ud800"), "cannot be shown"),
    "tests raises": (Hidden, "SystemExit"),
    "tests a number": (lambda: changed(tests=3), "tests of method 'knock' is 3"),
    "tests a generator": (lambda: changed(tests=(k for k in [Knock])), "expected a tuple of"),
    "tests an instance": (lambda: changed(tests=(Knock("high"),)), "is no class"),
    "tests no dataclass": (
        lambda: changed(tests=(type("Bare", (), dict.fromkeys(("test", "observes", "term", "describe"), "tick")),)),
        "is not a frozen dataclass",
    ),
    "one test twice": (lambda: changed(tests=(Knock, knocking(test="knock"))), "two tests named"),
    "a name that is taken": (lambda: changed(name="displacement"), "of another method"),
}
CASES: Final = pytest.mark.parametrize(("make", "what"), WRONG.values(), ids=WRONG)


@pytest.fixture(autouse=True)
def _fresh() -> Iterator[None]:
    registry.clear()
    yield
    registry.clear()


@CASES
def test_it_is_refused_where_it_is_passed(make: Callable[[], Any], what: str) -> None:
    with pytest.raises(MethodError, match=what):
        observe("tick", methods=[make()], note="high")


@CASES
def test_it_breaks_nothing_where_it_is_installed(
    make: Callable[[], Any], what: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """One warning names it and the cause; listings, advice and answers are those without it."""
    monkeypatch.setattr(f"{__name__}.INSTALLED", make(), raising=False)
    point = EntryPoint("bad", f"{__name__}:INSTALLED", registry.GROUP)
    monkeypatch.setattr("importlib.metadata.entry_points", lambda group: [point] if group == registry.GROUP else [])
    with pytest.warns(MethodWarning, match="'bad'.*left out") as caught:
        assert [entry.method for entry in registry.listed()] == list(registry.built_in())
    assert len(caught) == 1
    assert what.replace("\\", "") in str(caught[0].message)
    for command in (["methods"], ["sources"]):
        assert main(command) == 0
    assert "bad" not in capsys.readouterr().out
    assert next_tests(have="strip").suggestions
    with pytest.raises(UnknownNameError, match="did you mean 'float'"):
        observe("flaot")


def test_all_faults_are_told_together() -> None:
    wrong = dataclasses.replace(of(test="a b"), sources=None, tools=None)  # type: ignore[arg-type]  # as above
    with pytest.raises(MethodError) as caught:
        registry.listed([wrong])
    assert all(word in str(caught.value) for word in ("sources", "tools", "'a b'"))


def test_faulty_tables_of_a_plug_in_do_not_stop_the_listing(tmp_path: Path) -> None:
    (tmp_path / "sources.csv").write_text("no,such,columns\n", encoding="utf-8")
    faulty = of(observes=Aspect("note", ("high", "low"), folder=tmp_path))
    with pytest.warns(MethodWarning, match=r"sources of method 'knock'.*left out"):
        assert registry.sources_brought([faulty]) == registry.sources_brought()


def test_what_it_prints_does_not_come_into_the_json(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    import json

    def loud() -> Method:
        print("hello")
        return METHOD

    point = EntryPoint("loud", "invented:METHOD", registry.GROUP)
    monkeypatch.setattr(EntryPoint, "load", lambda _: loud())
    monkeypatch.setattr("importlib.metadata.entry_points", lambda group: [point] if group == registry.GROUP else [])
    assert main(["methods", "--json"]) == 0
    shown = capsys.readouterr()
    assert json.loads(shown.out)[-1]["name"] == "knock"
    assert "hello" in shown.err


def test_the_honest_one_is_used() -> None:
    assert identify([{"test": "knock", "note": "high"}], methods=[METHOD]).observations == (Knock("high"),)
