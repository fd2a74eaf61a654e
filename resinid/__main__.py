"""``python -m resinid``."""

from __future__ import annotations

from resinid.cli.main import run

if __name__ == "__main__":
    run()
