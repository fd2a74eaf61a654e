"""The kinds of file that whole tables are read from and written to."""

from __future__ import annotations

import csv
import io
import os
import shutil
from typing import TYPE_CHECKING, Any, Final, Protocol

import pandas as pd

from resinid.errors import Fault, Faults, InputError

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

__all__ = ["Format", "format_of", "inferred"]

WIDEST: Final = 5000
"""A CSV file with more columns is refused: pandas' time to tell them apart grows with their square."""

MISSING: Final = (
    "", "#N/A", "#N/A N/A", "#NA", "-1.#IND", "-1.#QNAN", "-NaN", "-nan", "1.#IND", "1.#QNAN",
    "<NA>", "N/A", "NA", "NULL", "NaN", "None", "n/a", "nan", "null",
)  # fmt: skip
"""Cells that pandas reads as empty where it is not told otherwise, as its manual lists them."""


PANDAS_OWN: Final = (pd.PeriodDtype, pd.IntervalDtype)
"""Types that Arrow holds for pandas, and pandas better itself."""


class Format(Protocol):
    """One kind of file.

    A column's kind is ``"text"``, ``"number"`` or ``"truth"``, or the Arrow type it has in the source. It is
    told before anything is read: what a part happens to hold cannot say it, for it may be all empty there.
    """

    def kinds(self, path: Path, names: Sequence[str]) -> dict[str, Any]:
        """Return the kinds of some columns of a file; refuse those it has not, or has twice."""

    def read(self, path: Path, rows: int, texts: Sequence[str]) -> Iterator[tuple[pd.DataFrame, float]]:
        """Yield the file's rows in frames of about ``rows``, each with the share of the file read so far.

        Columns in ``texts`` hold what stands in the file, to the letter.
        """

    def write(self, frame: pd.DataFrame, path: Path, kinds: Mapping[str, Any]) -> None:
        """Write one part, whose columns are of the kinds given."""

    def join(self, parts: Sequence[Path], target: Path) -> None:
        """Join parts into one file."""


class _Csv:
    def kinds(self, path: Path, names: Sequence[str]) -> dict[str, Any]:  # noqa: ARG002 - because CSV has one only
        return dict.fromkeys(names, "text")

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

    def write(self, frame: pd.DataFrame, path: Path, kinds: Mapping[str, Any]) -> None:  # noqa: ARG002 - all is text
        with path.open("w", encoding="utf-8", newline="") as file:
            _for_csv(frame).to_csv(file, index=False, lineterminator="\n")
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


def _for_csv(frame: pd.DataFrame) -> pd.DataFrame:
    """Return kept columns as pandas writes its own, but for whole numbers: those a missing one would make floats."""
    out = frame
    for name in frame.columns:
        column = frame[name]
        if isinstance(column.dtype, pd.ArrowDtype) and column.dtype.kind not in "iu":
            import pyarrow as pa

            plain = pa.array(column.array).to_pandas()
            out = out.assign(**{name: plain.set_axis(frame.index)})
    return out


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
    def kinds(self, path: Path, names: Sequence[str]) -> dict[str, Any]:
        with _opened(path) as file:
            schema = file.schema_arrow
        missing = [name for name in names if name not in schema.names]
        faults = Faults()
        if missing:
            faults.add(str(path), f"has no column {', '.join(missing)} to keep")
        for name in names:
            if schema.names.count(name) > 1:
                faults.add(str(path), f"has two columns {name!r}; rename one, so that it is clear which to keep")
        faults.check()
        return {name: schema.field(name).type for name in names}

    def read(self, path: Path, rows: int, texts: Sequence[str]) -> Iterator[tuple[pd.DataFrame, float]]:
        import pyarrow as pa

        with _opened(path) as file:
            total, done = max(file.metadata.num_rows, 1), 0
            for batch in file.iter_batches(batch_size=rows):
                done += batch.num_rows
                frame = batch.to_pandas()
                for name in texts:
                    if name in frame and isinstance(frame[name].dtype, PANDAS_OWN):
                        continue
                    # Arrow's own cells: pandas' would make floats of whole numbers where one is missing.
                    frame[name] = pd.arrays.ArrowExtensionArray(pa.chunked_array([batch.column(name)]))
                yield frame, done / total

    def write(self, frame: pd.DataFrame, path: Path, kinds: Mapping[str, Any]) -> None:
        import pyarrow as pa

        schema = _schema(kinds)
        columns = []
        for field in schema:
            column = frame[field.name]
            # Told the type of a range, pyarrow 14 loses its ends.
            told = None if isinstance(column.dtype, PANDAS_OWN) else field.type
            cells = pa.array(column, type=told, from_pandas=True)
            # pandas' own texts bring along which of Arrow's two kinds of text they are.
            columns.append(cells if cells.type == field.type else cells.cast(field.type))
        _pyarrow_parquet().write_table(pa.Table.from_arrays(columns, schema=schema), path)

    def join(self, parts: Sequence[Path], target: Path) -> None:
        parquet = _pyarrow_parquet()
        with parquet.ParquetWriter(target, parquet.read_schema(parts[0])) as writer:
            for part in parts:
                with parquet.ParquetFile(part) as file:
                    writer.write_table(file.read())


def _opened(path: Path) -> Any:  # noqa: ANN401 - pyarrow has no types
    import pyarrow as pa

    # pandas tells Arrow of its own types only when it first makes such a column.
    pa.array(pd.PeriodIndex([], freq="D").array)
    try:
        return _pyarrow_parquet().ParquetFile(path)
    except FileNotFoundError:
        raise
    except (OSError, ValueError) as error:
        raise InputError([Fault(str(path), f"is not Parquet: {error}")]) from error


def _schema(kinds: Mapping[str, Any]) -> Any:  # noqa: ANN401 - pyarrow has no types
    """Return the one schema of all parts, with what tells pandas to read whole numbers as such."""
    import pyarrow as pa

    own = {"text": pa.string(), "number": pa.float64(), "truth": pa.bool_()}
    typed = {name: own[kind] if isinstance(kind, str) else kind for name, kind in kinds.items()}
    whole = {
        name: f"{'UInt' if pa.types.is_unsigned_integer(kind) else 'Int'}{kind.bit_width}"
        for name, kind in typed.items()
        if pa.types.is_integer(kind)
    }
    empty = pd.DataFrame(columns=list(whole)).astype(whole)
    told = pa.Table.from_pandas(empty, preserve_index=False).schema.metadata
    return pa.schema(list(typed.items()), metadata=told)


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
