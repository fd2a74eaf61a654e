"""The same function on a real local cluster of processes."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

CLUSTER = """
import dask.dataframe as dd
import pandas as pd
from dask.distributed import Client, LocalCluster
from resinid import identify_table
from shop import shop

if __name__ == "__main__":
    frame = shop(2000)
    here = identify_table(frame, top=3)
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster, Client(cluster):
        there = dd.from_pandas(frame, npartitions=5).map_partitions(identify_table, top=3, meta=here.iloc[:0]).compute()
        workers = len(cluster.workers)
    columns = [name for name in here.columns if name != "error"]
    pd.testing.assert_frame_equal(there[columns], here[columns], rtol=1e-9, check_dtype=False)
    print(f"equal on {workers} processes")
"""


@pytest.mark.slow
def test_partitions_on_processes_give_the_same_answer(tmp_path: Path) -> None:
    """Dask's map_partitions on two processes gives what one call gives."""
    script = tmp_path / "cluster.py"
    script.write_text(CLUSTER, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, str(script)],
        env={"PYTHONPATH": str(Path(__file__).parent), "PATH": "/usr/bin:/bin", "HOME": str(tmp_path)},
        capture_output=True, text=True, check=False, timeout=240,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-3000:]
    assert "equal on 2 processes" in done.stdout


@pytest.mark.slow
def test_example() -> None:
    """The example prints how many bags lead with which resin."""
    script = str(ROOT / "examples" / "bags_with_dask.py")
    done = subprocess.run([sys.executable, script], capture_output=True, text=True, check=True, timeout=240)
    counts = dict(line.split() for line in done.stdout.splitlines() if len(line.split()) == 2 and line[0].isupper())
    assert sum(map(int, counts.values())) == 10_000
    assert int(counts["PE-HD"]) > 4800
    assert int(counts["PP"]) > 4800
