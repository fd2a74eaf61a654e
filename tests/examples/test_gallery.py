"""Every script and notebook of the gallery runs and gives what it says; run with ``-m examples``."""

from __future__ import annotations

import http.client
import json
import os
import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

pytestmark = pytest.mark.examples

EXAMPLES = Path(__file__).parents[2] / "examples"
SCRIPTS = [path for path in sorted(EXAMPLES.glob("*.py")) if path.name != "web_service.py"]
NOTEBOOKS = sorted(EXAMPLES.glob("*.ipynb"))
JAVA = {"JDK_JAVA_OPTIONS": "-XX:TieredStopAtLevel=1 -XX:+UseSerialGC"}
"""What a short job is started faster with: the Java of Spark compiles no more than it must."""

LONGEST = 240
"""[s] No example takes longer than some seconds; on a busy machine perhaps ten times that."""


def run(script: str, *arguments: str, folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-W", "error::DeprecationWarning:__main__", str(EXAMPLES / script), *arguments],
        cwd=folder, capture_output=True, text=True, check=False, timeout=LONGEST, env={**os.environ, **JAVA},
    )  # fmt: skip


def test_the_gallery_lists_every_file() -> None:
    listed = (EXAMPLES / "README.md").read_text(encoding="utf-8")
    own = {"README.md", "__pycache__"}
    missing = [f.name for f in sorted(EXAMPLES.iterdir()) if f.name not in own and f.name not in listed]
    assert missing == []
    for name in re.findall(r"\]\(([^)]+)\)", listed):
        assert (EXAMPLES / name).is_file()


@pytest.mark.parametrize("script", [file.name for file in SCRIPTS])
def test_a_script_runs_from_any_folder(script: str, tmp_path: Path) -> None:
    done = run(script, folder=tmp_path)
    if script == "bags_with_spark.py" and done.stderr in {"pyspark is not installed\n", "there is no Java runtime\n"}:
        pytest.skip(done.stderr)
    assert done.returncode in ({1} if script == "stock_script.py" else {0}), done.stderr
    assert done.stdout
    assert "Traceback" not in done.stderr


def test_the_web_service_answers_and_places_faults() -> None:
    command = [sys.executable, str(EXAMPLES / "web_service.py")]
    for posted, status, says in (
        ('{"observation": [{"test": "float", "liquid": "water", "outcome": "floats"}]}', 200, '"ranking"'),
        ('{"observation": [{"test": "float", "liquid": "water", "outcome": "flaots"}]}', 422, "observation[1].outcome"),
    ):
        with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True) as server:
            assert server.stdout is not None
            port = int(server.stdout.readline().rpartition(" ")[2])
            connection = http.client.HTTPConnection("127.0.0.1", port, timeout=60)
            connection.request("POST", "/", posted.encode())
            answer = connection.getresponse()
            assert answer.status == status
            assert says in answer.read().decode()
            connection.close()
            assert server.wait(60) == 0


def test_the_toy_box_gets_a_sheet_for_each_toy(tmp_path: Path) -> None:
    done = run("mixed_toy_box.py", str(tmp_path), folder=tmp_path)
    assert {file.name for file in tmp_path.glob("*.html")} == {
        "red_brick.html", "sand_bucket.html", "soft_duck.html", "toy_boat.html",
    }  # fmt: skip
    assert re.search(r"^toy boat +PE-HD", done.stdout, re.MULTILINE)
    assert re.search(r"^soft duck.*do not heat$", done.stdout, re.MULTILINE)


def test_the_slab_gets_a_plan(tmp_path: Path) -> None:
    done = run("two_bags_one_slab.py", str(tmp_path), folder=tmp_path)
    assert "usable with limits" in done.stdout
    assert "never above" in done.stdout
    assert (tmp_path / "bags.png").read_bytes().startswith(b"\x89PNG")
    assert "Melt plan" in (tmp_path / "plan.html").read_text(encoding="utf-8")


def test_the_stock_script_speaks_to_scripts(tmp_path: Path) -> None:
    done = run("stock_script.py", str(EXAMPLES / "kettle_lane_stock.csv"), str(tmp_path), folder=tmp_path)
    assert done.returncode == 1
    assert "gutter offcuts: DO NOT HEAT" in done.stdout
    data = json.loads((tmp_path / "pairs.json").read_text(encoding="utf-8"))
    assert data["verdicts"][0][0] == "one melt"
    assert (tmp_path / "pairs.csv").read_text(encoding="utf-8").startswith(",screw caps,")
    (tmp_path / "faulty.csv").write_text("name,marked\ncaps,PE-HD:many\n,PP:3\n", encoding="utf-8")
    done = run("stock_script.py", str(tmp_path / "faulty.csv"), folder=tmp_path)
    assert done.returncode == 2
    assert done.stderr.count("faulty.csv:") == 2


def test_the_nightly_script_ranks_each_sheet_once_and_names_the_faulty(tmp_path: Path) -> None:
    inbox, outbox = tmp_path / "inbox", tmp_path / "outbox"
    inbox.mkdir()
    (inbox / "a.csv").write_text("bag,Density (g/cm3)\n12,0.957(3)\n", encoding="utf-8")
    (inbox / "b.csv").write_text("bag,denisty [g/cm3]\n12,0.957(3)\n", encoding="utf-8")
    first = run("nightly_sheets.py", str(inbox), str(outbox), folder=tmp_path)
    assert (first.returncode, first.stdout.count("\n")) == (1, 1)
    assert "a.csv: 1 rows, 0 of them faulty" in first.stdout
    assert "did you mean 'density'" in first.stderr
    assert (outbox / "a.csv").read_text(encoding="utf-8").splitlines()[1].startswith("12,PE-HD,")
    again = run("nightly_sheets.py", str(inbox), str(outbox), folder=tmp_path)
    assert (again.returncode, again.stdout) == (1, "")


def executed(file: Path) -> list[dict[str, Any]]:
    import nbformat
    from nbclient import NotebookClient

    book = nbformat.read(file, as_version=4)
    NotebookClient(book, timeout=LONGEST, resources={"metadata": {"path": str(EXAMPLES)}}).execute()
    return [output for cell in book.cells if cell.cell_type == "code" for output in cell.outputs]


@pytest.mark.filterwarnings("default")  # of the notebook's own machinery
@pytest.mark.parametrize("name", [file.name for file in NOTEBOOKS])
def test_a_notebook_runs_and_shows_answers_and_pictures(name: str) -> None:
    outputs = executed(EXAMPLES / name)
    kinds = [set(output.get("data", {})) for output in outputs]
    answers = [output["data"]["text/html"] for output in outputs if "text/html" in output.get("data", {})]
    assert len(answers) >= 3
    assert all(answer.startswith('<section class="resinid"') for answer in answers)
    assert sum("image/png" in kind for kind in kinds) >= 2
    assert not [output for output in outputs if output["output_type"] == "error" or output.get("name") == "stderr"]


@pytest.mark.parametrize("name", [file.name for file in NOTEBOOKS])
def test_a_notebook_is_kept_without_outputs(name: str) -> None:
    """Outputs hold a version and a digest, and would be stale with the next line of the table."""
    book = json.loads((EXAMPLES / name).read_text(encoding="utf-8"))
    for cell in book["cells"]:
        assert not cell.get("outputs")
        assert cell.get("execution_count") is None
