"""Marks: what people write is understood, wrong marks are reckoned with, and none makes a piece safe."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import SETTINGS

from resinid import InputError, default_reference, identify, identify_table, next_tests, observe
from resinid.methods.marking.latent import MARKING, MISLEADING, NAMES
from resinid.methods.marking.letters import ADDITIONS
from resinid.methods.marking.mark import MarkRule, parse_mark
from resinid.methods.marking.method import METHOD
from resinid.methods.marking.symbols import ALIASES, CODES, SYMBOLS
from resinid.testing import check_method

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid import Result

HEAVY = {"test": "density", "density": "1.39 ± 0.01 g/cm3"}


def marked(text: object, *others: Mapping[str, object]) -> Result:
    return identify([{"test": "mark", "reads": text}, *others])


def test_it_keeps_the_contract() -> None:
    assert len(check_method(METHOD)) == len(CODES) + len(SYMBOLS) + 2


def test_names_of_the_codes() -> None:
    """ASTM D7611 as its publisher's partner prints it (ANSI blog, March 2020): seven codes and their resins."""
    printed = {
        "1": "poly(ethylene terephthalate)",
        "2": "high-density polyethylene",
        "3": "unplasticised poly(vinyl chloride)",
        "4": "low-density polyethylene",
        "5": "polypropylene",
        "6": "polystyrene (general purpose)",
    }
    names = {"none of these": ""} | {resin.symbol: resin.name for resin in default_reference().resins}
    for code, name in printed.items():
        assert name in {names[symbol] for symbol in marked(code).resins[:3]}
    assert marked("7")["ABS"] > marked("6")["ABS"]


@pytest.mark.parametrize(
    ("text", "names", "additions"),
    [
        # Marks printed as examples of ISO 11469 in guides to that standard.
        (">PA66-(GF25+MD15)<", ("PA66",), ("glass high",)),
        (">PC+ABS<", ("PC+ABS",), ADDITIONS),
        (">PP-GF30<", ("PP",), ("glass high",)),
        (">PS-HI-GF20<", ("PS-HI",), ("glass low",)),
        (">PA66-MD20<", ("PA66",), ("mineral low",)),
        (">PVC-P(DBP)<", ("PVC-P",), ADDITIONS),
        (">ABS(REC30)<", ("ABS",), ADDITIONS),
        (">PA6T/6I-GF35<", ("another plastic",), ("glass high",)),
        # What people write (common practice, no source).
        ("5", ("5",), ADDITIONS),
        ("05", ("5",), ADDITIONS),
        ("♷", ("5",), ADDITIONS),
        ("PP", ("PP", "5"), ADDITIONS),
        ("pp 5", ("5",), ADDITIONS),
        ("HDPE 2", ("2",), ADDITIONS),
        ("02 PE-HD", ("2",), ADDITIONS),
        ("ABS 7", ("ABS",), ADDITIONS),
        ("PC/ABS", ("PC+ABS",), ADDITIONS),
        (">ABS+PC-FR(40)<", ("PC+ABS",), ("flame retardant",)),
        ("PA 6 GF30", ("PA6",), ("glass high",)),
        (">PP-T20<", ("PP",), ("mineral low",)),
        ("PP T20", ("PP", "5"), ("mineral low",)),
        ("other 7", ("7",), ADDITIONS),
        ("no mark", ("unmarked",), ADDITIONS),
    ],
)
def test_what_is_written_is_understood(text: str, names: tuple[str, ...], additions: tuple[str, ...]) -> None:
    found = parse_mark(text)
    assert found.names == names
    assert found.additions == additions


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("PP 2", "2 stands for PE-HD"),
        ("8", "no resin code"),
        ("HDP", "did you mean"),
        ("QQ-PP", "no resin code"),
        ("", "no resin code"),
        (True, "no mark"),
        ("P" * 99, "no mark"),
    ],
)
def test_what_is_not_understood_is_told(text: object, said: str) -> None:
    with pytest.raises(InputError, match=said):
        observe("mark", reads=text)


@SETTINGS
@given(st.sampled_from(sorted({*ALIASES, *CODES})), st.sampled_from(("{}", ">{}<", "{}-GF30", ">{}-(T10+GF5)<")))
def test_a_mark_survives_writing(word: str, form: str) -> None:
    """Whatever mark is understood, its text is understood as the same mark."""
    try:
        found = parse_mark(form.format(word))
    except InputError:
        assert word in CODES
        assert form != "{}"
        return
    assert MarkRule().parse(MarkRule().dump(found)) == found


def test_no_mark_is_no_evidence() -> None:
    """An unmarked piece is what any piece is: the probabilities stay the prior's."""
    answer = marked("unmarked")
    assert answer.probability == pytest.approx(answer.prior, abs=1e-9)


def test_a_mark_alone_lifts_no_ban() -> None:
    """Whatever a piece of unknown scrap is marked, on its mark alone it is not to be heated."""
    for text in (*CODES, *SYMBOLS, *(f">{symbol}<" for symbol in SYMBOLS)):
        assert not marked(text).heat.allowed, text


def test_marked_polypropylene_as_dense_as_pvc() -> None:
    """PP is 0.90 to 0.91, PVC-U 1.38 to 1.40 g/cm3 (handbooks, from memory). Marked PP and as dense: not heated."""
    for text in ("5", "PP", ">PP<", ">PP-T20<"):
        answer = marked(text, HEAVY)
        assert not answer.heat.allowed
        assert identify([HEAVY])["PVC-U"] > answer["PVC-U"] > 0.05


def test_two_looks_are_one_mark() -> None:
    """A wrong mark stays wrong however often it is read: its chance stays above that stated."""
    once, often = marked("5"), identify([{"test": "mark", "reads": "5"}] * 6)
    assert often["PP"] - once["PP"] < 0.01
    assert 1 - often["PP"] > 0.5 * MISLEADING


def test_fillers_pick_the_variant() -> None:
    assert marked(">PP-T20<").variants[0][0] == "talc-filled 20 %"
    assert marked(">PA66-GF30<").variants[0][0] == "glass-filled 30 %"
    assert marked(">ABS-FR(17)<").variants[0][0] == "flame-retarded"


def test_rows_add_up() -> None:
    """Each listed resin's misleading marks have the share stated."""
    latent = MARKING.latent(default_reference())
    assert latent.mass.sum(axis=1) == pytest.approx(1.0)
    assert all(latent.stated)
    row = [variant.resin for variant in default_reference().variants].index("POM")
    by_name = latent.mass[row].reshape(len(NAMES), len(ADDITIONS)).sum(axis=1)
    right = by_name[[NAMES.index("POM"), NAMES.index("7")]].sum() / (1 - by_name[0])
    assert 1 - MISLEADING < right < 1.0


def test_looking_for_a_mark_is_recommended_and_tables_take_it() -> None:
    (found,) = [one for one in next_tests(bench="").suggestions if one.plan.test == "mark"]
    assert found.bits > 0
    assert "Never heat a piece on its mark" in found.plan.caution
    reference = identify_table(pd.DataFrame({"mark.reads": [5, "HDPE 2", None, "HDPE 5"]}, dtype=object)).to_frame()
    for row, text in ((0, "5"), (1, "HDPE 2")):
        answer = marked(text)
        assert [reference.loc[row, symbol] for symbol in answer.resins] == pytest.approx(answer.probability, abs=1e-9)
    assert "contradicts itself" in str(reference.loc[3, "error"])
