"""Rank every sheet that came into a folder since the last run: a script for a timer.

The Kettle Lane workshop's sorters save a CSV or Excel sheet a day, with the columns ``bag`` and one a test. Each gets
an answer of its own name in another folder. A faulty sheet is named and holds up no other. A line for ``crontab``:

    15 2 * * *  cd /srv/kettle_lane && python nightly_sheets.py inbox outbox >> nightly.log 2>&1

Exit codes: 0, all were ranked; 1, some sheet was faulty, and is tried again the next time. Without folders it makes up
a sheet in ``kettle_lane/inbox`` and ranks that.

Usage: python nightly_sheets.py [INBOX OUTBOX]
"""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path

import resinid

SHEET = "bag,Density (g/cm3),float.liquid,float.outcome\n12,0.957(3),water,floats\n13,1.38 ± 0.01,water,sinks\n14,,,\n"


def main(inbox: Path, outbox: Path) -> int:
    """Rank what is new or was changed, and return the exit code."""
    outbox.mkdir(parents=True, exist_ok=True)
    faulty = 0
    for sheet in sorted(path for path in inbox.iterdir() if path.suffix in {".csv", ".xlsx"}):
        answer = outbox / f"{sheet.stem}.csv"
        if answer.exists() and answer.stat().st_mtime >= sheet.stat().st_mtime:
            continue
        now = datetime.now().astimezone().isoformat(timespec="seconds")
        try:
            done = resinid.identify_file(sheet, answer, keep=["bag"], top=3)
        except resinid.ResinidError as error:
            faulty += 1
            print(f"{now} {sheet.name}: {error}", file=sys.stderr)
        else:
            print(f"{now} {sheet.name}: {done.rows} rows, {done.faulty} of them faulty", *done.notes, sep="; ")
    return 1 if faulty else 0


def made_up(folder: Path) -> tuple[Path, Path]:
    """Write a sheet of three bags where there is none, and return the folders."""
    (folder / "inbox").mkdir(parents=True, exist_ok=True)
    (folder / "inbox" / "monday.csv").write_text(SHEET, encoding="utf-8")
    return folder / "inbox", folder / "outbox"


if __name__ == "__main__":
    given = [Path(argument) for argument in sys.argv[1:3]]
    sys.exit(main(*(given if len(given) == 2 else made_up(Path("kettle_lane")))))
