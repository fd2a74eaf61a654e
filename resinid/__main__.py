"""``python -m resinid``, the same as ``resinid`` on the command line."""

from __future__ import annotations

import sys

from resinid.version import __version__

__all__ = ["run"]


def run() -> None:
    """Run the command line and leave with its exit code; the version alone is told without loading the rest."""
    if sys.argv[1:] == ["--version"] and sys.stdout:
        print(f"resinid {__version__}")
    else:
        try:
            from resinid.cli.main import run as run_commands

            run_commands()
        except KeyboardInterrupt:  # also while all that is loaded
            sys.exit(130)
        except MemoryError:
            sys.exit("resinid: this needs more memory than there is")


if __name__ == "__main__":
    run()
