"""A record as a pandas frame and as a file: CSV, Parquet or JSON, with names or without."""

from __future__ import annotations

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from resinid.batches.stock import FORMULA
from resinid.errors import Fault, InputError
from resinid.io.target import writable_target

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import pandas as pd

    from resinid.record.entry import Check, Entry

__all__ = ["export", "frame_of"]

NAMES: Final = ("name", "article", "source", "how", "note")
"""Columns that a person writes freely."""


def frame_of(entries: Sequence[Entry], verdicts: Mapping[int, str], *, names: bool = True) -> pd.DataFrame:
    """Return one row an entry.

    Parameters
    ----------
    entries : sequence of Entry
    verdicts : mapping
        On heating as they count today, by number.
    names : bool, optional
        False leaves out what a person wrote freely.

    Returns
    -------
    pandas.DataFrame
        Columns ``number``, ``kind``, ``name``, ``article``, ``source``, ``recorded``, ``made_from``, ``resin`` and
        ``probability`` (of the latest answer), ``verdict`` (as it counts today), ``confirmed``, ``how``, ``note``,
        ``fates``, ``version``, ``reference_digest``.
    """
    import pandas as pd

    columns = (
        *("number", "kind", "name", "article", "source", "recorded", "made_from", "resin", "probability"),
        *("verdict", "confirmed", "how", "note", "fates", "version", "reference_digest"),
    )
    rows = [_row(entry, verdicts[entry.number]) for entry in entries]
    frame = pd.DataFrame(rows, columns=list(columns))
    return frame if names else frame.drop(columns=list(NAMES))


def _row(entry: Entry, verdict: str) -> dict[str, Any]:
    ranked = entry.ranking()
    resin = max(ranked, key=lambda name: ranked[name][0]) if ranked else None
    last = entry.outcomes[-1] if entry.outcomes else None
    return {
        "number": entry.number,
        "kind": entry.kind,
        "name": entry.name,
        "article": entry.article,
        "source": entry.source,
        "recorded": entry.at,
        "made_from": " ".join(map(str, entry.made_from)),
        "resin": resin,
        "probability": ranked[resin][0] if resin else None,
        "verdict": verdict,
        "confirmed": entry.confirmed,
        "how": last.how if last else "",
        "note": last.note if last else "",
        "fates": ", ".join(entry.fates),
        "version": entry.answer.version if entry.answer else "",
        "reference_digest": entry.answer.reference_digest if entry.answer else "",
    }


def export(
    entries: Sequence[Entry],
    checks: Sequence[Check],
    verdicts: Mapping[int, str],
    target: str | Path,
    *,
    names: bool = True,
) -> None:
    """Write a record to a file by the ending of its name: ``.csv``, ``.parquet`` or ``.json``.

    CSV and Parquet hold the rows of :func:`frame_of`; JSON with names all that the record holds, without them
    those rows. A text cell of CSV that a spreadsheet would run begins with an apostrophe.

    Raises
    ------
    InputError
        Another ending, a target that cannot be written, or no pyarrow for Parquet.
    """
    path, frame = Path(target), frame_of(entries, verdicts, names=names)
    try:
        path = writable_target(path)
        if path.suffix == ".csv":
            frame.map(_plain).to_csv(path, index=False)
        elif path.suffix == ".json":
            data = json.loads(frame.to_json(orient="records"))
            if names:
                data = {"entries": [asdict(each) for each in entries], "checks": [asdict(each) for each in checks]}
            path.write_text(json.dumps(data, ensure_ascii=False, indent=1), encoding="utf-8")
        elif path.suffix == ".parquet":
            frame.to_parquet(path, index=False)
        else:
            raise InputError([Fault(str(path), "ends in none of .csv, .parquet and .json")])
    except ImportError as error:
        raise InputError([Fault(str(path), "Parquet needs pyarrow; install resinid[frames], or use CSV")]) from error
    except (OSError, RuntimeError, UnicodeError) as error:
        raise InputError([Fault(str(path), f"cannot be written: {error}")]) from error


def _plain(cell: object) -> object:
    """Return a cell that no spreadsheet runs (owasp.org/www-community/attacks/CSV_Injection, from memory)."""
    return f"'{cell}" if isinstance(cell, str) and cell.startswith(FORMULA) else cell
