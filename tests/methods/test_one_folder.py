"""A method is added by adding one folder, and listed with all that is to be known of it."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Final

from resinid.methods.registry import built_in

ROOT: Final = Path(__file__).resolve().parents[2]

INIT: Final = '''"""Knock."""

from resinid.methods.knock.method import METHOD

__all__ = ["METHOD"]
'''

METHOD: Final = '''"""Knock on a piece, with a table of its own."""

from pathlib import Path

from resinid.methods.contract import Method
from resinid.methods.word_test import WordTest, word_test
from resinid.scoring.properties import CategoricalProperty

NOTE = CategoricalProperty("note", ("high", "low"), folder=Path(__file__).parent)


@word_test(NOTE, "knock on the piece", ("Knock.", "Is the note high or low?"), minutes=1.0)
class Knock(WordTest):
    """The note of a knock."""


METHOD = Method("knock", "1", "The note of a knock.", "", ("invented for this test",), (Knock,))
'''

ROWS: Final = """resin,aspect,outcome,frequency,source,locator,obtained,note
PS,note,high,always,,,common practice,invented
PE-LD,note,low,always,,,common practice,invented
Unobtainium,note,low,always,,,common practice,a resin the table lacks
"""


def test_adding_a_method_is_adding_a_folder(tmp_path: Path) -> None:
    """In a copy of the package, one new folder is listed, used, and named among the tests."""
    shutil.copytree(ROOT / "resinid", tmp_path / "resinid", ignore=shutil.ignore_patterns("__pycache__"))
    shutil.copytree(ROOT / "reference", tmp_path / "reference")
    folder = tmp_path / "resinid" / "methods" / "knock"
    folder.mkdir()
    for name, text in (("__init__.py", INIT), ("method.py", METHOD), ("behaviour.csv", ROWS)):
        (folder / name).write_text(text, encoding="utf-8")
    piece = tmp_path / "piece.toml"
    piece.write_text('piece = "x"\n[[observation]]\ntest = "note"\noutcome = "high"\n', encoding="utf-8")

    def run(*arguments: str) -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "resinid", *arguments],
            cwd=tmp_path, env=os.environ | {"PYTHONPATH": str(tmp_path)}, capture_output=True, text=True, check=True,
        )  # fmt: skip

    listed = json.loads(run("methods", "--json").stdout)
    knock = next(entry for entry in listed if entry["name"] == "knock")
    assert knock["tests"] == ["note"]
    assert knock["origin"] == "built-in"
    assert len(listed) == len(built_in()) + 1
    ranking = json.loads(run("identify", str(piece), "--json").stdout)["ranking"]
    chance = {row["resin"]: (row["probability"], row["prior"]) for row in ranking}
    assert chance["PS"][0] > 1.5 * chance["PS"][1]
    assert chance["PE-LD"][0] < 0.5 * chance["PE-LD"][1]


def test_the_listing_says_what_is_to_be_known() -> None:
    """Name, version, origin, caution and sources of every built-in method, as text and as JSON."""
    command = [sys.executable, "-m", "resinid", "methods"]
    text = subprocess.run(command, capture_output=True, text=True, check=True).stdout
    rows = json.loads(subprocess.run([*command, "--json"], capture_output=True, text=True, check=True).stdout)
    flat = " ".join(text.split())
    for method, row in zip(built_in(), rows, strict=False):
        assert row["sources"] == list(method.sources)
        assert f"{method.name} {method.version} (built-in)" in flat
        for words in (method.summary, method.caution, *method.sources):
            assert " ".join(words.split()) in flat
