"""A label for a bin or a bag: resin or group, verdict, range, date, lot."""

from __future__ import annotations

import json
import re
from datetime import datetime
from html import unescape
from pathlib import Path

import pytest
from known_bags import proved
from show_answers import FLOATS, HOSTILE, bags, cap

import resinid
from resinid.batches.outcome import LIMITS, ONE_MELT
from resinid.cli.main import main
from resinid.heating.verdict import DO_NOT_HEAT, LOCAL, NOT_YET
from resinid.reference.table import default_reference
from resinid.report.label import bag_label, piece_label

TABLE = default_reference()
EXAMPLES = Path(__file__).parents[2] / "examples"
MIXED = [proved("mixed tubs", {"PE-HD": 300, "PP": 300}), *bags()]


def words(page: str) -> str:
    """What is read on a page."""
    return unescape(re.sub(r"<[^>]+>", " ", page.partition("<body>")[2]))


def test_a_label_says_what_it_is_whether_and_where_it_melts_lot_and_date() -> None:
    answer = cap()
    assert answer.heat.allowed
    said = words(piece_label(answer, lot="KL-7", date="2026-11-30"))
    for part in (answer.headline, answer.heat.headline, answer.heat.range, "lot: KL-7", "date: 2026-11-30", LOCAL):
        assert part in said
    assert answer.heat.cautions[0] in said


def test_a_label_of_what_is_not_cleared_says_so_and_why_and_gives_no_range() -> None:
    """Neither what is not told yet, nor what must not be heated: no temperature at which to melt it stands there."""
    pipe = [{"test": "mark", "reads": "3"}, {"test": "density", "density": "1.40 ± 0.01 g/cm3"}]
    for seen, verdict in ((FLOATS[:1], NOT_YET), (pipe, DO_NOT_HEAT)):
        answer = resinid.identify(seen)
        said = words(piece_label(answer))
        assert verdict in said
        assert answer.heat.reasons[0] in said
        assert "may be melted" not in said
        assert LOCAL in said


@pytest.mark.parametrize("place", range(len(MIXED)))
def test_a_bag_is_labelled_by_its_plan(place: int) -> None:
    """What the plan forbids, or has no steps for, is not to be melted by its label; limits stand on it."""
    bag = MIXED[place]
    plan, found = resinid.melt_plan(bag), resinid.batch_composition(bag)
    said = words(bag_label(found, plan, lot="9", reference=TABLE))
    assert bag.name in said
    assert LOCAL in said
    if plan.steps is None:
        assert "may be melted" not in said
        assert plan.verdict.verdict in said or DO_NOT_HEAT in said
    else:
        assert plan.verdict.verdict in {ONE_MELT, LIMITS}
        window = plan.steps.window
        assert f"may be melted from {window.low:.0f} to {window.high:.0f} °C" in said
        assert all(limit in said for limit in plan.verdict.limits)


def test_a_bag_of_several_polyethylenes_bears_the_name_of_the_group() -> None:
    bag = proved("films", {"PE-LD": 120, "PE-LLD": 80})
    said = words(bag_label(resinid.batch_composition(bag), resinid.melt_plan(bag), reference=TABLE))
    assert re.search(r"polyethylene 9\d\.\d %, mostly PE-LD", said)


def test_a_label_obeys_no_name() -> None:
    page = piece_label(cap(HOSTILE), lot=HOSTILE, date=HOSTILE)
    assert "<script" not in page
    assert "default-src 'none'" in page
    assert not re.search(r"(src|href)=|https?://|@import", page)


def test_on_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Of a piece's file and of a bag's; dated today unless told; without --label a bag's page is its melt plan."""
    page = tmp_path / "label.html"
    for file, named in (("green_cap.toml", "polyethylene"), ("caps_bag.toml", "PE-HD")):
        command = ["sheet", str(EXAMPLES / file), "--label", "--lot", "KL-7"]
        assert main([*command, "-o", str(page)]) == 0
        assert "a label to print" in capsys.readouterr().out
        said = words(page.read_text(encoding="utf-8"))
        assert named in said
        assert "lot: KL-7" in said
        assert f"date: {datetime.now().astimezone().date().isoformat()}" in said
        assert main([*command, "--date", "2026-01-31", "--json"]) == 0
        assert "date: 2026-01-31" in words(json.loads(capsys.readouterr().out)["html"])
        assert main([*command, "--date", "31.1."]) == 2
        assert "write for example 2026-11-30" in capsys.readouterr().err
    assert main(["sheet", str(EXAMPLES / "caps_bag.toml"), "--lot", "KL-7", "--mould", "300x300x10 mm"]) == 0
    said = words(capsys.readouterr().out)
    assert "Record" in said
    assert "KL-7" in said
