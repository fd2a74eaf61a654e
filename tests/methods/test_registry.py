"""The registry: deterministic order, broken plug-ins isolated, objects passed directly."""

from __future__ import annotations

import json
from importlib.metadata import EntryPoint
from typing import TYPE_CHECKING, Any, Final

import pytest
from plug_ins import KNOCK, Knock, install, install_all, is_light, kind_of, method_of

from resinid import MethodError, MethodWarning, UnknownNameError, identify, next_tests, observe
from resinid.analysis.method_sources import sources_brought
from resinid.cli.main import main
from resinid.methods import registry
from resinid.scoring.properties import CategoricalProperty

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

NOT_A_METHOD: Final = object()
NO_CLASS: Final = method_of(tests=(Knock("high"),))
NO_TERM: Final = method_of(type("Bare", (), {"test": "knock", "observes": "snap", "describe": None}))
NO_LATENT: Final = method_of(kind_of(observes=3))
TAKEN: Final = method_of(kind_of(test="float"))
KNOWN_OTHERWISE: Final = method_of(kind_of(observes=CategoricalProperty("density", ("high", "low"))))
TAKEN_METHOD: Final = method_of(name="float test")
OUR_OWN: Final = registry.built_in()[0]
REFUSED: Final = {
    "NOT_A_METHOD": "lacks name",
    "NO_CLASS": "needs to be a class",
    "NO_TERM": "lacks term",
    "NO_LATENT": "lacks name, depends, latent",
    "TAKEN": "its test 'float' has the name of one of method 'float test'",
    "TAKEN_METHOD": "its name is that of method 'float test'",
    "KNOWN_OTHERWISE": "knows 'density' otherwise",
}


@pytest.fixture(autouse=True)
def _fresh() -> Iterator[None]:
    registry.clear()
    yield
    registry.clear()


def test_built_in_first_and_in_a_fixed_order() -> None:
    names = [entry.method.name for entry in registry.listed()]
    assert names[:4] == ["displacement", "float test", "melt behaviour", "flexibility"]
    assert names == [entry.method.name for entry in registry.listed()]
    assert all(entry.origin == "built-in" for entry in registry.listed()[:4])


def test_a_plug_in_is_found(monkeypatch: pytest.MonkeyPatch) -> None:
    install(monkeypatch, knock="plug_ins:KNOCK")
    assert registry.listed()[-1].method is KNOCK
    made = observe("knock", note="high")
    answer = identify([made, {"test": "float", "liquid": "water", "outcome": "floats"}])
    assert answer["PP"] > identify([{"test": "float", "liquid": "water", "outcome": "floats"}])["PP"]


def test_order_does_not_depend_on_installing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of several names for one method the first by name is used, and no other warned of."""
    points = [("b", "plug_ins:KNOCK"), ("a", "plug_ins:KNOCK"), ("c", "plug_ins:KNOCK")]
    install_all(monkeypatch, *points)
    first = [(entry.method, entry.origin) for entry in registry.listed()]
    registry.clear()
    install_all(monkeypatch, *reversed(points))
    assert [(entry.method, entry.origin) for entry in registry.listed()] == first
    assert len(first) == len(registry.built_in()) + 1


def test_a_duplicate_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """Of two that have one name the same is used however they are installed."""
    points = [("knock", "zzz_elsewhere:KNOCK"), ("knock", "plug_ins:KNOCK")]
    for each in (points, points[::-1]):
        registry.clear()
        install_all(monkeypatch, *each)
        with pytest.warns(MethodWarning, match=r"\(zzz_elsewhere:KNOCK.*plug_ins:KNOCK, which is used instead"):
            assert registry.listed()[-1].method is KNOCK


def test_our_own_is_not_listed_twice(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whoever names a built-in method as an entry point adds nothing."""
    install(monkeypatch, ours=f"{__name__}:OUR_OWN")
    assert [entry.method for entry in registry.listed()] == list(registry.built_in())


BROKEN: Final = REFUSED | {"NO_SUCH_NAME": "AttributeError"}


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_plug_in_is_isolated(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], name: str
) -> None:
    """One warning names it and the cause; all other listings, advice and answers are as without it."""
    install(monkeypatch, bad=f"{__name__}:{name}", good="plug_ins:KNOCK")
    with pytest.warns(MethodWarning, match=f"'bad'.*left out: .*{BROKEN[name]}") as caught:
        names = [entry.method.name for entry in registry.listed()]
    assert len(caught) == 1
    assert names == [*(method.name for method in registry.built_in()), "knocking"]
    for command in (["methods"], ["sources"]):
        assert main(command) == 0
    assert "bad" not in capsys.readouterr().out
    assert next_tests(bench="strip").suggestions
    with pytest.raises(UnknownNameError, match="did you mean 'float'"):
        observe("flaot")


def test_a_module_that_leaves_is_isolated(monkeypatch: pytest.MonkeyPatch) -> None:
    def leave(_entry: EntryPoint) -> None:
        raise SystemExit(3)

    monkeypatch.setattr(EntryPoint, "load", leave)
    install(monkeypatch, bad="a_script:METHOD")
    with pytest.warns(MethodWarning, match=r"'bad' \(a_script:METHOD, from .*SystemExit: 3"):
        assert len(registry.listed()) == len(registry.built_in())


@pytest.mark.parametrize("name", REFUSED)
def test_a_wrong_object_is_refused_where_it_is_passed(name: str) -> None:
    with pytest.raises(MethodError, match=REFUSED[name]):
        registry.listed([globals()[name]])


def test_built_in_tests_need_no_discovery(monkeypatch: pytest.MonkeyPatch) -> None:
    def refuse(group: str) -> Any:  # noqa: ANN401 - never returns
        raise AssertionError(group)

    monkeypatch.setattr("importlib.metadata.entry_points", refuse)
    assert identify([observe("float", liquid="water", outcome="sinks")]).leader


def test_an_object_is_passed_directly() -> None:
    made = observe("knock", methods=[KNOCK], note="low")
    assert made.describe() == "low note"
    answer = identify([{"test": "knock", "note": "low"}], methods=[KNOCK])
    assert answer["EVAC"] > answer.prior[answer.resins.index("EVAC")]
    assert registry.listed([KNOCK])[-1].origin == "passed directly"


def test_faulty_tables_of_a_plug_in_do_not_stop_the_listing(tmp_path: Path) -> None:
    (tmp_path / "sources.csv").write_text("no,such,columns\n", encoding="utf-8")
    faulty = method_of(kind_of(observes=CategoricalProperty("note", ("high", "low"), folder=tmp_path)))
    with pytest.warns(MethodWarning, match=r"sources of method 'knocking'.*left out"):
        assert sources_brought([faulty]) == sources_brought()


def test_what_it_prints_does_not_come_into_the_json(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def loud(_entry: EntryPoint) -> object:
        print("hello")
        return KNOCK

    monkeypatch.setattr(EntryPoint, "load", loud)
    install(monkeypatch, loud="invented:METHOD")
    assert main(["methods", "--json"]) == 0
    shown = capsys.readouterr()
    assert json.loads(shown.out)[-1]["name"] == "knocking"
    assert "hello" in shown.err


def test_the_command_line_trusts_by_name(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], tmp_path: Path
) -> None:
    sure = method_of(kind_of(observes="density", term=is_light))
    monkeypatch.setattr(EntryPoint, "load", lambda _entry: sure)
    install(monkeypatch, sure="invented:METHOD")
    piece = tmp_path / "piece.toml"
    piece.write_text(
        '[[observation]]\ntest = "knock"\nnote = "high"\n'
        '[[observation]]\ntest = "softening"\ntemperature = "163 ± 1 degC"\n',
        encoding="utf-8",
    )
    for options, allowed in (([], False), (["--trust", "knocking"], True)):
        assert main(["identify", str(piece), "--json", *options]) == 0
        assert json.loads(capsys.readouterr().out)["heat"]["allowed"] is allowed
    assert main(["identify", str(piece), "--trust", "nobody"]) == 2
    assert "trusted: no method or test in use is called 'nobody'" in capsys.readouterr().err
