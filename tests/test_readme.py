"""The README's examples do what it says."""

from __future__ import annotations

import doctest
import re
import subprocess
import sys
from pathlib import Path

import pytest

from resinid.guide import page
from resinid.methods.registry import listed

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_python_examples() -> None:
    failed, tried = doctest.testfile(str(ROOT / "README.md"), module_relative=False)
    assert tried > 3
    assert failed == 0


def test_printed_answer() -> None:
    """What the README shows after the first command is how its output begins."""
    shown = re.search(r"```text\n(.*?)```", README, re.DOTALL)
    assert shown is not None
    done = subprocess.run(
        [sys.executable, "-m", "resinid", "identify", "examples/green_cap.toml"],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    lines = shown[1].rstrip().splitlines()
    assert len(lines) > 5
    assert done.stdout.splitlines()[: len(lines)] == lines


@pytest.mark.parametrize("test", [test.test for entry in listed() for test in entry.method.tests])
def test_every_test_is_in_the_guide(test: str) -> None:
    assert f"`{test}`" in page("tests")
