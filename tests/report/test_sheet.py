"""The bench sheet as text: what it holds, how it is written, what it refuses."""

from __future__ import annotations

import json
import re
from typing import TYPE_CHECKING

import numpy as np
import pytest
from cli_kit import BY_EYE
from show_answers import FLOATS, HOSTILE, cap
from strays import pieces

import resinid
from resinid.cli.main import main
from resinid.errors import InputError
from resinid.reference.table import default_reference
from resinid.report.page_fit import SMALLEST
from resinid.report.pictures import standing_picture, ticks
from resinid.report.property_spans import AGREES, baths_of, drawn_reading, spans_of
from resinid.report.sheet import bench_sheet

if TYPE_CHECKING:
    from pathlib import Path

TABLE = default_reference()


def test_a_sheet_holds_what_a_bench_needs() -> None:
    answer = cap()
    page = bench_sheet(answer)
    headings = re.findall(r"<h([1-6])>(.*?)</h\1>", page)
    assert headings[0] == ("1", "green screw cap")
    assert [text for level, text in headings if level == "2"] == [
        "Answer", "Cautions", "Evidence", "What to do next", "Sources",
    ]  # fmt: skip
    for part in (
        answer.leader,
        answer.heat.headline,
        answer.reference_digest,
        f"resinid {answer.version}",
        'role="img"',
    ):
        assert part in page
    for caution in answer.heat.cautions:
        assert caution in page.replace("&amp;", "&")


def test_a_sheet_stands_alone_and_obeys_no_name() -> None:
    page = bench_sheet(cap(HOSTILE))
    assert "<script" not in page
    assert "&lt;script&gt;alert" in page
    assert "default-src 'none'" in page
    assert not re.search(r"(src|href)=|url\((?!#resinid-hatch)|@import|https?://", page)


def test_a_sheet_asks_for_the_table_it_was_made_with(tmp_path: Path) -> None:
    (tmp_path / "sources.csv").write_text(
        "key,citation,year,kind,url,read,note\nown,Our own sheet,2026,data sheet,,read,\n", encoding="utf-8"
    )
    reference = TABLE.extended(tmp_path)
    answer = resinid.identify([*FLOATS], reference=reference)
    with pytest.raises(InputError, match="give that one as reference="):
        bench_sheet(answer)
    assert reference.digest in bench_sheet(answer, reference=reference)


@pytest.mark.parametrize(
    "observations",
    [
        [],
        [{"test": "snap", "outcome": "snaps"}],
        [{"test": "softening", "temperature": "131 degC"}],
        [{"test": "modulus", "modulus": "1200 MPa"}],
        [{"test": "density", "density": "0.03 ± 0.001 g/cm3"}],
    ],
)
def test_a_sheet_can_be_made_of_whatever_was_observed(observations: list[dict[str, str]]) -> None:
    page = bench_sheet(resinid.identify(observations))
    assert page.count("<h2>") == 5
    assert "NaN" not in page
    assert "nan" not in re.findall(r"[\w.-]+", page)
    assert ('role="img"' in page) == any("outcome" not in o for o in observations)


def test_a_hot_test_is_no_leave_to_heat_the_piece() -> None:
    """The hot plate may be offered for a speck while the piece may not be heated; the sheet says which is which."""
    said = "the piece itself must not be heated"
    answer = cap()
    advice = resinid.next_tests(
        answer.observations[:2], bench="hot plate 250 degC", allow=["hot plate"], without=BY_EYE
    )
    assert advice.best is not None
    assert advice.best.plan.hazard == "hot plate"
    assert not advice.result.heat.allowed
    assert said in bench_sheet(advice)
    assert said in str(advice._repr_html_())
    assert said not in bench_sheet(answer)


def test_fit_shrinks_the_more_there_is_to_say() -> None:
    few = float(re.findall(r"--fit:([\d.]+)", bench_sheet(resinid.identify([])))[0])
    many = bench_sheet(resinid.identify([*FLOATS, *[{"test": "feel", "outcome": "rigid"}] * 60]))
    assert SMALLEST <= float(re.findall(r"--fit:([\d.]+)", many)[0]) <= few <= 1.0
    assert "more are not shown" in many


def test_a_span_holds_the_share_of_pieces_it_says() -> None:
    """Of a normal distribution 5 and 95 % lie 1.6449 standard deviations from the middle (standard table); PMMA's
    density is close to one, so its ends lie evenly about the middle. By simulation for a mixture: PP."""
    for resin in ("PMMA", "PP", "PE-HD"):
        (span,) = spans_of(TABLE, "density", [resin])
        rng = np.random.default_rng(2)
        drawn = []
        for variant in (v for v in TABLE.variants if v.resin == resin):
            normals = pieces(TABLE, variant, "density").normals
            count = round(200_000 * variant.weight)
            pick = rng.choice(len(normals), size=count, p=np.array([n.weight for n in normals]))
            mean, sd = np.array([(n.mean, n.sd) for n in normals]).T
            drawn.append(np.exp(rng.normal(mean[pick], sd[pick])))
        found = np.quantile(np.concatenate(drawn), [0.05, 0.5, 0.95])
        assert [span.low, span.middle, span.high] == pytest.approx(found, rel=3e-3)


def test_a_normal_reading_agrees_with_its_95_per_cent_limits() -> None:
    """1.96 standard deviations (standard table of the normal distribution); 0.1465 is exp(-1.96^2/2)."""
    assert pytest.approx(np.exp(-0.5 * 1.959964**2), rel=1e-5) == AGREES
    observations = [resinid.observe("density", density="1.050 ± 0.010 g/cm3", outlier=1e-4)]
    found = drawn_reading(observations, "density", TABLE)
    assert found is not None
    # The method adds 0.02 % for temperature and handling; the grid's steps are read off between nodes.
    assert [found.low, found.high] == pytest.approx([1.050 - 0.0196, 1.050 + 0.0196], abs=4e-4)


def test_one_sided_readings_set_one_limit() -> None:
    floated = [resinid.observe("float", liquid="water", outcome="floats")]
    found = drawn_reading(floated, "density", TABLE)
    assert found is not None
    assert found.low == -np.inf
    assert found.high == pytest.approx(0.998, abs=0.003)
    assert drawn_reading(floated, "softening_temperature", TABLE) is None
    assert [bath.outcome for bath in baths_of(floated)] == ["floats"]


def test_ticks_are_round_and_within() -> None:
    for low, high in ((0.9, 1.0), (0.02, 2.0), (100.0, 333.0), (0.947, 0.951)):
        found = ticks(low, high)
        assert 3 <= len(found) <= 11
        assert all(low - 1e-9 <= tick <= high + 1e-9 for tick in found)
        steps = np.diff(found)
        assert steps == pytest.approx(np.full(steps.size, steps[0]))
        assert round(steps[0] / 10 ** np.floor(np.log10(steps[0])), 6) in {1.0, 2.0, 5.0, 10.0}


def test_the_picture_says_in_words_what_it_shows() -> None:
    """Success criterion 1.1.1 of WCAG 2.2: a text alternative that serves the same purpose."""
    answer = cap()
    picture = standing_picture(answer, "density", TABLE)
    said = str(picture.get("aria-label"))
    assert "The readings agree with 0.94" in said
    assert f"{answer.leader}: " in said
    assert "It floats in water" in said
    words = ["".join(part.itertext()) for part in picture.iter("text")]
    assert "Density [g/cm³]" in words
    assert any(text.startswith(f"{answer.leader}  ") for text in words)


def test_names_of_liquids_lie_apart() -> None:
    """No two names in one lane overlap, at the width of a letter that the picture reckons with."""
    liquids = ("water", "water at 25 degC", "ethanol 40 %v/v", "ethanol 41 %v/v", "ethanol 42 %v/v")
    answer = resinid.identify([{"test": "float", "liquid": name, "outcome": "floats"} for name in liquids])
    picture = standing_picture(answer, "density", TABLE)
    names = [t for t in picture.iter("text") if "".join(t.itertext()).startswith("floats in")]
    assert len(names) == len(liquids)
    boxes = [(float(t.get("y", "")), float(t.get("x", "")), len("".join(t.itertext()))) for t in names]
    for place, (y, x, letters) in enumerate(boxes):
        for other_y, other_x, _ in boxes[place + 1 :]:
            assert y != other_y or abs(other_x - x) > 6.6 * min(letters, letters)


def test_on_the_command_line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file, page = tmp_path / "cap.toml", tmp_path / "cap.html"
    file.write_text("[[observation]]\ntest='float'\nliquid='water'\noutcome='floats'", encoding="utf-8")
    assert main(["sheet", str(file), "-o", str(page)]) == 0
    assert "one page to print" in capsys.readouterr().out
    written = page.read_text(encoding="utf-8")
    assert written.startswith("<!DOCTYPE html>")
    assert "<h1>cap</h1>" in written
    assert main(["sheet", str(file)]) == 0
    assert capsys.readouterr().out == written
    assert main(["sheet", str(file), "--json"]) == 0
    assert json.loads(capsys.readouterr().out)["html"] == written
    assert main(["sheet", str(file), "-o", str(tmp_path / "no" / "cap.html")]) == 2
    assert "cannot be written" in capsys.readouterr().err
