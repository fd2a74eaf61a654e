"""A stock in CSV, a matrix out; bad rows named by line and column; batches written and read back."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path

import pytest
from bags import FLOATS, SETTINGS, bag, bags, known, proved
from hypothesis import given, settings
from hypothesis import strategies as st

from resinid import Batch, InputError, default_reference, read_batch, read_stock, stock_matrix
from resinid.batches.compatibility import judge
from resinid.batches.mix import mix_of
from resinid.batches.mix_part import mix_part

STOCK = """name,marked,process,remarks,mass
caps,PE-HD:60,injection moulding,coloured;food contact,2 kg
milk,PE-HD:60,blow moulding,natural colour,
pots,PS:60,,,
pipe,PVC-U:9,extrusion,,
"""
PROVED = (proved("lids", {"PE-HD": 80}), proved("tubs", {"PP": 80}))


@settings(max_examples=5, deadline=None)
@given(st.tuples(bags("caps"), bags("pots"), st.sampled_from(PROVED)))
def test_pairs_judged_together_are_those_judged_alone(stock: tuple[Batch, ...]) -> None:
    """Every cell is what two bags alone give, to 1e-9, with the same words, both ways round; so is each by itself."""
    table = default_reference()
    found = stock_matrix(stock)
    assert found.to_frame().equals(found.to_frame().T)
    parts = [mix_part(each, table) for each in stock]
    for i, first in enumerate(parts):
        for j, second in enumerate(parts):
            alone = judge(mix_of([first] if i == j else [first, second], [1.0] * (1 + (i != j)), table), explain=False)
            assert (found.verdicts[i][j], found.deciding[i][j]) == (alone.verdict, alone.deciding)
            assert found.chances[i][j] == pytest.approx(alone.chances, abs=1e-9, rel=0)


def test_a_stock_of_bags_of_which_some_are_proved() -> None:
    """Every verdict that there is, but for one, each the same as of the two bags alone."""
    found = stock_matrix([*PROVED, bag("pipe", PVC_U=9), known("pots", PS=40)])
    said = {verdict for row in found.verdicts for verdict in row}
    assert {"DO NOT HEAT", "one melt", "will delaminate"} <= said, said


def test_csv_and_json_out() -> None:
    found = stock_matrix(read_stock(STOCK))
    rows = list(csv.reader(io.StringIO(found.to_csv())))
    assert rows[0] == ["", "caps", "milk", "pots", "pipe"]
    assert len(rows) == 5
    assert json.loads(found.to_json())["verdicts"][0][0] == "NOT YET"


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ("name,marked\n=2+3,PE-HD:1\n", "stock.csv:2:name"),
        ("name,marked\ncaps,@PE-HD:1\n", "stock.csv:2:marked"),
        ("name,remarks\na,\nb,-black\n", "stock.csv:3:remarks"),
        ("name,marked\ncaps,PE-HD\n", "stock.csv:2:marked"),
        ("name,marked\ncaps,ZZ:3\n", "stock.csv:2:marked"),
        ("name,mass\ncaps,3\n", "stock.csv:2:mass"),
        ("name,mfr\ncaps,3 kg\n", "stock.csv:2:mfr"),
        ("name,process\ncaps,spinning\n", "stock.csv:2:process"),
        ("name,proces\ncaps,film\n", "stock.csv:1:2"),
        ("name,name\na,b\n", "stock.csv:1:2"),
        ("marked\nPE-HD:1\n", "stock.csv:1"),
        ("name,marked\ncaps\n", "stock.csv:2"),
        ("name,marked\n,PE-HD:1\n", "stock.csv:2:name"),
        ("name,file\ncaps,../secret.toml\n", "stock.csv:2:file"),
        ("name,file,process\ncaps,a.toml,film\n", "stock.csv:2:process"),
        ('name,marked\n"caps,PE-HD:1\n', "stock.csv:2"),
        ("", "stock.csv"),
    ],
)
def test_bad_rows_are_named(text: str, place: str) -> None:
    with pytest.raises(InputError) as caught:
        read_stock(text, Path("/nowhere"))
    assert any(fault.place.startswith(place) for fault in caught.value.faults), caught.value


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("name;marked;mass\ncaps;PE-HD:60;1,5 kg\n", ["stock.csv:1: has its cells parted by semicolons; save it with"]),
        ('"name";"mass"\n"caps";"2 kg"\n', ["stock.csv:1: has its cells parted by semicolons; save it with commas"]),
        ("\ufeffname\tmass\ncaps\t1,5 kg\n", ["stock.csv:1: has its cells parted by tabs; save it with commas"]),
        ("name,mass,\ncaps,2 kg,\n", ["stock.csv:1:3: is an empty header (a comma too many?)"]),
        ("name,,mass,,\n", ["stock.csv:1:2: is an empty", "stock.csv:1:4: is an empty", "stock.csv:1:5: is an empty"]),
        ("name,mas,name\n", ["stock.csv:1:2: 'mas' is no column", "stock.csv:1:3: 'name' is there twice"]),
    ],
)
def test_a_header_is_told_what_is_wrong_with_it(text: str, says: list[str]) -> None:
    """What a spreadsheet writes instead of commas, or beside them, is told in so many words."""
    with pytest.raises(InputError) as caught:
        read_stock(text)
    assert len(caught.value.faults) == len(says)
    assert all(some in str(fault) for some, fault in zip(says, caught.value.faults, strict=True)), caught.value


def test_every_fault_is_listed() -> None:
    with pytest.raises(InputError) as caught:
        read_stock("name,marked,mass\n=x,PE-HD:1,\ny,PE-HD,5\nz,QQ:1,\n")
    assert [fault.place for fault in caught.value.faults] == [
        "stock.csv:2:name",
        "stock.csv:3:marked",
        "stock.csv:4:marked",
    ]


def test_a_batch_document_beside_the_stock(tmp_path: Path) -> None:
    (tmp_path / "caps.toml").write_text('process = "injection moulding"\n[marked]\nPE-HD = 40\n', encoding="utf-8")
    (batch,) = read_stock("name,file\ngreen caps,caps.toml\n", tmp_path)
    assert (batch.name, batch.marked, batch.process) == ("green caps", (("PE-HD", 40),), "injection moulding")
    with pytest.raises(InputError, match="cannot be read"):
        read_stock("name,file\nx,missing.toml\n", tmp_path)


def test_names_must_differ() -> None:
    with pytest.raises(InputError, match="two batches"):
        stock_matrix([bag("a", PP=3), bag("a", PS=3)])
    with pytest.raises(InputError, match="0 batches"):
        stock_matrix([])


@SETTINGS
@given(bags("bag"))
def test_a_batch_survives_json(batch: Batch) -> None:
    """A batch written as JSON reads back equal."""
    assert read_batch(json.dumps(batch.to_dict())) == batch


def test_a_document_with_jugs() -> None:
    text = """
batch = "lids"
process = "injection moulding"
mfr = "12 ± 1 g/(10 min)"
remarks = ["coloured"]
[liquid.weak]
solute = "ethanol"
amount = "40 %v/v"
[[piece]]
[[piece.observation]]
test = "float"
liquid = "weak"
outcome = "floats"
[[flakes]]
liquid = "weak"
floated = 20
"""
    found = read_batch(text)
    assert found.items == 21
    assert found.pieces[0][0].describe().startswith("floats in weak")
    assert found.flakes[0].floated == 20
    assert read_batch(json.dumps(found.to_dict())).items == 21


@pytest.mark.parametrize(
    ("text", "place"),
    [
        ('batch = "x"\nprocess = "spinning"', "process"),
        ('batch = "x"\npieces = []', "pieces"),
        ('batch = "x"\n[[piece]]\nobservations = []', "piece[1]"),
        ('batch = "x"\n[[piece]]\n[[piece.observation]]\ntest = "flaot"', "piece[1].observation[1]"),
        ('batch = "x"\n[[flakes]]\nliquid = "wine"', "flakes[1].liquid"),
        ('batch = "x"\n[marked]\nPP = 1.5', "marked.PP"),
        ("batch = 3", "batch"),
        ("", ""),
    ],
)
def test_bad_documents_are_named(text: str, place: str) -> None:
    with pytest.raises(InputError) as caught:
        read_batch(text, "bag")
    assert any(fault.place.startswith(place) for fault in caught.value.faults), caught.value


def test_pieces_may_be_given_as_objects() -> None:
    from resinid import observe

    piece = observe(FLOATS["test"], liquid=FLOATS["liquid"], outcome=FLOATS["outcome"])
    assert Batch.of("a", pieces=[[piece]]).pieces == Batch.of("b", pieces=[[FLOATS]]).pieces
