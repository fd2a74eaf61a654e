"""Spreadsheets as people keep them are read without cleaning, and what is read is what they wrote."""

from __future__ import annotations

import subprocess
import sys
import warnings
from typing import TYPE_CHECKING, Any

import pandas as pd
import pytest

from resinid import InputError, TableWarning, identify, identify_file, identify_table
from resinid.tables.columns import plan_columns
from resinid.tables.readings import tidied

if TYPE_CHECKING:
    from pathlib import Path

MESSY = """\
Bag;Density [g cm-3];density_u [%];Softening [°C];float.liquid;float.outcome;Soft. pt. [°C];meta.colour;Note;Length [mm]
12;0,957 ± 0,003;;131 ± 2;water;floats;Wärme;grün;Kappe;12,5
13;1,200(5);;155;water;Sinks;;;"a;b";3
14;0,905;0,5 %;;water; ;;klar;;
15;;;;;;;rot;;
16;1.2.3;;;water;floats;;;;
17;0,957;5 %;131(2);;;;;;
"""


@pytest.fixture
def messy(tmp_path: Path) -> Path:
    path = tmp_path / "bags.csv"
    path.write_bytes(MESSY.encode("cp1252"))
    return path


def by_hand() -> list[list[dict[str, Any]]]:
    """The usable rows as a person would write them for one piece."""
    return [
        [
            {"test": "density", "density": "0.957 ± 0.003 g/cm3"},
            {"test": "softening", "temperature": "131 ± 2 degC"},
            {"test": "float", "liquid": "water", "outcome": "floats"},
        ],
        [
            {"test": "density", "density": "1.200 ± 0.005 g/cm3"},
            {"test": "softening", "temperature": "155 degC"},
            {"test": "float", "liquid": "water", "outcome": "sinks"},
        ],
        [{"test": "density", "density": {"value": 0.905, "u": 0.905 * 0.005, "unit": "g/cm3"}}],
        [
            {"test": "density", "density": {"value": 0.957, "u": 0.957 * 0.05, "unit": "g/cm3"}},
            {"test": "softening", "temperature": "131 ± 2 degC"},
        ],
    ]


def test_a_messy_spreadsheet_is_read_without_cleaning(messy: Path, tmp_path: Path) -> None:
    """Semicolons, decimal commas, cp1252, units and uncertainties in cells, foreign columns with dots and units."""
    target = tmp_path / "out.csv"
    done = identify_file(messy, target, sep=";", decimal=",", encoding="cp1252", keep=["Bag", "Note"])
    found = pd.read_csv(target)
    assert found["Bag"].tolist() == [12, 13, 14, 15, 16, 17]
    assert found["Note"][1] == "a;b"
    assert found["tests"].tolist() == [3, 3, 1, 0, 1, 2]
    assert found["error"].notna().tolist() == [False, False, False, False, True, False]
    assert "'1.2.3' is not a number" in found["error"][4]
    assert done.unused == ("Soft. pt. [°C]", "meta.colour", "Length [mm]")
    for row, observations in zip([0, 1, 2, 5], by_hand(), strict=True):
        single = identify(observations)
        assert found["PE-HD"][row] == pytest.approx(single["PE-HD"], abs=1e-9)
        assert found["do_not_heat"][row] == (not single.heat.allowed)


@pytest.mark.parametrize("ending", ["xlsx", "ods"])
def test_spreadsheets_are_read_and_written(ending: str, messy: Path, tmp_path: Path) -> None:
    """The same answer as from CSV; a text that looks like a formula stays a text."""
    pytest.importorskip({"xlsx": "openpyxl", "ods": "odf"}[ending])
    frame = pd.read_csv(messy, sep=";", encoding="cp1252", dtype=object)
    frame.loc[0, "Note"] = "=1+1"
    source, target = tmp_path / f"in.{ending}", tmp_path / f"out.{ending}"
    engine: Any = {"xlsx": "openpyxl", "ods": "odf"}[ending]
    frame.to_excel(source, index=False, engine=engine)
    if ending == "xlsx":
        import openpyxl

        book = openpyxl.load_workbook(source)
        book.active["I2"].data_type = "s"
        book.save(source)
    identify_file(source, target, decimal=",", keep=["Bag", "Note"], top=2)
    identify_file(messy, tmp_path / "out.csv", sep=";", decimal=",", encoding="cp1252", top=2)
    found, expected = pd.read_excel(target), pd.read_csv(tmp_path / "out.csv")
    assert found["resin_1"].fillna("").tolist() == expected["resin_1"].fillna("").tolist()
    assert found["probability_1"].to_numpy() == pytest.approx(expected["probability_1"].to_numpy(), nan_ok=True)
    assert found["Note"][1] == "a;b"
    if ending == "xlsx":
        assert found["Note"][0] == "=1+1"
    broken = tmp_path / f"broken.{ending}"
    broken.write_bytes(b"no spreadsheet")
    with pytest.raises(InputError, match="is not a spreadsheet"):
        identify_file(broken, target)


def test_rows_takes_the_same_options(messy: Path, tmp_path: Path) -> None:
    options = ["--sep", ";", "--decimal", ",", "--encoding", "cp1252", "--prefix", "r_", "--top", "1"]
    command = [sys.executable, "-m", "resinid", "rows", str(messy), str(tmp_path / "out.csv"), *options]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert "Columns not used: Bag, Soft. pt. [°C], meta.colour" in done.stdout
    assert pd.read_csv(tmp_path / "out.csv")["r_resin_1"][0] == "PE-HD"


@pytest.mark.parametrize("kind", ["polars", "pyarrow"])
def test_other_frames_are_read(kind: str) -> None:
    pytest.importorskip("narwhals")
    module = pytest.importorskip(kind)
    columns = {"density [g/cm3]": ["0.957(3)", None], "feel": ["rigid", "limp"]}
    frame = module.DataFrame(columns) if kind == "polars" else module.table(columns)
    found = identify_table(frame, top=1)
    pd.testing.assert_frame_equal(found, identify_table(pd.DataFrame(columns), top=1))


def test_a_polars_frame_without_narwhals_is_told_what_to_install(monkeypatch: pytest.MonkeyPatch) -> None:
    polars = pytest.importorskip("polars")
    monkeypatch.setitem(sys.modules, "narwhals", None)
    with pytest.raises(InputError, match=r"is a polars DataFrame; install resinid\[frames\]"):
        identify_table(polars.DataFrame({"feel": ["rigid"]}))
    with pytest.raises(InputError, match="is a dict, not a pandas DataFrame"):
        identify_table({"feel": ["rigid"]})  # type: ignore[call-overload]  # because that is what is tested


def test_numbers_without_an_uncertainty_are_as_good_as_is_usual_and_that_is_told() -> None:
    frame = pd.DataFrame({"density [kg/m3]": [957.0, 1200.0, 957.0], "density_u [kg/m3]": [3.0, None, None]})
    with pytest.warns(TableWarning, match=r"density \[kg/m3\]: numbers without an uncertainty.*0\.005 g/cm3"):
        found = identify_table(frame)["PC"]
    single = identify([{"test": "density", "density": "1.200 ± 0.005 g/cm3"}])
    assert found[1] == pytest.approx(single["PC"], abs=1e-9)
    modulus = tidied(pd.DataFrame({"modulus [GPa]": [1.2]}), plan_columns(["modulus [GPa]"]))
    assert modulus.frame.to_numpy()[0] == pytest.approx([1200.0, 120.0])
    assert "10 % of the number" in modulus.notes[0]


def test_what_looks_like_a_reading_and_is_none_is_told_once() -> None:
    frame = pd.DataFrame({"feel": ["rigid"] * 3, "meta.colour": "red", "Soft. pt. [°C]": 5.0, "id": 1})
    with pytest.warns(TableWarning) as caught:
        answer = identify_table(frame)
    assert [str(each.message) for each in caught] == [
        "columns that name no test were not read: 'meta.colour', 'Soft. pt. [°C]'"
    ]
    assert answer.unread == ("meta.colour", "Soft. pt. [°C]", "id")
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        identify_table(frame[["feel", "id"]])


@pytest.mark.parametrize(
    ("cells", "value", "u"),
    [
        (["0.957"], 0.957, 0.001 / 3**0.5),
        (["0.957 ± 0.003"], 0.957, 0.003),
        (["0.957(3)"], 0.957, 0.003),
        (["0.957 ± 0.5 %"], 0.957, 0.957 * 0.005),
        (["957 ± 3 kg/m3"], 0.957, 0.003),
        (["957(3) kg m-3"], 0.957, 0.003),
        (["0.957", "±0.003"], 0.957, 0.003),
        (["0.957", "0.5 %"], 0.957, 0.957 * 0.005),
        (["0.957", "3 kg/m3"], 0.957, 0.003),
        (["0.957 ± 0.002", "0.003"], 0.957, 0.002),
        ([0.957, "3 kg/m3"], 0.957, 0.003),
    ],
    ids=repr,
)
def test_an_uncertainty_is_read_wherever_it_stands(cells: list[object], value: float, u: float) -> None:
    headers = ["density [g/cm3]", "density_u [g/cm3]"][: len(cells)]
    frame = pd.DataFrame([cells], columns=headers)
    found = tidied(frame, plan_columns(headers))
    assert not found.errors
    assert found.frame.to_numpy()[0] == pytest.approx([value, u])


@pytest.mark.parametrize(
    "header", ["density [g/cm3]", "Density (g/cm3)", "DENSITY, g/cm3", "density / g cm-3", "Density g/cm³"]
)
def test_a_unit_is_read_however_a_header_states_it(header: str) -> None:
    """In brackets of either kind, after a comma, or as a quotient (NIST SP 811, 7.1; from memory)."""
    spread = header.replace("ensity", "ensity_u").replace("ENSITY", "ENSITY_u")
    frame = pd.DataFrame({header: [0.957], spread: [0.003], "Feel (of the edge)": "any", "Density (Kappe)": "any"})
    with pytest.warns(TableWarning, match=r"not read: 'Feel \(of the edge\)', 'Density \(Kappe\)'"):
        found = identify_table(frame)["PE-HD"]
    single = identify([{"test": "density", "density": "0.957 ± 0.003 g/cm3"}])
    assert found[0] == pytest.approx(single["PE-HD"], abs=1e-9)


def test_a_blank_or_underscore_may_stand_for_the_dot() -> None:
    headers = ["Float liquid", "float_outcome", "Weighing in air (g)", "weighing in air_u (g)", "melt flow outcome"]
    with pytest.raises(InputError, match=r"weighing: lacks the column weighing\.in_liquid"):
        plan_columns(headers)
    plan = plan_columns([*headers[:2], headers[4], "float cost"])
    assert plan.foreign == ("float cost",)
    assert {done.label: [field for field, _ in done.fields] for done in plan.tests} == {
        "float": ["liquid", "outcome"], "melt_flow": ["outcome"],
    }  # fmt: skip


def test_the_obvious_call_names_resins_and_joins_do_not_clash() -> None:
    """Neither a flag nor a number beside the probabilities is taken for a resin."""
    frame = pd.DataFrame({"density [g/cm3]": ["0.957(3)", "1.38(1)"], "verdict": ["mine", "too"]})
    answer = identify_table(frame)
    assert set(answer.probability.idxmax(axis=1)) < set(answer.probability.columns)
    assert "do_not_heat" not in answer.probability
    joined = frame.join(identify_table(frame, top=1, prefix="resinid_"))
    assert joined["resinid_resin_1"].tolist() == answer.probability.idxmax(axis=1).tolist()
    assert joined["verdict"].tolist() == ["mine", "too"]
    assert answer.to_dict()["rows"][0]["verdict"] == answer.told["verdict"][0]
    assert len(repr(answer)) < 100
    assert '"low_degC": null' in answer.to_json()
