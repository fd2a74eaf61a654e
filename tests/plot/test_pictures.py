"""The pictures: what they draw is what the answer says, with units, and no word lies on another."""

from __future__ import annotations

import dataclasses
import functools
import subprocess
import sys
from itertools import combinations
from typing import TYPE_CHECKING

import numpy as np
import pytest
from matplotlib import pyplot as plt
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle
from matplotlib.text import Text
from show_answers import FLOATS, bags, cap

import resinid
from resinid.batches.outcome import DELAMINATES, LIMITS, ONE_MELT
from resinid.errors import InputError, UnknownNameError
from resinid.heating.verdict import DO_NOT_HEAT, NOT_YET
from resinid.plot.bags import CELLS, draw_composition, draw_pairs
from resinid.plot.look import FILLS, LINES
from resinid.plot.moves import draw_moves
from resinid.plot.next_bath import draw_bath_information
from resinid.plot.piece_plots import draw_probabilities, draw_standing
from resinid.plot.property_map import ELLIPSE, MARKERS, draw_property_map
from resinid.report.property_spans import drawn_reading
from resinid.report.text import percent
from resinid.scoring.prior import NONE_OF_THESE

if TYPE_CHECKING:
    from collections.abc import Callable

    from matplotlib.axes import Axes


SHEET = resinid.identify(
    [
        {"test": "float", "liquid": "water", "outcome": "sinks"},
        {"test": "float", "liquid": "table salt 110 g/kg water", "outcome": "sinks"},
        {"test": "float", "liquid": "table salt saturated", "outcome": "floats"},
        {"test": "softening", "temperature": "150 ± 4 degC"},
        {"test": "snap", "outcome": "creases"},
    ],
    piece="mystery sheet",
)
TOYS = resinid.Batch.of("toy box", marked={"PP": 9, "ABS": 5, "PS": 1})
PICTURES: dict[str, Callable[[Axes], Axes]] = {
    "standing": lambda axes: draw_standing(cap(), ax=axes),
    "standing of a sheet": lambda axes: draw_standing(SHEET, ax=axes),
    "standing, softening": lambda axes: draw_standing(SHEET, "softening_temperature", ax=axes),
    "standing, modulus": lambda axes: draw_standing(SHEET, "flexural_modulus", ax=axes),
    "standing, untested": lambda axes: draw_standing(resinid.identify([]), ax=axes),
    "probabilities": lambda axes: draw_probabilities(SHEET, ax=axes),
    "probabilities, untested": lambda axes: draw_probabilities(resinid.identify([]), ax=axes),
    "moves": lambda axes: draw_moves(SHEET, ax=axes),
    "map": lambda axes: draw_property_map(SHEET, ax=axes),
    "map, one-sided": lambda axes: draw_property_map(resinid.identify([*FLOATS]), ax=axes),
    "map, untested": lambda axes: draw_property_map(resinid.identify([]), ax=axes),
    "composition": lambda axes: draw_composition(resinid.batch_composition(TOYS), ax=axes),
    "pairs": lambda axes: draw_pairs(resinid.stock_matrix(bags()), ax=axes),
    "next bath": lambda axes: draw_bath_information(resinid.identify([]), bench="table salt, ethanol 96 %v/v", ax=axes),
}


def drawn(draw: Callable[[Axes], Axes]) -> Axes:
    figure = Figure(figsize=(7.0, 4.6), layout="constrained", dpi=80)
    FigureCanvasAgg(figure)
    axes = figure.add_subplot()
    assert draw(axes) is axes
    figure.draw_without_rendering()
    return axes


@functools.cache
def picture(name: str) -> Axes:
    return drawn(PICTURES[name])


def words(axes: Axes) -> list[str]:
    legend = axes.get_legend()
    shown = [*axes.texts, *axes.get_xticklabels(), *axes.get_yticklabels(), *(legend.get_texts() if legend else ())]
    return [text.get_text() for text in shown if text.get_text()]


@pytest.mark.parametrize("name", PICTURES)
def test_every_axis_says_what_it_is_in_which_unit(name: str) -> None:
    """A quantity has its unit in brackets; names of resins, bags and tests have none."""
    axes = picture(name)
    for label, axis in ((axes.get_xlabel(), axes.xaxis), (axes.get_ylabel(), axes.yaxis)):
        assert label
        names = [text.get_text() for text in axis.get_ticklabels()]
        if not any(part and not part.replace(".", "").replace("−", "").isdigit() and "$" not in part for part in names):
            assert "[" in label


@pytest.mark.parametrize("name", PICTURES)
def test_no_word_lies_on_another(name: str) -> None:
    axes = picture(name)
    legend = axes.get_legend()
    shown = [*axes.texts, *axes.get_xticklabels(), *axes.get_yticklabels(), axes.xaxis.label, axes.yaxis.label]
    shown += [*legend.get_texts(), legend.get_title()] if legend else []
    low, high = sorted(axes.get_xlim()), sorted(axes.get_ylim())
    kept = []
    for text in shown:
        tick = text in [*axes.get_xticklabels(), *axes.get_yticklabels()]
        x, y = text.get_position()
        beyond = tick and not (low[0] <= float(x) <= low[1] or high[0] <= float(y) <= high[1])
        if text.get_visible() and text.get_text() and not beyond:
            kept.append((text.get_text(), Text.get_window_extent(text)))  # without the arrow of a name set aside
    for (one, a), (other, b) in combinations(kept, 2):
        across, up = min(a.x1, b.x1) - max(a.x0, b.x0), min(a.y1, b.y1) - max(a.y0, b.y0)
        # Boxes hold room above and below the letters; names on the map may touch but not cover.
        assert not (across > 2 and up > 0.45 * min(a.height, b.height)), (one, other)


@pytest.mark.parametrize("name", PICTURES)
def test_nothing_is_cut_off(name: str) -> None:
    axes = picture(name)
    figure = axes.get_figure()
    assert figure is not None
    box = axes.get_tightbbox()
    assert box is not None
    assert box.x0 >= -1
    assert box.y0 >= -1
    assert box.x1 <= figure.bbox.width + 1
    assert box.y1 <= figure.bbox.height + 1


def test_without_axes_a_new_figure_is_drawn_on() -> None:
    plt.switch_backend("agg")
    first, second = draw_probabilities(SHEET), draw_moves(SHEET)
    try:
        assert first.figure is not second.figure
        assert plt.gcf() is second.figure
        figure = second.figure
        figure.draw_without_rendering()
        box = second.get_tightbbox()
        assert box is not None
        assert box.x0 >= -1
        assert box.x1 <= figure.bbox.width + 1
    finally:
        plt.close(first.figure)  # type: ignore[arg-type]  # as above
        plt.close(second.figure)  # type: ignore[arg-type]  # as above


def test_a_piece_stands_where_its_readings_say() -> None:
    axes = picture("standing")
    said = words(axes)
    for resin in [name for name in cap().resins if name != NONE_OF_THESE][:8]:
        assert f"{resin}  {percent(cap()[resin])}" in said
    assert "the readings" in said
    assert any("floats in water (0.9982 g/cm³)" in word for word in said)
    lines = sorted(float(np.asarray(line.get_xdata())[0]) for line in axes.lines if line.get_linestyle() == "--")
    assert lines == pytest.approx([0.9480, 0.9982], abs=1e-4)


def test_bars_are_the_probabilities_and_dangerous_resins_are_named_so() -> None:
    answer = resinid.identify([{"test": "density", "density": "1.39 ± 0.005 g/cm3"}])
    axes = drawn(lambda one: draw_probabilities(answer, ax=one))
    widths = [patch.get_width() for patch in axes.patches]  # type: ignore[attr-defined]  # because bars are rectangles
    assert widths[:8] == pytest.approx([100 * chance for chance in answer.probability[:8]])
    assert sum(widths) == pytest.approx(100.0)
    place = answer.resins.index("PVC-U")
    assert place < 8
    assert axes.patches[place].get_hatch()
    assert axes.texts[place].get_text().endswith("do not heat")


def test_moves_follow_the_tests_one_by_one() -> None:
    """Each row is the answer to the tests so far; the last is the answer itself."""
    axes = drawn(lambda one: draw_moves(SHEET, ax=one))
    rows = len(SHEET.observations) + 1
    widths = np.array([patch.get_width() for patch in axes.patches]).reshape(rows, -1)  # type: ignore[attr-defined]  # as above
    assert widths.sum(axis=1) == pytest.approx(np.full(rows, 100.0))
    assert widths[-1, 0] == pytest.approx(100 * SHEET.probability[0])
    assert widths[0, 0] == pytest.approx(100 * SHEET.prior[0])


def test_of_many_tests_the_last_steps_are_drawn() -> None:
    many = resinid.identify([{"test": "feel", "outcome": "rigid"}] * 20)
    said = words(drawn(lambda one: draw_moves(many, ax=one)))
    assert "after 9 tests" in said


def test_the_ellipse_holds_95_per_cent_of_a_normal_reading() -> None:
    """2.4477 standard deviations: the root of the 0.95 quantile of chi-squared with two degrees of freedom (tables)."""
    assert np.exp(-0.5 * 2.4477**2) == pytest.approx(ELLIPSE, rel=2e-4)
    reading = [
        resinid.observe("density", density="1.050 ± 0.010 g/cm3", outlier=1e-4),
        resinid.observe("softening", temperature="150 ± 4 degC", outlier=1e-4),
    ]
    answer = resinid.identify(reading)
    (ellipse,) = drawn(lambda one: draw_property_map(answer, ax=one)).patches
    assert ellipse.height == pytest.approx(2 * 2.4477 * 0.010, rel=0.02)  # type: ignore[attr-defined]  # because it is one
    found = drawn_reading(reading, "softening_temperature", resinid.default_reference())
    assert found is not None
    low, high = found.limits(ELLIPSE)
    assert ellipse.width == pytest.approx(high - low)  # type: ignore[attr-defined]  # as above


def test_open_readings_are_bands_without_an_edge_on_the_map() -> None:
    axes = picture("map, one-sided")
    (band,) = axes.patches
    assert isinstance(band, Rectangle)
    corner = band.get_xy()
    (left, right), (low, high) = axes.get_xlim(), axes.get_ylim()
    assert corner[0] < left
    assert corner[0] + band.get_width() > right
    assert low < corner[1] < corner[1] + band.get_height() < high


def test_resins_that_are_not_on_the_map_are_named_beside_it() -> None:
    axes = drawn(lambda one: draw_property_map(SHEET, resins=["PP", "PTFE", "PS-E"], ax=one))
    legend = axes.get_legend()
    assert legend is not None
    assert "PTFE" in legend.get_title().get_text()
    assert "PS-E" in legend.get_title().get_text()
    with pytest.raises(UnknownNameError, match="no resin is called"):
        drawn(lambda one: draw_property_map(SHEET, resins=["plywood"], ax=one))


def test_a_composition_is_drawn_with_its_interval_and_limits() -> None:
    found = resinid.batch_composition(TOYS)
    axes = drawn(lambda one: draw_composition(found, ax=one))
    widths = [patch.get_width() for patch in axes.patches]  # type: ignore[attr-defined]  # because bars are rectangles
    assert widths == pytest.approx([100 * share.mean for share in found.shares[:6]])
    ends = [np.asarray(line.get_xdata(), dtype=float) for line in axes.lines]
    for share in found.shares[:6]:
        assert any(end.size == 2 and end == pytest.approx([100 * share.low, 100 * share.high]) for end in ends)
    assert f"at most {percent(found.contaminants[0].limit)}" in words(axes)


def test_every_pair_says_its_verdict() -> None:
    found = resinid.stock_matrix(bags())
    axes = drawn(lambda one: draw_pairs(found, ax=one))
    said = [text.get_text() for text in axes.texts]
    short = {ONE_MELT: "one", LIMITS: "limits", DELAMINATES: "apart", NOT_YET: "not yet", DO_NOT_HEAT: "NO"}
    assert said == [short[verdict] for row in found.verdicts for verdict in row]


def test_the_best_bath_is_the_one_that_next_tests_recommends() -> None:
    seen = [{"test": "float", "liquid": "water", "outcome": "floats"}]
    advice = resinid.next_tests(seen, bench="ethanol 96 %v/v", by="bits")
    best = next(found for found in advice.suggestions if found.plan.recipe is not None)
    assert best.plan.recipe is not None
    axes = drawn(lambda one: draw_bath_information(advice.result, bench="ethanol 96 %v/v", ax=one))
    (curve,) = [line for line in axes.lines if np.asarray(line.get_xdata()).size > 10]
    x, y = (np.asarray(part, dtype=float) for part in curve.get_data())
    assert x[y.argmax()] == pytest.approx(best.plan.recipe.liquid.density, abs=0.004)
    assert y.max() == pytest.approx(best.bits, abs=0.003)


def test_fills_lines_and_marks_differ_without_colour() -> None:
    assert len({fill.hatch for fill in FILLS}) == len(FILLS)
    assert len(set(map(str, LINES))) == len(LINES)
    assert len(set(MARKERS.values())) == len(MARKERS)
    light = {verdict: (hatch, int(colour[1:3], 16) > 128) for verdict, (colour, hatch, _) in CELLS.items()}
    assert len(set(light.values())) == len(CELLS)


def test_an_answer_of_another_table_is_refused() -> None:
    other = dataclasses.replace(cap(), reference_digest="0" * 64)
    for draw in (draw_standing, draw_probabilities, draw_moves, draw_property_map, draw_bath_information):
        with pytest.raises(InputError, match="give that one as reference="):
            draw(other, ax=Figure().add_subplot())
    with pytest.raises(InputError, match="no measured property"):
        draw_standing(cap(), "colour", ax=Figure().add_subplot())


def test_importing_the_pictures_loads_no_matplotlib() -> None:
    code = (
        "import sys, resinid.plot.piece_plots, resinid.plot.moves, resinid.plot.property_map, resinid.plot.bags, "
        "resinid.plot.next_bath; sys.exit('matplotlib' in sys.modules)"
    )
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
