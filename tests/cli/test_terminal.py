"""What the command line prints for people: 80 columns, plain when piped, no meaning in colour alone."""

from __future__ import annotations

import contextlib
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest

import resinid
from resinid.cli.main import main
from resinid.report.bag_report import stock_text
from resinid.report.piece_report import result_text

ROOT = Path(__file__).parents[2]
CAP = str(ROOT / "examples" / "green_cap.toml")
CAPS = str(ROOT / "examples" / "caps_bag.toml")
MILK = str(ROOT / "examples" / "milk_bag.toml")
ESCAPE = re.compile(r"\x1b\[([0-9;]*)m")
COLOURS = {*range(30, 50), *range(90, 108)}
"""SGR parameters that set a colour (ECMA-48, 5th edition, 8.3.117, and the bright ones that terminals add)."""

COMMANDS = {
    "identify": ["identify", CAP, "--top", "50"],
    "next": ["next", CAP],
    "recipe": ["recipe", "0.930 g/cm3", "ethanol", "96", "%v/v", "--allow", "flammable bath"],
    "correction": ["recipe", "1.070 g/cm3", "table", "salt", "--measured", "1.062 g/cm3"],
    "ladder": ["ladder", "PP", "PE-HD", "PS", "PET", "PC", "ABS"],
    "batch": ["batch", CAPS, "--same-as", MILK],
    "together": ["together", CAPS, MILK],
    "plan": ["plan", CAPS, MILK],
    "methods": ["methods"],
    "resins": ["resins"],
    "liquid": ["liquid", "ethanol", "40", "%v/v"],
    "table": ["table"],
}


@pytest.mark.parametrize("name", COMMANDS)
def test_what_is_piped_is_plain_and_fits_80_columns(name: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(COMMANDS[name]) == 0
    text = capsys.readouterr().out
    assert "\x1b" not in text
    assert max(map(len, text.splitlines())) <= 80


def on_a_terminal(*arguments: str, errors: bool = False, **environment: str) -> str:
    """Run a command on a terminal of its own and return all it wrote there: what it prints, or its errors."""
    import pty

    here, there = pty.openpty()
    kept = {key: value for key, value in os.environ.items() if key not in {"NO_COLOR", "FORCE_COLOR", "COLORTERM"}}
    with subprocess.Popen(
        [sys.executable, "-m", "resinid", *arguments],
        stdout=subprocess.PIPE if errors else there, stdin=subprocess.DEVNULL,
        stderr=there if errors else subprocess.PIPE, cwd=ROOT,
        env={**kept, "TERM": "xterm-256color", "COLUMNS": "80", **environment},
    ) as program:  # fmt: skip
        os.close(there)
        parts: list[bytes] = []
        with contextlib.suppress(OSError):  # how Linux says that the other end is closed
            while part := os.read(here, 65536):
                parts.append(part)
        os.close(here)
        assert program.wait() == 0
    return b"".join(parts).decode().replace("\r\n", "\n")


def pipe(folder: Path) -> Path:
    """Write down a piece that must not be heated: rigid PVC by its density and softening."""
    file = folder / "pipe.toml"
    file.write_text(
        '[[observation]]\ntest = "density"\ndensity = "1.40 ± 0.004 g/cm3"\n'
        '[[observation]]\ntest = "softening"\ntemperature = "80 ± 2 degC"\n',
        encoding="utf-8",
    )
    return file


@pytest.mark.skipif(os.name != "posix", reason="terminals are made another way there")
def test_on_a_terminal_emphasis_adds_nothing_but_emphasis(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Without its escape sequences the text is the piped one, so no meaning is in colour alone."""
    pytest.importorskip("rich")
    shown = on_a_terminal("identify", str(pipe(tmp_path)))
    codes = {int(part) for found in ESCAPE.findall(shown) for part in found.split(";") if part}
    assert codes & COLOURS
    assert main(["identify", str(pipe(tmp_path))]) == 0
    assert ESCAPE.sub("", shown) == capsys.readouterr().out


@pytest.mark.skipif(os.name != "posix", reason="terminals are made another way there")
def test_no_color_is_honoured(tmp_path: Path) -> None:
    """https://no-color.org: when NO_COLOR is set and not empty, no colour is added (emphasis may stay)."""
    shown = on_a_terminal("identify", str(pipe(tmp_path)), NO_COLOR="1")
    codes = {int(part) for found in ESCAPE.findall(shown) for part in found.split(";") if part}
    assert not codes & COLOURS
    assert "DO NOT HEAT" in ESCAPE.sub("", shown)


@pytest.mark.skipif(os.name != "posix", reason="terminals are made another way there")
def test_a_table_shows_how_far_it_is(tmp_path: Path) -> None:
    """On a terminal a bar is full and counts all rows when a file is done, and no half line is left."""
    source = tmp_path / "pieces.csv"
    source.write_text("density.density [g/cm3],density.density_u [g/cm3]\n" + "0.955,0.003\n" * 50, encoding="utf-8")
    shown = on_a_terminal("rows", str(source), str(tmp_path / "out.csv"), errors=True)
    last = shown.rsplit("\r", 1)[1]
    assert re.fullmatch(r"\[#+\] 50 rows of 0 MB \n", last)


def test_a_name_cannot_steer_the_terminal(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "piece.json"
    file.write_text(
        '{"piece": "cap\\u001b[2J\\u202e", "observation": [{"test": "snap", "outcome": "snaps"}]}', encoding="utf-8"
    )
    assert main(["identify", str(file)]) == 0
    text = capsys.readouterr().out
    assert "cap\ufffd[2J\ufffd: " in text
    assert "\x1b" not in text


def test_extreme_factors_still_fit() -> None:
    """Contradicting observations give factors of seven letters; columns that do not fit are left out, not wrapped."""
    observations = [
        {"test": "density", "density": f"{value} ± 0.002 g/cm3"} for value in ("0.92", "0.95", "1.05", "1.4")
    ] + [{"test": "softening", "temperature": f"{value} ± 2 degC"} for value in (110, 130, 160, 250)]
    text = result_text(resinid.identify(observations), resinid.default_reference(), 50)
    assert max(map(len, text.splitlines())) <= 80
    assert any(line.startswith("resin ") and " x1" in line for line in text.splitlines())


@pytest.mark.slow
def test_a_wide_stock_is_printed_in_blocks() -> None:
    bags = [
        resinid.Batch.of(f"a bag of caps with quite a long name, {number}", marked={"PE-HD": 9}) for number in range(14)
    ]
    found = resinid.stock_matrix(bags)
    text = stock_text(found)
    assert max(map(len, text.splitlines())) <= 80
    heads = [line for line in text.splitlines() if line.startswith("batch")]
    assert " ".join(heads).replace("batch", "").split() == [str(number) for number in range(1, 15)]
