"""What bears on heating, and every caution, is shown, and shown once."""

from __future__ import annotations

from collections import Counter
from pathlib import Path

import numpy as np
import pytest
from cli_kit import WITHOUT_BY_EYE

import resinid
from resinid.cli.main import main
from resinid.heating.rule import HeatRule, View
from resinid.heating.verdict import PRECAUTIONS, Heat
from resinid.identification.score import model_of
from resinid.reference.table import default_reference
from resinid.report.piece_report import heat_part, observations_part, result_text
from resinid.report.sections import Items, Line, Table
from resinid.report.sheet import bench_sheet

TABLE = default_reference()
CAP = Path(__file__).parents[2] / "examples" / "green_cap.toml"
BATHS = [{"test": "float", "liquid": f"water at {degrees} degC", "outcome": "sinks"} for degrees in range(15, 27)]
LIMP = [{"test": "feel", "outcome": "limp"}] * 10
HOT = [
    {"test": "copper_wire", "outcome": "no green"},
    {"test": "burn_smell", "outcome": "styrene"},
    {"test": "mark", "reads": ">ABS-FR(17)<"},
]
STYRENE = [{"test": "density", "density": "1.05 ± 0.002 g/cm3"}, {"test": "transparency", "outcome": "clear"}]


def shown_items(heat: Heat) -> tuple[str | Line, ...]:
    (items,) = (part for part in heat_part(heat).parts if isinstance(part, Items))
    return items.items


def shown_tests(answer: resinid.Result, most: int) -> list[str]:
    table = observations_part(answer, most)
    assert isinstance(table, Table)
    return [str(row[0]) for row in table.rows]


def test_no_caution_is_said_twice_and_none_is_lost() -> None:
    """Of every resin that asks for precautions; the onset in a caution once hid that the reason is the same."""
    model, seen = model_of(TABLE), 0
    rule = HeatRule(model)
    for place in range(model.kind_owner.size - 1):
        share = np.zeros(model.kind_owner.size)
        share[place] = 1.0
        heat = rule.judge([View(share)])
        items = [str(item) for item in shown_items(heat)]
        assert max(Counter(items).values()) == 1
        assert set(heat.cautions) <= set(items)
        if heat.verdict == PRECAUTIONS:
            seen += 1
            assert items == list(dict.fromkeys(heat.cautions)), "each reason is the end of a caution"
    assert seen > 3


@pytest.mark.parametrize("last", [False, True])
def test_what_bears_on_heating_is_never_cut(*, last: bool) -> None:
    """However much else there is, and however much of it disagrees."""
    seen = [*BATHS, *LIMP, *HOT] if last else [*HOT, *STYRENE, *BATHS, *LIMP]
    answer = resinid.identify(seen, allow=["copper wire", "burn"])
    page = bench_sheet(answer)
    for said in ("copper wire: no green", "burn smell: styrene", "marked &gt;ABS-FR(17)&lt;"):
        assert said in page
    assert "more are not shown" in page
    places = [int(name.removeprefix("x")) for name in shown_tests(answer, 4)]
    assert len(places) == len(HOT) + 2, "some room is left for the others"
    assert places == sorted(places)


def test_where_some_are_cut_off_what_tells_most_is_kept() -> None:
    """A page once showed the article and the look, and hid the weighing and the hot plate that gave leave."""
    plate = {"test": "hot_plate", "not_melted_at": "120 degC", "melted_at": "140 degC"}
    weighing = {"test": "density", "density": "0.955 ± 0.002 g/cm3"}
    look = [{"test": "article", "outcome": "screw cap"}, {"test": "transparency", "outcome": "opaque"}]
    answer = resinid.identify([*look, {"test": "snap", "outcome": "creases"}, plate, weighing])
    assert shown_tests(answer, 2) == ["x4", "x5"]


def test_one_outcome_often_seen_does_not_fill_the_page() -> None:
    answer = resinid.identify([*HOT[:1] * 30, *STYRENE], allow=["copper wire"])
    assert len(shown_tests(answer, 4)) == 4


def test_the_text_shows_the_cautions_of_the_baths(capsys: pytest.CaptureFixture[str]) -> None:
    """The alcohol of the example can be lit; the page said so and the text did not. So for a weighing in it."""
    assert main(["identify", str(CAP)]) == 0
    text = " ".join(capsys.readouterr().out.split())
    assert text.count("Flammable") == 1
    bath = "ethanol 40 %v/v at 20 degC"
    weighed = {"test": "weighing", "in_air": "5.00 g", "in_liquid": "0.10 g", "liquid": bath}
    answer = resinid.identify([weighed, {"test": "float", "liquid": bath, "outcome": "sinks"}])
    caution = resinid.parse_liquid(bath).caution
    assert caution
    for shown in (result_text(answer, TABLE, 8), bench_sheet(answer), str(answer._repr_html_())):
        assert caution in " ".join(shown.split())
    assert " ".join(result_text(answer, TABLE, 8).split()).count(caution) == 1


def test_the_text_of_the_next_test_warns_as_its_page_does(capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    """Whether the piece may be heated, and that a hot test is no leave to do so."""
    piece = tmp_path / "cap.toml"
    text = CAP.read_text(encoding="utf-8").split('[[observation]]\ntest = "weighing"')[0]
    piece.write_text(text, encoding="utf-8")
    assert main(["next", str(piece), "--have", "hot plate 250 degC", "--allow", "hot plate", *WITHOUT_BY_EYE]) == 0
    text = " ".join(capsys.readouterr().out.split())
    for said in ("Next: step a hot plate", "the piece itself must not be heated", "Heating: NOT YET", "Flammable"):
        assert said in text
