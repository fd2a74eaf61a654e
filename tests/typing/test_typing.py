"""Type checkers pass a client of every public name and README's own plug-in, and name each slip of another."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import resinid

HERE = Path(__file__).parent
ROOT = HERE.parents[1]


def readme_plug_in() -> str:
    """Return the plug-in as README's section on methods prints it."""
    text = (ROOT / "README.md").read_text(encoding="utf-8").partition("## Add a method")[2].partition("\n## ")[0]
    lines = [line[4:] for line in text.splitlines() if line.startswith((">>> ", "... "))]
    return "\n".join(["from __future__ import annotations", "import resinid", *lines, ""])


def checked(checker: str, files: list[Path]) -> dict[str, set[int]]:
    """Return the lines of each file that a checker finds fault with."""
    if checker == "mypy":
        command = [sys.executable, "-m", "mypy", "--strict", "--config-file", "", "--follow-imports", "silent"]
        command += ["--cache-dir", str(ROOT / ".mypy_cache"), "--allow-untyped-calls"]
    else:
        command = [str(Path(sys.executable).with_name("pyright")), "--pythonpath", sys.executable]
    done = subprocess.run([*command, *map(str, files)], capture_output=True, text=True, check=False, cwd=ROOT)
    out: dict[str, set[int]] = {path.name: set() for path in files}
    for name, line in re.findall(r"(\w+\.py):(\d+)(?::\d+ -)?:? error", done.stdout):
        if name in out:
            out[name].add(int(line))
    assert "error" in done.stdout or "no issues" in done.stdout or "0 errors" in done.stdout, done.stdout + done.stderr
    return out


@pytest.mark.slow
@pytest.mark.parametrize("checker", ["mypy", "pyright"])
def test_good_clients_pass_and_each_slip_is_named(checker: str, tmp_path: Path) -> None:
    if checker == "pyright" and not Path(sys.executable).with_name("pyright").exists():
        pytest.skip("pyright is not installed")
    plug_in, client, mistakes = (tmp_path / name for name in ("plug_in.py", "client.py", "mistakes.py"))
    plug_in.write_text(readme_plug_in(), encoding="utf-8")
    shutil.copy(HERE / client.name, client)
    shutil.copy(HERE / "mistakes.txt", mistakes)
    found = checked(checker, [plug_in, client, mistakes])
    lines = mistakes.read_text(encoding="utf-8").splitlines()
    slips = [number for number, line in enumerate(lines, 1) if "# slip" in line]
    assert found == {plug_in.name: set(), client.name: set(), mistakes.name: set(slips)}


def test_every_public_name_but_few_is_used_by_the_client() -> None:
    """What is left is for authors of methods, whose client is README's plug-in and the examples."""
    text = (HERE / "client.py").read_text(encoding="utf-8")
    left = {name for name in resinid.__all__ if f"resinid.{name}" not in text}
    assert left == {
        "Axis", "CategoricalProperty", "ContinuousProperty", "Dependence", "MethodWarning", "PlugInError", "Quantity",
        "SharedError", "SpreadRule", "TableError", "TableWarning", "Term",
    }  # fmt: skip
