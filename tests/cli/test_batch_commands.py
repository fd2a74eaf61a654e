"""The commands for bags, as a person and as a script use them."""

from __future__ import annotations

import json
from importlib.resources import files as packaged
from typing import TYPE_CHECKING

import pytest

from resinid.batches.bag import KEYS, read_batch
from resinid.batches.bag_entries import LABELS, REMARKS, WASHES
from resinid.cli.main import main

if TYPE_CHECKING:
    from pathlib import Path

TESTED = """
[[piece]]
alike = 8
observation = [
    {test = "float", liquid = "water", outcome = "floats"},
    {test = "float", liquid = "ethanol 40 %v/v", outcome = "sinks"},
    {test = "hot_plate", not_melted_at = "120 degC", melted_at = "140 degC"},
]
"""
CAPS = f'batch = "caps"\nprocess = "injection moulding"\nmass = "3 kg"\n[marked]\nPE-HD = 60\n{TESTED}'
MILK = f'batch = "milk"\nprocess = "blow moulding"\nmass = "1 kg"\n[marked]\nPE-HD = 60\n{TESTED}'
PIPE = '{"batch": "pipe", "marked": {"PVC-U": 5}}'


@pytest.fixture
def files(tmp_path: Path) -> dict[str, str]:
    out = {}
    for name, text in (("caps.toml", CAPS), ("milk.toml", MILK), ("pipe.json", PIPE)):
        (tmp_path / name).write_text(text, encoding="utf-8")
        out[name.partition(".")[0]] = str(tmp_path / name)
    stock = tmp_path / "stock.csv"
    stock.write_text("name,file,marked\ncaps,caps.toml,\nmilk,milk.toml,\npots,,PS:60\n", encoding="utf-8")
    return {**out, "stock": str(stock)}


def said(capsys: pytest.CaptureFixture[str], *arguments: str) -> str:
    assert main(list(arguments)) == 0
    out = capsys.readouterr().out
    assert all(len(line) <= 80 for line in out.splitlines()), out
    return out


def test_the_guide_s_bag_is_read_and_every_word_is_in_the_help(capsys: pytest.CaptureFixture[str]) -> None:
    """A bag copied from the guide is taken as it is; keys and their words are those that a bag knows."""
    guide = packaged("resinid.guide").joinpath("bag.md").read_text(encoding="utf-8")
    bag = read_batch(guide.split("```toml\n")[1].split("```")[0], folder=None)
    assert bag.mfr_condition
    for told in (guide, _help(capsys)):
        plain = " ".join(told.split())
        for word in (*KEYS, *REMARKS, *LABELS, *WASHES):
            assert word in plain, word


def _help(capsys: pytest.CaptureFixture[str]) -> str:
    with pytest.raises(SystemExit):
        main(["batch", "--help"])
    return capsys.readouterr().out


def test_batch(capsys: pytest.CaptureFixture[str], files: dict[str, str]) -> None:
    out = said(capsys, "batch", files["caps"], "--same-as", files["milk"])
    assert out.startswith("caps: mostly PE-HD")
    assert "further clean samples" in out
    assert "same grade" in out
    assert main(["batch", files["caps"], "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["shares"][0]["resin"] == "PE-HD"
    assert data["contaminants"][0]["further"] > 0


def test_together(capsys: pytest.CaptureFixture[str], files: dict[str, str]) -> None:
    out = said(capsys, "together", files["caps"], files["milk"])
    assert out.startswith("caps 75%, milk 25%: usable with limits")
    assert "log rule" in out
    assert "local codes" in out
    assert main(["together", files["caps"], files["milk"], "--json", "--shares", "9", "1"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["shares"][0] == {"batch": "caps", "share": 0.9}
    assert sum(data["chances"].values()) == pytest.approx(1.0)


def test_danger_first(capsys: pytest.CaptureFixture[str], files: dict[str, str]) -> None:
    for command in ("together", "plan"):
        out = said(capsys, command, files["caps"], files["pipe"], "--shares", "999", "1")
        assert "DO NOT HEAT" in out.splitlines()[0] + out.splitlines()[1]
        assert "hydrogen chloride" in out
        assert "MELT PLAN" not in out
    assert main(["plan", files["pipe"], "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert (data["verdict"]["verdict"], data["steps"]) == ("DO NOT HEAT", None)


def test_plan(capsys: pytest.CaptureFixture[str], files: dict[str, str]) -> None:
    out = said(capsys, "plan", files["caps"], "--thickness", "10 mm", "--volume", "100 mL")
    assert "MELT PLAN" in out
    assert "shrinks" in out
    assert "contact plates, both sides" in out
    assert "for 100 cm3" in out


def test_bare_numbers_take_the_units_that_the_help_shows(
    capsys: pytest.CaptureFixture[str], files: dict[str, str]
) -> None:
    plain = said(capsys, "plan", files["caps"], "--thickness", "10", "--volume", "100", "--plate", "200")
    units = said(capsys, "plan", files["caps"], "--thickness", "10 mm", "--volume", "100 cm3", "--plate", "200 degC")
    assert plain == units
    assert "To melt 10 mm through, at 200 °C" in plain


def test_a_plan_is_short_unless_asked_for_more(capsys: pytest.CaptureFixture[str], files: dict[str, str]) -> None:
    """Sources are counted and dangers far below the limit left out; local codes, cautions and steps are not."""
    assert main(["plan", files["caps"]]) == 0
    short = capsys.readouterr().out
    assert main(["plan", files["caps"], "--full"]) == 0
    full = capsys.readouterr().out
    assert len(short.splitlines()) + 10 < len(full.splitlines())
    for said in ("local codes", "caution PE-HD", "MELT PLAN", "melt at", "copper-wire test first", "at most 1.0 %"):
        assert said in " ".join(short.split())
    assert "--full has reasons, the work in its order and sources" in short
    assert len(short.splitlines()) <= 25
    assert "hydrogen chloride" not in short
    assert "hydrogen chloride" in full
    assert "hilado1998" not in short
    assert "hilado1998" in full


def test_stock(capsys: pytest.CaptureFixture[str], files: dict[str, str]) -> None:
    out = said(capsys, "stock", files["stock"])
    assert "1 caps" in out
    assert "apart" in out
    assert main(["stock", files["stock"], "--csv"]) == 0
    assert capsys.readouterr().out.splitlines()[0] == ",caps,milk,pots"
    assert main(["stock", files["stock"], "--json"]) == 0
    assert len(json.loads(capsys.readouterr().out)["verdicts"]) == 3


@pytest.mark.parametrize(
    ("arguments", "message"),
    [
        (["batch", "missing.toml"], "cannot be read"),
        (["together", "{caps}"], "at least two"),
        (["together", "{caps}", "{milk}", "--shares", "1"], "positive number for each"),
        (["together", "{caps}", "{milk}", "--shares", "1e308", "1e308"], "at most 1e+09"),
        (["plan", "{caps}", "{milk}", "--shares", "1", "inf"], "at most 1e+09"),
        (["together", "{caps}", "{milk}", "--danger-limit", "0.5"], "may not be set aside"),
        (["plan", "{caps}", "--plate", "400 degC"], "overheat"),
        (["plan", "{caps}", "--volume", "3 kg"], "volume"),
        (["stock", "{caps}"], "no column"),
        (["batch", "{caps}", "--prior", "uniformm"], "uniform"),
    ],
)
def test_bad_input(
    capsys: pytest.CaptureFixture[str], files: dict[str, str], arguments: list[str], message: str
) -> None:
    """One message, exit code 2, no traceback."""
    assert main([argument.format(**files) for argument in arguments]) == 2
    error = capsys.readouterr().err
    assert message in error
    assert "Traceback" not in error


def test_all_files_are_told_of_and_each_named_once(
    capsys: pytest.CaptureFixture[str], files: dict[str, str], tmp_path: Path
) -> None:
    wrong = tmp_path / "wrong.toml"
    wrong.write_text('bacth = "x"\n', encoding="utf-8")
    for command in ("together", "plan"):
        assert main([command, files["caps"], "none.toml", str(wrong)]) == 2
        error = capsys.readouterr().err
        assert "none.toml: cannot be read" in error
        assert "none.toml: none.toml" not in error
        assert "bacth" in error


@pytest.mark.parametrize("command", ["identify", "next"])
def test_a_bag_where_a_piece_is_wanted(
    command: str, files: dict[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pieces = tmp_path / "pieces.toml"
    pieces.write_text('[[piece]]\nobservation = [{test = "snap", outcome = "snaps"}]\n', encoding="utf-8")
    for file in (files["caps"], files["pipe"], str(pieces)):
        assert main([command, file]) == 2
        told = capsys.readouterr().err
        assert told == f"resinid: {file}: this is a bag and not one piece; use batch, together or plan\n"


@pytest.mark.parametrize("command", ["batch", "together", "plan"])
def test_a_piece_where_a_bag_is_wanted(
    command: str, files: dict[str, str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    piece = tmp_path / "cap.toml"
    piece.write_text('piece = "cap"\n[[observation]]\ntest = "snap"\noutcome = "snaps"\n', encoding="utf-8")
    assert main([command, str(piece), *([files["caps"]] if command == "together" else [])]) == 2
    told = capsys.readouterr().err
    assert told == f"resinid: {piece}: this is one piece and not a bag; use identify, next or sheet\n"


def test_what_is_neither_is_told_key_by_key(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A file with keys of both is not taken for either."""
    file = tmp_path / "both.toml"
    file.write_text('batch = "x"\n[[observation]]\ntest = "snap"\noutcome = "snaps"\n', encoding="utf-8")
    for command, key in (("identify", "batch"), ("batch", "observation")):
        assert main([command, str(file)]) == 2
        assert f"{key}: is not known here" in capsys.readouterr().err
