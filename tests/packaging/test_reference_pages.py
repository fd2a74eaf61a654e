"""The reference builds without a warning, and has every public name and every page of the guide."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

import resinid
from resinid.guide import TOPICS, page

ROOT = Path(__file__).parents[2]


@pytest.mark.slow
def test_the_reference_has_every_public_name_and_page(tmp_path: Path) -> None:
    pytest.importorskip("pdoc")
    command = [sys.executable, str(ROOT / "tests" / "packaging" / "reference_pages.py"), str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, check=False, cwd=tmp_path)
    assert (done.returncode, done.stderr) == (0, "")
    names, guide = ((tmp_path / f"resinid{part}.html").read_text(encoding="utf-8") for part in ("", "/guide"))
    modules = {"plot", "testing", "__version__"}
    assert [name for name in resinid.__all__ if f'id="{name}"' not in names and name not in modules] == []
    assert [topic for topic in TOPICS if page(topic).splitlines()[0][2:] not in guide] == []
    assert re.search(r":(attr|class|data|func|meth|mod):", names) is None
    assert 'href="resinid/guide.html"' in names
