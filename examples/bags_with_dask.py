"""Rank the resins of many bags on several processes, as on several machines.

The Kettle Lane workshop's sorting line writes one row a bag. The same function that
ranks a table ranks each partition of a Dask table; nothing is shared between them.
"""

from __future__ import annotations

import dask.dataframe as dd
import numpy as np
import pandas as pd
from dask.distributed import Client, LocalCluster

from resinid import identify_table


def bags(count: int) -> pd.DataFrame:
    """Make up the readings of some bags: half bottle, half cap."""
    rng = np.random.default_rng(3)
    density = np.where(np.arange(count) % 2, 0.957, 0.905) + 0.003 * rng.standard_normal(count)
    return pd.DataFrame(
        {
            "density.density [g/cm3]": density,
            "density.density_u [g/cm3]": 0.003,
            "float.liquid": "ethanol 40 %v/v at 20 degC",
            "float.outcome": np.where(density > 0.948, "sinks", "floats"),
        }
    )


def main() -> None:
    """Rank ten thousand bags on two processes and print how many bags lead with which resin."""
    with LocalCluster(n_workers=2, threads_per_worker=1, dashboard_address=None) as cluster, Client(cluster):
        table = dd.from_pandas(bags(10_000), npartitions=4)
        meta = identify_table(bags(2), top=1)
        ranked = table.map_partitions(identify_table, top=1, meta=meta)
        print(ranked["resin_1"].value_counts().compute().sort_index().to_string())


if __name__ == "__main__":
    main()
