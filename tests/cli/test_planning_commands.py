"""The commands next, recipe and ladder."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from cli_kit import BY_EYE, KIT, LIT

from resinid.cli.main import main

if TYPE_CHECKING:
    from pathlib import Path


def test_next_command(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "piece.toml"
    path.write_text('[[observation]]\ntest = "float"\nliquid = "water"\noutcome = "floats"\n', encoding="utf-8")
    named = ["next", str(path), *BY_EYE]
    for arguments in (["next", *BY_EYE], [*named, "--have", KIT, "--question", "pvc"], named):
        assert main(arguments) == 0
        text = capsys.readouterr().out
        assert "Next: " in text
        assert "--have" in arguments or ("Caution:" in text and "Not offered: step a hot plate" in text)
        assert all(len(line) <= 80 for line in text.splitlines())
        assert main([*arguments, "--json"]) == 0
        assert json.loads(capsys.readouterr().out)["verdict"] == "go on"
    path.write_text('[[observation]]\ntest = "float"\nliquid = "watr"\noutcome = "flots"\n', encoding="utf-8")
    assert main(["next", str(path)]) == 2
    error = capsys.readouterr().err
    assert "2 faults" in error
    assert f"{path}: observation[1].liquid" in error


def test_recipe_command(capsys: pytest.CaptureFixture[str]) -> None:
    weak = ["recipe", "0.93 g/cm3", "ethanol", "96", "%v/v", "--volume", "500 mL"]
    assert main(weak) == 2
    assert "flashes at about 24 °C, too near its own 20 °C" in capsys.readouterr().err
    assert main([*weak, *LIT]) == 0
    text = capsys.readouterr().out
    assert "260.8 mL (210.6 g) of ethanol 96 %v/v" in text
    assert "do not add up" in text
    assert all(len(line) <= 80 for line in text.splitlines())
    assert main(["recipe", "1.07 g/cm3", "table salt", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["mix"][0]["what"] == "table salt"
    assert data["flash_point"] is None
    assert main(["recipe", "1.07 g/cm3", "table", "salt", "--measured", "1.062 g/cm3", "--volume", "500 mL"]) == 0
    assert "Add 6.362 g of table salt" in capsys.readouterr().out
    for form in ([], ["--json"]):
        assert main([*weak, *LIT, "--measured", "0.935 g/cm3", *form]) == 0
        said = capsys.readouterr().out
        assert "Flammable: keep" in said
        assert "lit from about 24 °C" in said or json.loads(said)["flash_point"] == pytest.approx(24, abs=0.5)
    assert main(["recipe", "1.3 g/cm3", "table", "salt"]) == 2
    assert "saturated" in capsys.readouterr().err


def test_ladder_command(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["ladder", "PP", "HDPE", "PS", "--have", "table salt, ethanol 96 %v/v", "--steps", "2"]) == 0
    text = capsys.readouterr().out
    assert "Caution: Flammable" in text
    assert all(len(line) <= 80 for line in text.splitlines())
    assert "Not offered: lighter baths of ethanol 96 %v/v: their vapour may be lit at 20" in text
    assert main(["ladder", "PP", "HDPE", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["resins"] == ["PP", "PE-HD"]
    assert "flammable bath" in data["withheld"]
    assert main(["ladder", "PP"]) == 2
    assert "fewer than two" in capsys.readouterr().err
