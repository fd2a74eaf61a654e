"""A stock list goes in; a matrix as CSV and JSON, a picture, and an exit code come out.

Meant to be run by another program, for example after each delivery to the Kettle Lane
workshop. Exit codes: 0, nothing in the stock is dangerous by itself; 1, something is;
2, the list is faulty, with one message that names every fault.

Usage: python stock_script.py [STOCK.csv [FOLDER]]
"""

from __future__ import annotations

import sys
from pathlib import Path

from matplotlib.figure import Figure

import resinid
from resinid.heating.verdict import DO_NOT_HEAT
from resinid.plot.bags import draw_pairs

HERE = Path(__file__).parent


def main(list_of_stock: Path, folder: Path) -> int:
    """Judge a stock and return the exit code."""
    try:
        batches = resinid.read_stock(
            list_of_stock.read_text(encoding="utf-8"), list_of_stock.parent, list_of_stock.name
        )
        found = resinid.stock_matrix(batches)
    except resinid.ResinidError as error:
        print(error, file=sys.stderr)
        return 2
    folder.mkdir(parents=True, exist_ok=True)
    (folder / "pairs.csv").write_text(found.to_csv(), encoding="utf-8")
    (folder / "pairs.json").write_text(found.to_json(), encoding="utf-8")
    figure = Figure(figsize=(8, 5), layout="constrained")
    draw_pairs(found, ax=figure.add_subplot())
    figure.savefig(folder / "pairs.png", dpi=110)
    dangerous = [name for place, name in enumerate(found.names) if found.verdicts[place][place] == DO_NOT_HEAT]
    for name in dangerous:
        print(f"{name}: {DO_NOT_HEAT}")
    print(f"{len(found.names)} bags judged; the matrix is in {folder}")
    return 1 if dangerous else 0


if __name__ == "__main__":
    given = [Path(argument) for argument in sys.argv[1:]]
    stock = given[0] if given else HERE / "kettle_lane_stock.csv"
    sys.exit(main(stock, given[1] if len(given) > 1 else Path("kettle_lane")))
