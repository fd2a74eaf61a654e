"""Every reader as one function from bytes, for fuzzing: it returns, or raises the package's own error."""

from __future__ import annotations

import functools
import io
import tempfile
import warnings
from pathlib import Path
from typing import TYPE_CHECKING, Final

import pandas as pd

from resinid import (
    Result,
    TableWarning,
    batch_composition,
    default_reference,
    identify,
    identify_table,
    load_reference,
    observe,
    parse_liquid,
    read_batch,
    read_stock,
)
from resinid.cli.session import load_session
from resinid.io.document import read_document
from resinid.methods.bench_parser import parse_bench

if TYPE_CHECKING:
    from collections.abc import Callable

__all__ = ["READERS", "SOUND", "text_of"]

OWN_TABLE: Final = {
    "sources": """\
key,citation,year,kind,url,read,note
bench,Bench book,2024,common practice,,memory,
""",
    "resins": """\
resin,name,group,kind,aliases,note
PP,polypropylene,commodity,semicrystalline,PP-H,
PS,polystyrene,commodity,amorphous,GPPS,
""",
    "variants": """\
resin,variant,weight,softens,filler,load_low,load_high,source,locator,obtained,note
PP,natural,1,melting,,,,bench,,memory,
PS,natural,1,glass,,,,bench,,memory,
""",
    "properties": """\
resin,variant,property,low,typical,high,unit,condition,specimen,source,locator,obtained,note
PP,natural,density,0.89,0.90,0.91,g/cm3,,,bench,,memory,
PS,natural,density,1.04,1.05,1.06,g/cm3,,,bench,,memory,
""",
}
"""The least table that can be read."""


def text_of(data: bytes) -> str:
    """Return bytes as a reader of a file gets them."""
    return data.decode("utf-8", "replace")


def document(data: bytes) -> object:
    found = read_document(text_of(data))
    return identify(found.observations, piece=found.piece, prior=found.prior).to_json()


def batch(data: bytes) -> object:
    found = read_batch(text_of(data), "bag")
    return found.to_dict() if found.items > 50 else batch_composition(found).to_dict()


def stock(data: bytes) -> object:
    return read_stock(text_of(data))


def result(data: bytes) -> object:
    return Result.from_json(text_of(data)).to_json()


def session(data: bytes) -> object:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "piece.toml"
        path.write_bytes(data)
        return load_session(path)


def reference(data: bytes) -> object:
    """Read a table of our own whose files, in order, are split at form feeds; what lacks is as it should be."""
    parts = data.split(b"\f")
    with tempfile.TemporaryDirectory() as folder:
        for index, (name, text) in enumerate(OWN_TABLE.items()):
            (Path(folder) / f"{name}.csv").write_bytes(parts[index] if index < len(parts) else text.encode())
        own = load_reference(folder)
    return identify([{"test": "density", "density": "1.00 ± 0.01 g/cm3"}], reference=own).to_json()


def extension(data: bytes) -> object:
    """Add one file of lines to the package's own table; its first line is the file's name."""
    name, _, text = data.partition(b"\n")
    known = {f"{file}.csv" for file in ("properties", "behaviour", "hazards", "blends", "thermal", "waste_streams")}
    with tempfile.TemporaryDirectory() as folder:
        wanted = text_of(name).strip()
        (Path(folder) / (wanted if wanted in known else "properties.csv")).write_bytes(text)
        return default_reference().extended(folder).digest


def columns(data: bytes) -> object:
    """Read a table of pieces. What is not CSV is pandas' to say, and the stream's to report."""
    try:
        frame = pd.read_csv(io.BytesIO(data))
    except (ValueError, UnicodeDecodeError, pd.errors.ParserError):
        return None
    with warnings.catch_warnings():
        # What passes by, or is taken for granted, is told by a warning that is meant.
        warnings.simplefilter("ignore", category=TableWarning)
        return identify_table(frame.head(20), top=2)


def words(data: bytes) -> object:
    return parse_liquid(text_of(data))


def reading(data: bytes) -> object:
    return observe("density", density=text_of(data))


def bench(data: bytes) -> object:
    return parse_bench(text_of(data))


READERS: Final[dict[str, Callable[[bytes], object]]] = {
    "document": document,
    "batch": batch,
    "stock": stock,
    "result": result,
    "session": session,
    "table": reference,
    "extension": extension,
    "columns": columns,
    "words": words,
    "reading": reading,
    "have": bench,
}


LINES: Final = """\
properties.csv
resin,variant,property,low,typical,high,unit,condition,specimen,source,locator,obtained,note
PP,homopolymer,density,0.9,,0.91,g/cm3,,,memory-general,,memory,
"""
OUTCOMES: Final = """\
behaviour.csv
resin,aspect,outcome,frequency,source,locator,obtained,note
PP,snap,creases,usual,memory-general,,memory,
"""
ROWS: Final = """\
id,density.density [g/cm3],density.density_u [g/cm3],float.liquid,float.outcome
1,0.95,0.003,water,floats
2,1.2,0.01,,
"""


@functools.cache
def _answer() -> bytes:
    return identify([{"test": "snap", "outcome": "snaps"}], piece="cap").to_json().encode()


def _examples() -> dict[str, tuple[bytes, ...]]:
    folder = Path(__file__).parents[2] / "examples"
    cap, bag = (folder / "green_cap.toml").read_bytes(), (folder / "caps_bag.toml").read_bytes()
    json_piece = b'{"piece": "lid", "prior": {"PP": 2, "PET": 1}, "observation": [{"test": "density", "density": '
    json_piece += b'{"value": 0.91, "u": 0.01, "unit": "g/cm3"}}, {"test": "snap", "outcome": "creases"}]}'
    return {
        "document": (cap, json_piece),
        "batch": (bag, b'{"batch": "b", "marked": {"PP": 3}, "flakes": [{"liquid": "water", "floated": 3}]}'),
        "stock": (b"name,marked,process\ncaps,PE-HD:30,injection moulding\ncups,PS:12,\n",),
        "result": (_answer(),),
        "session": (b'#: resinid bench {"format": 1, "declined": [[0, "x"]], "have": "strip"}\n' + cap,),
        "table": ("\f".join(OWN_TABLE.values()).encode(),),
        "extension": (LINES.encode(), OUTCOMES.encode()),
        "columns": (ROWS.encode(),),
        "words": (b"table salt 110 g/kg water at 22 degC", b"ethanol 40 %v/v"),
        "reading": ("0.952 ± 0.003 g/cm³".encode(), b"952 kg/m^3"),
        "have": (b"table salt, ethanol 96 %v/v, scale 0.1 g, strip",),
    }


SOUND: Final = _examples()
"""Sound inputs of each reader, from which hostile ones are made."""
