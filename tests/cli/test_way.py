"""DEVELOPERS.md draws the way of one reading from file to screen; the drawing is of what runs."""

from __future__ import annotations

import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Final

from resinid.cli.main import main

if TYPE_CHECKING:
    from types import FrameType

    import pytest

ROOT: Final = Path(__file__).parents[2]
PACKAGE: Final = ROOT / "resinid"
READING: Final = 'piece = "chip"\n[[observation]]\ntest = "softening"\ntemperature = "131 ± 2 degC"\n'
MOST: Final = 12
"""More files than this would not be followed by someone who is new to the package."""


def files_run(arguments: list[str]) -> set[str]:
    """Return the files of the package of which a function is called."""
    called: set[str] = set()

    def note(frame: FrameType, event: str, _: object) -> None:
        if event == "call" and frame.f_code.co_name != "<module>":
            called.add(frame.f_code.co_filename)

    before = sys.getprofile()
    sys.setprofile(note)
    try:
        assert main(arguments) == 0
    finally:
        sys.setprofile(before)
    own = {path for path in map(Path, called) if path.is_relative_to(PACKAGE)}
    return {path.relative_to(PACKAGE).as_posix() for path in own}


def test_the_way_drawn_is_the_way_gone(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
    section = re.search(r"### The way of one reading\n.*?```text\n(.*?)```", text, re.DOTALL)
    assert section is not None
    drawn = re.findall(r"^ *(\S+\.py) ", section[1], re.MULTILINE)
    assert 3 < len(drawn) <= MOST
    file = tmp_path / "chip.toml"
    file.write_text(READING, encoding="utf-8")
    run = files_run(["identify", str(file)])
    assert "PE-HD" in capsys.readouterr().out
    assert not set(drawn) - run
