"""Options that several commands have."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    import argparse

__all__ = ["add_trust"]


def add_trust(parser: argparse.ArgumentParser) -> None:
    """Add the option that names plug-ins which may clear a piece for heating."""
    parser.add_argument(
        "--trust",
        action="append",
        default=[],
        metavar="NAME",
        help="a plug-in's method or test that may clear a piece for heating; may be repeated",
    )
