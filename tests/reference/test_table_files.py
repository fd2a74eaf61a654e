"""Reading a table: one's own loads and extends ours; a wrong row is named by file, line and column."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from resinid import identify
from resinid.errors import TableError
from resinid.reference.table import default_reference, load_reference

if TYPE_CHECKING:
    from pathlib import Path

FILES = {
    "sources.csv": """key,citation,year,kind,url,read,note
bench2026,"Invented workshop, notebook 3",2026,data sheet,,read,
""",
    "resins.csv": """resin,name,group,kind,aliases,note
XA,invented resin A,invented,semicrystalline,alpha-resin,
XB,invented resin B,invented,amorphous,,
""",
    "variants.csv": """resin,variant,weight,softens,filler,load_low,load_high,source,locator,obtained,note
XA,natural,0.7,melting,,,,,,common practice,
XA,filled,0.3,melting,chalk,10,20,,,common practice,
XB,natural,1.0,glass,,,,,,common practice,
""",
    "properties.csv": """resin,variant,property,low,typical,high,unit,condition,specimen,source,locator,obtained,note
XA,natural,density,0.90,,0.92,g/cm3,23 C,,bench2026,p. 4,data sheet,
XA,natural,melting_temperature,,150,,degC,,,bench2026,p. 4,data sheet,
XB,natural,density,,1.30,,g/cm3,23 C,,bench2026,p. 5,data sheet,
""",
    "components.csv": """component,density_low,density_typical,density_high,source,locator,obtained,note
chalk,,2.7,,,,memory,
""",
}


def write(folder: Path, **changed: str | bytes) -> Path:
    folder.mkdir(exist_ok=True)
    for name, text in {**FILES, **{f"{key}.csv": value for key, value in changed.items()}}.items():
        (folder / name).write_bytes(text.encode() if isinstance(text, str) else text)
    return folder


def fault(tmp_path: Path, file: str, old: str, new: str) -> str:
    """Return the message for our small table with one piece of text changed."""
    text = FILES[f"{file}.csv"]
    assert old in text
    with pytest.raises(TableError) as caught:
        load_reference(write(tmp_path / "table", **{file: text.replace(old, new, 1)}))
    return str(caught.value)


def test_a_table_of_ones_own_loads_and_scores(tmp_path: Path) -> None:
    reference = load_reference(write(tmp_path / "table"))
    assert reference.symbols == ("XA", "XB")
    answer = identify([{"test": "float", "liquid": "water", "outcome": "floats"}], reference=reference, prior="uniform")
    assert answer.leader == "XA"


@pytest.mark.parametrize(
    ("file", "old", "new", "says"),
    [
        ("properties", "g/cm3,23 C,,bench2026,p. 4", "kg/m3,23 C,,bench2026,p. 4", "properties.csv:2:unit 'g/cm3'"),
        ("properties", "0.90", "0,90", "properties.csv:2 14 cells; expected 13 comma unquoted"),
        ("properties", "0.90", "light", "properties.csv:2:low 'light' number from 0.005 to 3"),
        ("properties", "0.90", "nan", "properties.csv:2:low 'nan' number from 0.005 to 3"),
        ("properties", "0.90", "0.95", "properties.csv:2:low low <= typical <= high does not hold"),
        ("properties", ",150,", ",1500,", "properties.csv:3:typical '1500' number from -80 to 400"),
        ("properties", ",150,", ",,", "properties.csv:3:low all empty; at least one is needed"),
        ("properties", "bench2026,p. 4", "bench2062,p. 4", "properties.csv:2:source 'bench2062' not in sources.csv"),
        ("properties", "XA,natural,density", "XA,raw,density", "properties.csv:2:variant 'raw' known: filled, natural"),
        ("properties", "XB,natural", "XC,natural", "properties.csv:4:variant 'XC' not in variants.csv"),
        ("properties", "density,", "colour,", "properties.csv:2:property 'colour' expected one of: density"),
        ("properties", "data sheet", "hearsay", "properties.csv:2:obtained 'hearsay' expected one of: standard"),
        ("properties", "low,typical", "least,typical", "properties.csv:1 least expected exactly"),
        ("variants", "0.7", "0.8", "variants.csv XA add up to 1.1; must add up to 1"),
        ("variants", "0.7", "-0.7", "variants.csv:2:weight '-0.7' number from 0 to 1"),
        ("variants", "chalk", "sand", "variants.csv:3:filler 'sand' known: chalk"),
        ("variants", "10,20", "20,10", "variants.csv:3:load_low load_low <= load_high"),
        (
            "variants",
            "natural,1.0,glass",
            "natural,1.0,soft",
            "variants.csv:4:softens 'soft' melting, glass, either, never",
        ),
        ("resins", "semicrystalline", "crystal", "resins.csv:2:kind 'crystal' semicrystalline, amorphous, crosslinked"),
        ("resins", "alpha-resin", "xb", "resins.csv:3:aliases another resin's name or alias"),
        ("sources", "read,\n", "glanced,\n", "sources.csv:2:read 'glanced' read, excerpt, memory"),
    ],
)
def test_a_wrong_row_is_named_with_what_is_allowed(tmp_path: Path, file: str, old: str, new: str, says: str) -> None:
    """The message names file, line and column, what was found and what is allowed."""
    message = fault(tmp_path, file, old, new)
    place, *words = says.split()
    assert place in message
    assert all(word in message for word in words), message


def test_a_repeated_row_is_refused(tmp_path: Path) -> None:
    text = FILES["properties.csv"]
    with pytest.raises(TableError, match=r"properties\.csv:5:condition: .*must be unique"):
        load_reference(write(tmp_path / "table", properties=text + text.splitlines()[1] + "\n"))


def test_all_faults_are_listed_together(tmp_path: Path) -> None:
    properties = FILES["properties.csv"].replace("0.90", "light").replace(",1.30,", ",heavy,")
    with pytest.raises(TableError) as caught:
        load_reference(write(tmp_path / "table", properties=properties))
    assert [fault.place for fault in caught.value.faults] == ["properties.csv:2:low", "properties.csv:4:typical"]


@pytest.mark.parametrize(
    ("content", "says"),
    [
        (b"", "properties.csv: is empty; its first line must be: resin,variant"),
        (FILES["properties.csv"].encode("utf-16"), "properties.csv: is not UTF-8 text"),
        (
            FILES["properties.csv"].replace("p. 4", "Seite 4 \xfc").encode("latin-1"),
            "properties.csv: is not UTF-8 text",
        ),
        (FILES["properties.csv"].encode() + b'XA,"open', "is not CSV"),
    ],
)
def test_a_file_that_is_no_table_is_refused(tmp_path: Path, content: bytes, says: str) -> None:
    with pytest.raises(TableError) as caught:
        load_reference(write(tmp_path / "table", properties=content))
    assert says in str(caught.value)


def test_a_folder_without_a_table_is_refused(tmp_path: Path) -> None:
    with pytest.raises(TableError, match=r"sources\.csv: does not exist"):
        load_reference(tmp_path)
    with pytest.raises(TableError, match="holds no table file"):
        default_reference().extended(tmp_path)


def test_a_byte_order_mark_is_no_fault(tmp_path: Path) -> None:
    text = FILES["properties.csv"]
    assert load_reference(write(tmp_path / "table", properties=b"\xef\xbb\xbf" + text.encode())).symbols == ("XA", "XB")


def test_ours_is_extended_by_a_folder(tmp_path: Path) -> None:
    """Lines of another folder are added; a resin, variant or source of the same name replaces ours."""
    reference = default_reference()
    longer = reference.extended(write(tmp_path / "table"))
    assert longer.symbols == (*reference.symbols, "XA", "XB")
    assert len(longer.statements) == len(reference.statements) + 3
    assert longer != reference
    answer = identify([{"test": "density", "density": "0.91 ± 0.005 g/cm3"}], reference=longer)
    assert "XA" in answer.resins


def test_an_extension_may_cite_our_sources(tmp_path: Path) -> None:
    header, *rows = FILES["properties.csv"].splitlines()
    row = (
        rows[0].replace("XA,natural", "PP,homopolymer").replace("bench2026", "rtp-talc20").replace("23 C", "own bench")
    )
    (tmp_path / "properties.csv").write_text(f"{header}\n{row}\n", encoding="utf-8")
    assert len(default_reference().extended(tmp_path).statements) == len(default_reference().statements) + 1
