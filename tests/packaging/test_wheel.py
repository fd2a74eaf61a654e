"""Wheel and sdist carry the reference table and work away from the source tree."""

from __future__ import annotations

import subprocess
import sys
import tarfile
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PIECE = "[[observation]]\ntest = 'density'\ndensity = '0.9784 ± 0.0004 g/cm3'\n"


@pytest.fixture(scope="module")
def built(tmp_path_factory: pytest.TempPathFactory) -> Path:
    out = tmp_path_factory.mktemp("dist")
    subprocess.run([sys.executable, "-m", "build", "--outdir", str(out), str(ROOT)], check=True, capture_output=True)
    return out


@pytest.mark.slow
def test_sdist_and_wheel_carry_the_table(built: Path) -> None:
    tables = {path.name for path in (ROOT / "reference").glob("*.csv")}
    with zipfile.ZipFile(next(built.glob("*.whl"))) as wheel:
        names = set(wheel.namelist())
    assert {f"resinid/reference/data/{name}" for name in tables} <= names
    assert "resinid/py.typed" in names
    assert any(name.endswith(".dist-info/licenses/resinid/LICENSE") for name in names)
    assert not any(name.startswith("tests/") for name in names)
    with tarfile.open(next(built.glob("*.tar.gz"))) as sdist:
        inside = {name.split("/", 1)[1] for name in sdist.getnames() if "/" in name}
    assert {f"reference/{name}" for name in tables} <= inside
    assert "tests/packaging/test_wheel.py" in inside


@pytest.mark.slow
def test_wheel_identifies_from_another_folder(built: Path, tmp_path: Path) -> None:
    """Installed in a clean environment with only its required packages, it identifies a piece from another folder."""
    home = tmp_path / "env"
    venv.create(home, with_pip=True)
    python = home / "bin" / "python"
    wheel = next(built.glob("*.whl"))
    subprocess.run([python, "-m", "pip", "install", "--quiet", str(wheel)], check=True, capture_output=True)
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (elsewhere / "piece.toml").write_text(PIECE, encoding="utf-8")
    done = subprocess.run(
        [home / "bin" / "resinid", "identify", "piece.toml"], cwd=elsewhere, check=True, capture_output=True, text=True
    )
    assert "PE-HD" in done.stdout.splitlines()[1]
    listed = subprocess.run(
        [python, "-m", "pip", "list", "--format=freeze"], check=True, capture_output=True, text=True
    )
    assert not any(line.startswith(("rich==", "matplotlib==", "pytest==")) for line in listed.stdout.splitlines())


@pytest.mark.slow
def test_builds_are_the_same_to_the_byte(built: Path, tmp_path: Path) -> None:
    """Built again from a copy of the sdist, wheel and sdist have the same bytes (reproducible-builds.org)."""
    with tarfile.open(next(built.glob("*.tar.gz"))) as sdist:
        sdist.extractall(tmp_path, filter="data")
    copy = next(path for path in tmp_path.iterdir() if path.is_dir())
    again = tmp_path / "again"
    subprocess.run([sys.executable, "-m", "build", "--outdir", str(again), str(copy)], check=True, capture_output=True)
    first, second = ({path.name: path.read_bytes() for path in folder.iterdir()} for folder in (built, again))
    assert first == second
