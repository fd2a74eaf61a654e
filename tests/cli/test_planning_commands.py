"""The commands next, recipe and ladder."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING

import pytest
from cli_kit import KIT, LIT, WITHOUT_BY_EYE

from resinid import InputError, mix_bath
from resinid.cli.main import main

if TYPE_CHECKING:
    from pathlib import Path


def test_next_command(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    path = tmp_path / "piece.toml"
    path.write_text('[[observation]]\ntest = "float"\nliquid = "water"\noutcome = "floats"\n', encoding="utf-8")
    named = ["next", str(path), *WITHOUT_BY_EYE]
    asked = ["--question", "resin"]
    for arguments in (
        ["next", *WITHOUT_BY_EYE, *asked],
        [*named, "--have", KIT, "--question", "pvc"],
        [*named, *asked],
    ):
        assert main(arguments) == 0
        text = capsys.readouterr().out
        assert "Next: " in text
        assert "--have" in arguments or ("Caution:" in text and "Not offered: " in text)
        assert all(len(line) <= 80 for line in text.splitlines())
        assert main([*arguments, "--json"]) == 0
        assert json.loads(capsys.readouterr().out)["verdict"] == "go on"
    path.write_text('[[observation]]\ntest = "float"\nliquid = "watr"\noutcome = "flots"\n', encoding="utf-8")
    assert main(["next", str(path)]) == 2
    error = capsys.readouterr().err
    assert "2 faults" in error
    assert f"{path}: observation[1].liquid" in error


def test_recipe_command(capsys: pytest.CaptureFixture[str]) -> None:
    weak = ["recipe", "0.93 g/cm3", "ethanol", "96", "%v/v", "--volume", "600 mL"]
    assert main(weak) == 2
    assert "flashes at about 24 °C, too near its own 20 °C" in capsys.readouterr().err
    assert main([*weak, *LIT]) == 0
    text = capsys.readouterr().out
    assert "253 g (about 315 mL) of ethanol 96 %v/v" in text
    assert "do not add up" in text
    assert all(len(line) <= 80 for line in text.splitlines())
    assert main(["recipe", "1.07 g/cm3", "table salt", "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["mix"][0]["what"] == "table salt"
    assert data["flash_point"] is None
    assert main(["recipe", "1.07 g/cm3", "table", "salt", "--measured", "1.062 g/cm3", "--volume", "500 mL"]) == 0
    assert "Add 6.4 g of table salt" in capsys.readouterr().out
    for form in ([], ["--json"]):
        assert main([*weak, *LIT, "--measured", "0.935 g/cm3", *form]) == 0
        said = capsys.readouterr().out
        assert "FLAMMABLE: its vapour" in said
        assert "lit from about 24 °C" in said or json.loads(said)["flash_point"] == pytest.approx(24, abs=0.5)
    assert main(["recipe", "1.3 g/cm3", "table", "salt"]) == 2
    assert "saturated" in capsys.readouterr().err


def test_ladder_command(capsys: pytest.CaptureFixture[str]) -> None:
    kit = ["--have", "table salt, ethanol 96 %v/v, bath 30 degC"]
    assert main(["ladder", "PP", "HDPE", "PS", *kit, "--steps", "2"]) == 0
    text = capsys.readouterr().out
    assert all(len(line) <= 80 for line in text.splitlines())
    assert "Not offered: lighter baths of ethanol 96 %v/v: their vapour may be lit at 30" in text
    assert main(["ladder", "PP", "HDPE", *kit, "--json"]) == 0
    data = json.loads(capsys.readouterr().out)
    assert data["resins"] == ["PP", "PE-HD"]
    assert "flammable bath" in data["withheld"]
    assert main(["ladder", "PP", "LDPE", "HDPE", "--have", "ethanol 96 %v/v"]) == 0
    text = capsys.readouterr().out
    assert "Caution: FLAMMABLE: its vapour can be lit" in text
    assert "500 mL of it" in text
    assert all(len(line) <= 80 for line in text.splitlines())
    assert main(["ladder", "PP"]) == 2
    assert "fewer than two" in capsys.readouterr().err


def test_a_bare_number_takes_the_unit_that_the_command_shows(capsys: pytest.CaptureFixture[str]) -> None:
    """What a person types; in Python a number without a unit is refused."""
    plain = ["recipe", "1.07", "table", "salt", "--volume", "500", "--temperature", "22 ± 2", "--scale", "1"]
    units = ["recipe", "1.07 g/cm3", "table salt", "--volume", "500 mL", "--temperature", "22 ± 2 degC"]
    said = []
    for arguments in (plain, [*units, "--scale", "1 g"]):
        assert main(arguments) == 0
        said.append(capsys.readouterr().out)
    assert said[0] == said[1]
    assert " 54 g of table salt" in said[0]
    with pytest.raises(InputError, match="has no unit"):
        mix_bath("1.07", "500 mL", "table salt")
    assert main(["recipe", "1.07", "table", "salt", "--scale", "0"]) == 2
    assert "scale: has a step of 0" in capsys.readouterr().err


def test_the_usual_bath_of_40_per_cent(capsys: pytest.CaptureFixture[str]) -> None:
    for scale, amount in (("0.1", "79 g (about 100 mL) of ethanol"), ("none", "100 mL of ethanol")):
        assert main(["recipe", "0.948 g/cm3", "ethanol", "--scale", scale]) == 0
        text = capsys.readouterr().out
        assert amount in text
        assert "FLAMMABLE: its vapour can be lit from about 26 °C on." in text
        assert "rounding: rounded so, the" in " ".join(text.split())


def test_what_is_not_offered_is_a_line_unless_asked_for(capsys: pytest.CaptureFixture[str]) -> None:
    """Ten lines of it once came before the first question."""
    short, full = ["next", *WITHOUT_BY_EYE], ["next", *WITHOUT_BY_EYE, "--full"]
    texts = []
    for arguments in (short, full):
        assert main(arguments) == 0
        texts.append(capsys.readouterr().out)
    (line,) = [part for part in texts[0].split("\n\n") if part.startswith("Not offered")]
    assert len(line.splitlines()) <= 2
    assert "tests are held back" in line
    assert "--full" in line
    assert "step a hot plate" not in texts[0]
    assert "  - step a hot plate" in texts[1]
    assert "do not heat while the piece may be" in " ".join(texts[1].split())
