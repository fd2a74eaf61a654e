"""``python -m resinid``, the same as ``resinid`` on the command line."""

import os
import sys

from resinid.cli.overview import OVERVIEW, OVERVIEW_COLUMNS
from resinid.version import __version__

__all__ = ["run"]


def run() -> None:
    """Run the command line and leave with its exit code; version and overview are told without loading the rest."""
    asked = sys.argv[1:]
    if asked == ["--version"] and sys.stdout:
        print(f"resinid {__version__}")
    elif asked in (["--help"], ["-h"]) and sys.stdout and _columns() >= OVERVIEW_COLUMNS:
        print(OVERVIEW, end="")
    else:
        try:
            from resinid.cli.main import run as run_commands

            run_commands()
        except KeyboardInterrupt:  # also while all that is loaded
            sys.exit(130)
        except MemoryError:
            sys.exit("resinid: this needs more memory than there is")


def _columns() -> int:
    """Return how many letters fit on a line."""
    try:
        return int(os.environ.get("COLUMNS", "0")) or os.get_terminal_size(1).columns or OVERVIEW_COLUMNS
    except (OSError, ValueError):  # no terminal
        return OVERVIEW_COLUMNS


if __name__ == "__main__":
    run()
