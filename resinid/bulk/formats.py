"""The kinds of file that whole tables are read from and written to."""

from __future__ import annotations

import csv
import io
import os
import shutil
from typing import TYPE_CHECKING, Any, Final, Protocol

import pandas as pd

from resinid.errors import Fault, InputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence
    from pathlib import Path

__all__ = ["Format", "format_of", "inferred"]

WIDEST: Final = 5000
"""A CSV file with more columns is refused: pandas' time to tell them apart grows with their square."""

MISSING: Final = (
    "", "#N/A", "#N/A N/A", "#NA", "-1.#IND", "-1.#QNAN", "-NaN", "-nan", "1.#IND", "1.#QNAN",
    "<NA>", "N/A", "NA", "NULL", "NaN", "None", "n/a", "nan", "null",
)  # fmt: skip
"""Cells that pandas reads as empty where it is not told otherwise, as its manual lists them."""


class Format(Protocol):
    """One kind of file."""

    def read(self, path: Path, rows: int, texts: Sequence[str]) -> Iterator[tuple[pd.DataFrame, float]]:
        """Yield the file's rows in frames of about ``rows``, each with the share of the file read so far.

        Columns in ``texts`` hold what stands in the file, to the letter.
        """

    def write(self, frame: pd.DataFrame, path: Path) -> None:
        """Write one part."""

    def join(self, parts: Sequence[Path], target: Path) -> None:
        """Join parts into one file."""


class _Csv:
    def read(self, path: Path, rows: int, texts: Sequence[str]) -> Iterator[tuple[pd.DataFrame, float]]:
        size = max(path.stat().st_size, 1)
        try:
            _check_rows(path)
            how = _as_texts(path, texts)
            with (
                path.open("rb") as file,
                # Without index_col=False a first row with more cells than the header would shift every column.
                pd.read_csv(file, chunksize=rows, encoding="utf-8", index_col=False, **how) as reader,
            ):
                for frame in reader:
                    yield frame, file.tell() / size
        except (pd.errors.ParserError, pd.errors.EmptyDataError, UnicodeDecodeError) as error:
            raise InputError([Fault(str(path), f"is not CSV in UTF-8: {error}")]) from error

    def write(self, frame: pd.DataFrame, path: Path) -> None:
        with path.open("w", encoding="utf-8", newline="") as file:
            frame.to_csv(file, index=False, lineterminator="\n")
            file.flush()
            os.fsync(file.fileno())

    def join(self, parts: Sequence[Path], target: Path) -> None:
        with target.open("wb") as out:
            for number, part in enumerate(parts):
                with part.open("rb") as file:
                    if number:
                        file.readline()
                    shutil.copyfileobj(file, out)
            out.flush()
            os.fsync(out.fileno())


def _as_texts(path: Path, texts: Sequence[str]) -> dict[str, Any]:
    """Return what makes pandas read some columns to the letter, and the others as ever."""
    if not texts:
        return {}
    others = [name for name in pd.read_csv(path, nrows=0, encoding="utf-8").columns if name not in texts]
    missing = {name: list(MISSING) for name in others}
    return {"dtype": dict.fromkeys(texts, object), "keep_default_na": False, "na_values": missing}


def _check_rows(path: Path) -> None:
    """Refuse what pandas would not, or not in all versions: too wide a header, or a row longer than it."""
    with path.open("rb") as file:
        if file.readline(100 * WIDEST).count(b",") >= WIDEST:
            raise InputError([Fault(str(path), f"has more than {WIDEST} columns")])
    with path.open(encoding="utf-8-sig", errors="replace", newline="") as text:
        lines = csv.reader(text)
        rows = (row for row in lines if len(row) > 1 or "".join(row).strip())
        try:
            head = next(rows, [])
            if len(head) == 1 and ";" in head[0]:
                why = "has its cells parted by semicolons; save it with commas between them"
                raise InputError([Fault(str(path), why)])
            for row in rows:
                if len(row) > len(head):
                    raise _too_long(path, lines.line_num, len(row), len(head))
        except csv.Error as error:
            raise InputError([Fault(str(path), f"is not CSV in UTF-8: {error}")]) from error


def _too_long(path: Path, line: int, cells: int, expected: int) -> InputError:
    why = f"has {cells} cells; the header has {expected} (a comma that is a decimal point, at the end, or unquoted?)"
    return InputError([Fault(f"{path}: line {line}", why)])


def inferred(texts: pd.Series[Any]) -> pd.Series[Any]:
    """Return a column of texts as it is read where nobody asks for the letters.

    Examples
    --------
    >>> inferred(pd.Series(["1.5", "", "NA"], name="a")).tolist()
    [1.5, nan, nan]
    """
    text = texts.rename("texts").to_csv(index=False)
    found: pd.Series[Any] = pd.read_csv(io.StringIO(text), skip_blank_lines=False)["texts"]
    found.index, found.name = texts.index, texts.name
    return found


class _Parquet:
    def read(self, path: Path, rows: int, texts: Sequence[str]) -> Iterator[tuple[pd.DataFrame, float]]:
        parquet = _pyarrow_parquet()
        import pyarrow.types

        try:
            file = parquet.ParquetFile(path)
        except (OSError, ValueError) as error:
            raise InputError([Fault(str(path), f"is not Parquet: {error}")]) from error
        with file:
            total, done = max(file.metadata.num_rows, 1), 0
            for batch in file.iter_batches(batch_size=rows):
                done += batch.num_rows
                frame = batch.to_pandas()
                for name in texts:
                    if "." not in name and name in frame and pyarrow.types.is_integer(batch.schema.field(name).type):
                        # Else a missing one would make 12.0 of every 12.
                        frame[name] = frame[name].astype("Int64")
                yield frame, done / total

    def write(self, frame: pd.DataFrame, path: Path) -> None:
        frame.astype({"error": "string"}).to_parquet(path, engine="pyarrow", index=False)

    def join(self, parts: Sequence[Path], target: Path) -> None:
        parquet = _pyarrow_parquet()
        writer: Any = None
        for part in parts:
            rows = parquet.read_table(part)
            writer = writer or parquet.ParquetWriter(target, rows.schema)
            writer.write_table(rows)
        if writer is not None:
            writer.close()


def _pyarrow_parquet() -> Any:  # noqa: ANN401 - pyarrow has no types
    try:
        import pyarrow.parquet
    except ImportError as error:
        raise InputError([Fault("", "Parquet needs pyarrow; install resinid[scale], or use CSV")]) from error
    return pyarrow.parquet


_FORMATS: Final[dict[str, Format]] = {".csv": _Csv(), ".parquet": _Parquet()}


def format_of(path: Path) -> Format:
    """Return how a file is read and written, by its ending; what it needs must be installed."""
    found = _FORMATS.get(path.suffix.lower())
    if found is None:
        raise InputError([Fault(str(path), f"ends in {path.suffix!r}; expected one of: {', '.join(_FORMATS)}")])
    if isinstance(found, _Parquet):
        _pyarrow_parquet()
    return found
