"""Methods in somebody else's packages: installed from their folders they are used everywhere, nothing changed here."""

from __future__ import annotations

import importlib.util
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Final

import pytest

import resinid

ROOT: Final = Path(__file__).parents[2]
PACKAGES: Final = tuple(sorted(found.parent.name for found in (ROOT / "examples").glob("*/pyproject.toml")))

PIECE: Final = """
[[observation]]
test = "slide_angle"
angle = "9 degree"

[[observation]]
test = "density"
density = "2.18 ± 0.02 g/cm3"
"""

TABLE: Final = """
import json
import pandas as pd
import resinid

seen = [{"test": "slide_angle", "angle": {"value": 9.0, "u": 0.5, "unit": "degree"}}]
frame = pd.DataFrame({"slide_angle.angle [degree]": [9.0, None], "slide_angle.angle_u [degree]": [0.5, None]})
table = resinid.identify_table(frame).probability
one = resinid.identify(seen)
print(json.dumps({
    "table": table.loc[0, list(one.resins)].tolist(),
    "one": list(one.probability),
    "nothing measured": bool(table.loc[1].isna().all()),
}))
"""


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Install copies of the examples' folders into a folder of its own, as pip does from any source tree."""
    home = tmp_path_factory.mktemp("third_party")
    for name in PACKAGES:
        shutil.copytree(ROOT / "examples" / name, home / name, ignore=shutil.ignore_patterns("__pycache__", ".*"))
    # Where the build backend is at hand no network is needed; else pip fetches it.
    offline = ["--no-build-isolation"] if importlib.util.find_spec("hatchling") else []
    command = [sys.executable, "-m", "pip", "install", "--quiet", "--no-deps", *offline]
    done = subprocess.run(
        [*command, "--target", str(home / "site"), *(str(home / name) for name in PACKAGES)],
        check=False,
        capture_output=True,
        text=True,
    )
    assert done.returncode == 0, done.stderr
    return home


def run(home: Path, *arguments: str) -> str:
    """Run Python in an empty folder with the installed example and the package under test on its path."""
    elsewhere = home / "elsewhere"
    elsewhere.mkdir(exist_ok=True)
    (elsewhere / "piece.toml").write_text(PIECE, encoding="utf-8")
    path = os.pathsep.join([str(home / "site"), str(Path(resinid.__file__).parents[1])])
    done = subprocess.run(
        [sys.executable, *arguments],
        cwd=elsewhere,
        check=False,
        capture_output=True,
        text=True,
        env={**os.environ, "PYTHONPATH": path},
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


@pytest.mark.slow
def test_the_command_line_lists_and_uses_it(installed: Path) -> None:
    listed = run(installed, "-m", "resinid", "methods")
    assert all(f"resinid-{name.replace('_', '-')} 0.1.0" in listed for name in PACKAGES)
    answer = json.loads(run(installed, "-m", "resinid", "identify", "piece.toml", "--json"))
    assert "slides on steel at 9" in json.dumps(answer)
    heating, leader, *_ = run(installed, "-m", "resinid", "identify", "piece.toml").splitlines()
    assert heating == "Heating: DO NOT HEAT."
    assert "PTFE" in leader


@pytest.mark.slow
def test_it_is_recommended_where_its_tool_is_at_hand(installed: Path) -> None:
    bench = ["-m", "resinid", "next", "--question", "resin", "--json", "--have"]
    assert "tilt a clean steel plank" in run(installed, *bench, "tilting plank, scale 0.1 g")
    assert "tilt a clean steel plank" not in run(installed, *bench, "scale 0.1 g")


@pytest.mark.slow
def test_whole_tables_take_its_columns(installed: Path) -> None:
    found = json.loads(run(installed, "-c", TABLE))
    assert found["table"] == pytest.approx(found["one"], abs=1e-9)
    assert found["nothing measured"]


@pytest.mark.slow
@pytest.mark.parametrize("name", PACKAGES)
def test_its_own_tests_pass(name: str, installed: Path) -> None:
    tests = str(installed / name / "tests")
    assert "4 passed" in run(installed, "-m", "pytest", "-q", "-p", "no:cacheprovider", "--rootdir", tests, tests)
