"""What a mark names that must not be heated forbids heating wherever it stands; what is not understood is said."""

from __future__ import annotations

import csv
from importlib.resources import files
from typing import TYPE_CHECKING, Final

import pandas as pd
import pytest

from resinid import default_reference, identify, identify_table, observe
from resinid.methods.marking.forbidden import FORBIDDEN, RETARDED
from resinid.methods.marking.letters import ADDITIONS
from resinid.methods.marking.mark import parse_mark
from resinid.methods.marking.method import MarkRead
from resinid.methods.marking.symbols import CODES, SYMBOLS

if TYPE_CHECKING:
    from resinid import Result

POLYPROPYLENE: Final = (
    {"test": "float", "liquid": "water", "outcome": "floats"},
    {"test": "density", "density": "0.905 ± 0.001 g/cm3"},
    {"test": "softening", "temperature": "163 ± 1 degC"},
)
"""All measured of it is that of plain polypropylene."""

FLAME_RETARDED: Final = (
    # The retardant beside, before or among fillers, in the forms of ISO 1043-4 and ISO 11469 and as people write.
    *(">PP-T20 FR(17)<", ">PP-GF30 FR<", ">PP-(GF30+FR)<", "PP FR(40) T20", ">PP-X FR<", ">PA66-GF30 FR(17)<"),
    *(">PA66-(GF25+MD15)FR(40)<", ">PP-(GF30)FR(17)<", "5 FR", "♷ FR", "FR ABS", "PPFR", ">PP-FR(17+40)<", ">FR<"),
    *("PP flame retardant", "PP UL94 V-0", ">PP-DD40<", "PP T20FR", "ＰＰ ＦＲ"),
)
HALOGENATED: Final = ("PP Br", "PP-Cl", "PP F", "PP brominated", "PP chlorinated T20", ">EVAC-P(CP)<")
OF_FORBIDDEN: Final = (
    *("PP PVC", "PVC/ABS", ">PP+PVC-T20<", ">PVC,PUR,ABS<", "PVC", "PVC-U", ">PVC-P(DBP)<", "3", "3 PVC", "03", "♵"),
    *(">POM<", "POM-C", ">POM-GF20<", "PVDC", "PE-C", "CPVC", "CR", "CSM", "FKM", "CIIR", "BIIR", "ABS+POM"),
    *("ETFE", "FEP", "PFA", "ECTFE", "PCTFE", "PVF", ">UP-GF30<", "rubber", "celluloid", "silicone", "PUR", "PIR"),
)


def marked(text: object) -> Result:
    return identify([{"test": "mark", "reads": text}, *POLYPROPYLENE])


def reason(text: object) -> str:
    mark = observe("mark", reads=text)
    assert isinstance(mark, MarkRead)
    return mark.forbids_heating()


@pytest.mark.parametrize("text", [*FLAME_RETARDED, *HALOGENATED, *OF_FORBIDDEN])
def test_what_forbids_is_found(text: str) -> None:
    assert reason(text).startswith("marked ")


@pytest.mark.parametrize(
    "text", [*FLAME_RETARDED[:7], "PP PVC", "PP Br", ">PVC<", ">POM<", "3", ">PP-QQ<", ">PP-T20 QQ<"]
)
def test_measured_polypropylene_so_marked_is_not_heated(text: str) -> None:
    answer = marked(text)
    assert not answer.heat.allowed
    assert any(reason(text) in why for why in answer.heat.reasons)


@pytest.mark.parametrize("text", ["PP", "5", ">PP<", "PP 5", ">PP+EPDM<", ">PP(REC30)<", ">PP-C<", "PP natural"])
def test_measured_polypropylene_with_its_own_mark_may_be_heated(text: str) -> None:
    assert marked(text).heat.allowed


def test_tables_too() -> None:
    texts = [">PP-T20 FR(17)<", ">PP-(GF30+FR)<", "PP PVC", ">POM<", "PP"]
    answer = identify_table(
        pd.DataFrame(
            {
                "mark.reads": texts,
                "density.density [g/cm3]": [0.905] * 5,
                "density.density_u [g/cm3]": [0.001] * 5,
                "softening.temperature [degC]": [163.0] * 5,
                "softening.temperature_u [degC]": [1.0] * 5,
            }
        )
    )
    reference = answer.to_frame()
    for row, text in enumerate(texts):
        assert bool(reference.loc[row, "do_not_heat"]) == (text != "PP")


def test_the_flame_retardant_is_kept_beside_a_filler() -> None:
    for text in FLAME_RETARDED:
        assert parse_mark(text).additions == ("flame retardant",)
    assert identify([{"test": "mark", "reads": ">ABS-GF20 FR(17)<"}]).variants[0][0] == "flame-retarded"


def test_codes_of_flame_retardants() -> None:
    """ISO 1043-4:2021 puts halogen compounds at 10 to 29 and all others above; one of several is enough."""
    for text in (">PP-FR<", ">PP-FR(10)<", ">PP-FR(17)<", ">PP-FR(29)<", ">PP-FR(40+17)<", "PP FR 17"):
        assert reason(text).endswith(RETARDED)
    for text in (">PP-FR(30)<", ">PP-FR(40)<", ">PP-FR(52+30)<", ">PP-FR60<"):
        assert "without halogen" in reason(text)


def test_forbidden_resins_are_those_of_the_table() -> None:
    """Hazards that bar a resin, and acetal, bar its marks; no other symbol is barred."""
    barred = {hazard.applies_to for hazard in default_reference().hazards if hazard.bar == "yes"}
    with (files("resinid.methods.marking") / "marks.csv").open(encoding="utf-8") as lines:
        marks = {row["mark"] for row in csv.DictReader(lines) if row["resin"] in barred | {"POM"}}
    assert {name for name in (*CODES, *SYMBOLS) if parse_mark(name).forbids} == marks - {"7"}


def test_forbidden_resins_that_the_table_lacks() -> None:
    for symbol in FORBIDDEN:
        assert parse_mark(f">{symbol}<").forbids, symbol
        assert parse_mark(f">{symbol}-GF30<").forbids, symbol


@pytest.mark.parametrize(
    ("text", "unclear"), [(">PP-QQ<", "QQ"), ("PP XYZ 5", "XYZ"), (">PA6-GF30 QQ7<", "QQ7"), ("PP 1999", "1999")]
)
def test_what_is_not_understood_is_said_and_not_plain(text: str, unclear: str) -> None:
    mark = observe("mark", reads=text)
    assert isinstance(mark, MarkRead)
    assert mark.reads.not_understood == unclear
    assert mark.describe().endswith(f"of which {unclear!r} is not understood")
    assert unclear in mark.forbids_heating()
    assert mark.reads.additions == ADDITIONS[1:]
    assert identify([mark])["PP"] == pytest.approx(identify([{"test": "mark", "reads": mark.reads.text}])["PP"])


def test_a_contradiction_with_a_warning_is_no_reason_to_leave_it_out() -> None:
    for text in ("5 PVC", "PP 3", ">POM< 5"):
        with pytest.raises(ValueError, match="do not heat it"):
            parse_mark(text)
