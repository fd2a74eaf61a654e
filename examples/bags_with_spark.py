"""Rank the resins of many bags with Spark, here in local mode on two threads, as on a cluster.

The Kettle Lane workshop's sorting line writes one row a bag. Each batch that Spark hands over is a pandas frame,
ranked by the same function as any other table. Needs pyspark and a Java runtime.
"""

from __future__ import annotations

import os
import shutil
import sys
from collections import Counter
from typing import TYPE_CHECKING

from resinid import identify_table

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    import pandas as pd

KEPT = ["resin_1", "probability_1", "verdict", "error"]
SCHEMA = "bag string, resin_1 string, probability_1 double, verdict string, error string"


def rank(batches: Iterable[pd.DataFrame]) -> Iterator[pd.DataFrame]:
    """Rank each batch, its bags' names beside the answers."""
    for batch in batches:
        yield batch[["bag"]].join(identify_table(batch, top=1)[KEPT])


def main() -> str:
    """Rank two thousand bags, half bottle and half cap; return why that cannot be done, empty where it was."""
    try:
        from pyspark.sql import SparkSession
    except ImportError:
        return "pyspark is not installed"
    if shutil.which("java") is None and "JAVA_HOME" not in os.environ:
        return "there is no Java runtime"
    os.environ.setdefault("PYSPARK_PYTHON", sys.executable)  # workers run in this environment
    os.environ.setdefault("SPARK_LOCAL_IP", "127.0.0.1")  # and listen to this machine only
    quiet = {"spark.ui.enabled": "false", "spark.ui.showConsoleProgress": "false"}
    session = SparkSession.builder.master("local[2]").appName("bags").config(map=quiet).getOrCreate()
    try:
        rows = [(f"bag {number}", 0.905 if number % 2 else 0.957, 0.003) for number in range(2000)]
        bags = session.createDataFrame(rows, ["bag", "density [g/cm3]", "density_u [g/cm3]"])
        found = Counter((row["resin_1"], row["verdict"]) for row in bags.mapInPandas(rank, SCHEMA).collect())
        for (resin, verdict), count in sorted(found.items()):
            print(resin, verdict, count, sep=", ")
    finally:
        session.stop()
    return ""


if __name__ == "__main__":
    sys.exit(main() or 0)
