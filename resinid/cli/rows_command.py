"""The command that ranks every row of a file."""

from __future__ import annotations

import hashlib
import sys
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from resinid.cli.options import add_trust
from resinid.cli.record_command import add_record, noted, recording

if TYPE_CHECKING:
    import argparse
    from collections.abc import Callable, Iterator

    from resinid.record.record import Record
    from resinid.reference.table import ReferenceTable

    Printed = tuple[str, Any]
    Command = Callable[[str, str, Callable[[argparse.Namespace], Printed]], argparse.ArgumentParser]

__all__ = ["add_bulk_command"]

BAR: Final = 40


def add_bulk_command(
    command: Command, table_options: Callable[[argparse.ArgumentParser], None], table_of: Callable[..., ReferenceTable]
) -> None:
    """Add the command to the parser."""
    rows = command(
        "rows",
        "Rank the resins of every row of a CSV or Parquet file or a spreadsheet.",
        lambda c: _rows(c, table_of(c)),
    )
    rows.add_argument(
        "table_file", metavar="source", help=".csv, .parquet, .xlsx or .ods; columns are test.field [unit]"
    )
    rows.add_argument("target", help="file to write, of any of these kinds")
    rows.add_argument("--top", type=int, default=3, help="resins a row (default 3); 0 for all")
    rows.add_argument("--keep", action="append", default=[], help="a column to copy; may be repeated")
    rows.add_argument("--prefix", default="", help="what to put before the name of each column of the answer")
    rows.add_argument("--sep", default=",", help="what stands between the cells of a CSV source (default a comma)")
    rows.add_argument("--decimal", default=".", help="what stands before decimals in the source (default a point)")
    rows.add_argument("--encoding", default="utf-8", help="encoding of a CSV source (default utf-8)")
    rows.add_argument("--prior", default="default", help="as for identify")
    rows.add_argument(
        "--allow", action="append", default=[], metavar="DANGER", help="allow tests with that danger, such as burn"
    )
    add_trust(rows)
    rows.add_argument("--workers", type=int, default=1, help="threads (default 1)")
    rows.add_argument("--chunk", type=int, default=65536, help="rows read at a time (default 65536)")
    rows.add_argument("--resume", action="store_true", help="go on where an interrupted run stopped")
    rows.add_argument("--strict", action="store_true", help="stop at the first rows that cannot be used")
    add_record(rows)
    table_options(rows)


def _rows(chosen: argparse.Namespace, reference: ReferenceTable) -> Printed:
    from resinid.tables.stream import identify_file

    with recording(chosen, reference) as record, _bar(Path(chosen.table_file)) as progress:
        done = identify_file(
            chosen.table_file,
            chosen.target,
            keep=chosen.keep,
            chunk=chosen.chunk,
            workers=chosen.workers,
            resume=chosen.resume,
            progress=progress,
            sep=chosen.sep,
            decimal=chosen.decimal,
            encoding=chosen.encoding,
            top=chosen.top or None,
            prefix=chosen.prefix,
            errors="raise" if chosen.strict else "report",
            prior=chosen.prior,
            reference=reference,
            allow=tuple(chosen.allow),
            trusted=tuple(chosen.trust),
        )
        told = {**done.to_dict(), "target": chosen.target}
        text = f"{done.rows} rows, {done.faulty} not usable (see the column error): {chosen.target}"
        if done.kept:
            text += f"\n{done.kept} rows were finished by an earlier run"
        if done.unused:
            text += f"\nColumns not used: {', '.join(done.unused)}"
        for note in done.notes:
            text += f"\nNote: {note}"
        return (text, told) if record is None else noted(record, _kept(record, chosen, told), text, told)


def _kept(record: Record, chosen: argparse.Namespace, told: dict[str, Any]) -> int:
    """Record which files a table was read from and written to, by their digests; return the entry's number."""
    files: dict[str, str] = {}
    for file in (chosen.table_file, chosen.target):
        with Path(file).open("rb") as opened:
            files[str(file)] = hashlib.file_digest(opened, "sha256").hexdigest()
    name = Path(chosen.table_file).name
    return record.add("table", name, {"sha256": files}, told, digest=record.reference.digest, source=chosen.source)


@contextmanager
def _bar(source: Path) -> Iterator[Callable[[int, float], None] | None]:
    """Show how far a file is read on standard error, where that is a terminal; leave no half line behind."""
    if sys.stderr is None or not sys.stderr.isatty():
        yield None
        return
    size = max(source.stat().st_size, 1) if source.is_file() else 1

    def show(rows: int, share: float) -> None:
        filled = round(BAR * min(share, 1.0))
        sys.stderr.write(f"\r[{'#' * filled}{'.' * (BAR - filled)}] {rows} rows of {size / 1e6:.0f} MB ")
        sys.stderr.flush()

    try:
        yield show
    finally:
        sys.stderr.write("\n")
