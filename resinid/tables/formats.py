"""The kinds of file that whole tables are read from and written to."""

from __future__ import annotations

import codecs
import csv
import importlib
import io
import os
import shutil
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, Protocol

import pandas as pd

from resinid.errors import Fault, Faults, InputError, safe_repr
from resinid.tables.cells import MISSING

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping, Sequence
    from pathlib import Path

__all__ = ["CsvStyle", "Format", "format_of", "inferred"]

WIDEST: Final = 5000
"""A CSV file with more columns is refused: pandas' time to tell them apart grows with their square."""


PANDAS_OWN: Final = (pd.PeriodDtype, pd.IntervalDtype)
"""Types that Arrow holds for pandas, and pandas better itself."""


class Format(Protocol):
    """One kind of file.

    A column's kind is ``"text"``, ``"number"``, ``"count"`` or ``"truth"``, or the Arrow type it has in the
    source. It is told before anything is read: what a part happens to hold cannot say it, for it may be all empty.
    """

    def headers(self, path: Path) -> list[str]:
        """Return the names of all columns."""

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


@dataclass(frozen=True, slots=True)
class CsvStyle:
    """How a CSV file is written, as for ``pandas.read_csv``.

    Raises
    ------
    InputError
        A separator or a decimal sign that is not one character, or an encoding that is not known.

    Examples
    --------
    >>> CsvStyle(sep="; ")
    Traceback (most recent call last):
        ...
    resinid.errors.InputError: sep: '; ' is not one character, such as ';'
    """

    sep: str = ","
    decimal: str = "."
    encoding: str = "utf-8"

    def __post_init__(self) -> None:
        faults = Faults()
        if len(str(self.sep)) != 1 or self.sep in '"\r\n':
            faults.add("sep", f"{safe_repr(self.sep)} is not one character, such as ';'")
        if self.decimal not in {".", ","} or self.decimal == self.sep:
            why = "is not a point or a comma, and another sign than sep"
            faults.add("decimal", f"{safe_repr(self.decimal)} {why}")
        try:
            codecs.lookup(self.encoding)
        except (LookupError, TypeError, ValueError):
            faults.add("encoding", f"{safe_repr(self.encoding)} is not known, write for example 'utf-8' or 'cp1252'")
        faults.check()

    @property
    def how(self) -> dict[str, Any]:
        """What pandas is told."""
        return {"sep": self.sep, "decimal": self.decimal, "encoding": self.encoding}

    @property
    def words(self) -> str:
        """What was expected, for a message."""
        name = self.encoding.upper().replace("_", "-")
        return f"CSV in {name}" + ("" if self.sep == "," else f" with {self.sep!r} between the cells")


@dataclass(frozen=True, slots=True)
class _Csv:
    style: CsvStyle = CsvStyle()

    def headers(self, path: Path) -> list[str]:
        try:
            _check_rows(path, self.style)
            head: pd.DataFrame = pd.read_csv(path, nrows=0, index_col=False, **self.style.how)
            return head.columns.tolist()
        except (pd.errors.ParserError, pd.errors.EmptyDataError, UnicodeError) as error:
            raise InputError([Fault(str(path), f"is not {self.style.words}: {error}")]) from error

    def kinds(self, path: Path, names: Sequence[str]) -> dict[str, Any]:  # noqa: ARG002 - because CSV has one only
        return dict.fromkeys(names, "text")

    def read(self, path: Path, rows: int, texts: Sequence[str]) -> Iterator[tuple[pd.DataFrame, float]]:
        size = max(path.stat().st_size, 1)
        try:
            how = _as_texts(path, texts, self.style)
            with (
                path.open("rb") as file,
                # Without index_col=False a first row with more cells than the header would shift every column.
                pd.read_csv(file, chunksize=rows, index_col=False, **self.style.how, **how) as reader,
            ):
                for frame in reader:
                    yield frame, file.tell() / size
        except (pd.errors.ParserError, pd.errors.EmptyDataError, UnicodeError) as error:
            raise InputError([Fault(str(path), f"is not {self.style.words}: {error}")]) from error

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


def _as_texts(path: Path, texts: Sequence[str], style: CsvStyle) -> dict[str, Any]:
    """Return what makes pandas read some columns to the letter, and the others as ever."""
    if not texts:
        return {}
    others = [name for name in pd.read_csv(path, nrows=0, **style.how).columns if name not in texts]
    missing = {name: list(MISSING) for name in others}
    return {"dtype": dict.fromkeys(texts, object), "keep_default_na": False, "na_values": missing}


def _check_rows(path: Path, style: CsvStyle) -> None:
    """Refuse what pandas would not, or not in all versions: too wide a header, or a row longer than it."""
    with path.open("rb") as file:
        if file.readline(100 * WIDEST).count(style.sep.encode()) >= WIDEST:
            raise InputError([Fault(str(path), f"has more than {WIDEST} columns")])
    encoding = "utf-8-sig" if codecs.lookup(style.encoding).name == "utf-8" else style.encoding
    with path.open(encoding=encoding, errors="replace", newline="") as text:
        lines = csv.reader(text, delimiter=style.sep)
        rows = (row for row in lines if len(row) > 1 or "".join(row).strip())
        try:
            head = next(rows, [])
            for mark, name in ((";", "semicolons"), ("\t", "tabs")):
                if len(head) == 1 and mark in head[0]:
                    how = f"say so with sep={mark!r} (--sep), and decimal=',' where it is"
                    raise InputError([Fault(str(path), f"has its cells parted by {name}; {how}")])
            for row in rows:
                if len(row) > len(head):
                    raise _too_long(path, lines.line_num, len(row), len(head))
        except csv.Error as error:
            raise InputError([Fault(str(path), f"is not {style.words}: {error}")]) from error


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
    def headers(self, path: Path) -> list[str]:
        with _opened(path) as file:
            return list(file.schema_arrow.names)

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
            if column.dtype == object and pa.types.is_string(field.type):  # a spreadsheet's cells are of any kind
                column = column.map(str, na_action="ignore")
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

    own = {"text": pa.string(), "number": pa.float64(), "count": pa.int64(), "truth": pa.bool_()}
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


@dataclass(frozen=True, slots=True)
class _Sheet:
    """A spreadsheet: its first sheet, read and written whole."""

    engine: str

    def _whole(self, path: Path) -> pd.DataFrame:
        _spreadsheets(self.engine)
        content = io.BytesIO(path.read_bytes())
        try:
            found: pd.DataFrame = pd.read_excel(content, engine=self.engine, dtype=object)  # type: ignore[call-overload]  # because its stub knows no variable
        except Exception as error:  # because what is no spreadsheet makes its reader fail in any way
            raise InputError([Fault(str(path), f"is not a spreadsheet: {error}")]) from error
        return found

    def headers(self, path: Path) -> list[str]:
        return [str(name) for name in self._whole(path).columns]

    def kinds(self, path: Path, names: Sequence[str]) -> dict[str, Any]:
        missing = [name for name in names if name not in self.headers(path)]
        if missing:
            raise InputError([Fault(str(path), f"has no column {', '.join(missing)} to keep")])
        return dict.fromkeys(names, "text")

    def read(self, path: Path, rows: int, texts: Sequence[str]) -> Iterator[tuple[pd.DataFrame, float]]:  # noqa: ARG002 - all at once
        whole = self._whole(path)
        whole.columns = pd.Index([str(name) for name in whole.columns])
        if len(whole):
            yield whole, 1.0

    def write(self, frame: pd.DataFrame, path: Path, kinds: Mapping[str, Any]) -> None:  # noqa: ARG002 - cells say it
        _spreadsheets(self.engine)
        content = io.BytesIO()
        try:
            with pd.ExcelWriter(content, engine=self.engine) as writer:  # type: ignore[call-overload]  # as above
                frame.to_excel(writer, index=False, sheet_name="answers")
                if self.engine == "openpyxl":
                    _no_formulas(writer)
        except ValueError as error:  # such as more rows than a sheet has
            raise InputError([Fault(str(path), f"cannot be a spreadsheet: {error}")]) from error
        path.write_bytes(content.getvalue())

    def join(self, parts: Sequence[Path], target: Path) -> None:
        frames = [self._whole(part) for part in parts]
        self.write(pd.concat(frames, ignore_index=True), target, {})


def _no_formulas(writer: Any) -> None:  # noqa: ANN401 - as openpyxl makes it
    """Make texts of cells that begin with an equals sign: a formula of somebody else's would be worked out."""
    for row in writer.sheets["answers"].iter_rows():
        for cell in row:
            if cell.data_type == "f":
                cell.data_type = "s"


def _spreadsheets(engine: str) -> None:
    name = {"odf": "odfpy"}.get(engine, engine)
    try:
        importlib.import_module(engine)
    except ImportError as error:
        why = f"spreadsheets need {name}; install resinid[sheets], or use CSV"
        raise InputError([Fault("", why)]) from error


def format_of(path: Path, style: CsvStyle | None = None) -> Format:
    """Return how a file is read and written, by its ending; what it needs must be installed."""
    known: dict[str, Format] = {
        ".csv": _Csv(style or CsvStyle()),
        ".parquet": _Parquet(),
        ".xlsx": _Sheet("openpyxl"),
        ".ods": _Sheet("odf"),
    }
    found = known.get(path.suffix.lower())
    if found is None:
        raise InputError([Fault(str(path), f"ends in {path.suffix!r}; expected one of: {', '.join(known)}")])
    if isinstance(found, _Parquet):
        _pyarrow_parquet()
    if isinstance(found, _Sheet):
        _spreadsheets(found.engine)
    return found
