"""Row counts and SHA-256 sums of the reference table.

Run after a wanted change of the table, from the top folder:
``python tests/reference/checksums.py``
"""

from __future__ import annotations

import csv
import hashlib
import json
from pathlib import Path

REFERENCE = Path(__file__).resolve().parents[2] / "reference"
RECORDED = Path(__file__).with_name("checksums.json")


def sums(folder: Path) -> dict[str, dict[str, object]]:
    """Return rows and SHA-256 of every CSV file of a folder."""
    out: dict[str, dict[str, object]] = {}
    for path in sorted(folder.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            rows = sum(1 for record in csv.reader(file) if record) - 1
        out[path.name] = {"rows": rows, "sha256": hashlib.sha256(path.read_bytes()).hexdigest()}
    return out


if __name__ == "__main__":
    RECORDED.write_text(json.dumps(sums(REFERENCE), indent=2) + "\n", encoding="utf-8")
