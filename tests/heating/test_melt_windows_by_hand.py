"""Windows of melt temperatures from made-up lines of a table, worked out by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

import pytest
from scipy import stats

from resinid import default_reference
from resinid.heating.bearing import UNKNOWN, minutes_at
from resinid.heating.melt_windows import Window, overlap, window_of
from resinid.reference.entries import Hazard, Statement

if TYPE_CHECKING:
    from resinid.reference.table import ReferenceTable


def line(
    what: str, low: float | None, typical: float | None, high: float | None, obtained: str = "handbook"
) -> Statement:
    return Statement("PP", "natural", what, low, typical, high, "", "", f"{what} of {obtained}", "", obtained, "")


def table(*lines: Statement, onset: float | None = None) -> ReferenceTable:
    """Return the table with only these lines of polypropylene, and perhaps a hazard that a melt must stay below."""
    ours = default_reference()
    fume = Hazard(
        "PP", "fume", onset, limits_melt=True, bar="no", caution="", never_with=(), source="fume-1", obtained=""
    )
    hazards = [] if onset is None else [fume]
    others = [h for h in ours.hazards if h.applies_to != "PP"]
    kept = [row for row in ours.statements if row.resin != "PP"]
    return replace(ours, statements=(*kept, *lines), hazards=(*others, *hazards))


MELTS = "melt_processing_temperature"
MOST = "maximum_melt_temperature"
DECOMPOSES = "decomposition_onset_temperature"


def test_the_mean_of_the_printed_windows_by_their_trust() -> None:
    """A handbook counts three, a trade table one; a single value stands for 10 K to either side."""
    found = window_of(table(line(MELTS, 200.0, None, 240.0), line(MELTS, None, 220.0, None, "trade table")), "PP")
    assert found is not None
    assert [found.low, found.high] == pytest.approx([(3 * 200 + 210) / 4, (3 * 240 + 230) / 4])
    assert found.coolest == 200.0
    assert (found.ceiling, found.limit) == (math.inf, math.inf)
    assert found.sources == (f"{MELTS} of handbook", f"{MELTS} of trade table")


def test_five_kelvin_are_kept_below_what_must_never_be_exceeded() -> None:
    """Of a printed range of highest temperatures, and of decomposition, the lower end; of both, the lower."""
    lines = [line(MELTS, 200.0, None, 280.0)]
    most, decomposes = line(MOST, 270.0, None, 290.0), line(DECOMPOSES, None, 265.0, None)
    for more, ceiling in (([most], 265.0), ([decomposes], 260.0), ([most, decomposes], 260.0)):
        found = window_of(table(*lines, *more), "PP")
        assert found is not None
        assert (found.ceiling, found.limit, found.high) == (ceiling, ceiling, ceiling)


def test_five_kelvin_are_kept_below_the_onset_of_fume() -> None:
    """It limits a melt but is no ceiling of the resin; it may lie below all that is printed."""
    lines = [line(MELTS, 200.0, None, 240.0), line(MOST, None, 260.0, None)]
    for onset, limit in ((230.0, 225.0), (300.0, 255.0), (190.0, 185.0)):
        found = window_of(table(*lines, onset=onset), "PP")
        assert found is not None
        assert (found.ceiling, found.limit) == (255.0, limit)
        assert "fume-1" in found.sources


def test_above_its_ceiling_a_window_begins_at_the_coolest_printed() -> None:
    lines = [line(MELTS, 200.0, None, 220.0), line(MELTS, 280.0, None, 290.0), line(MOST, None, 240.0, None)]
    found = window_of(table(*lines), "PP")
    assert found is not None
    assert (found.low, found.high, found.coolest) == (200.0, 235.0, 200.0)


def test_no_printed_window_is_none() -> None:
    assert window_of(table(line(MOST, None, 240.0, None)), "PP") is None


def test_chance_of_a_temperature_in_common() -> None:
    """Both ends are normal with a standard deviation of 8 K; unknown windows overlap as likely as not."""

    def window(low: float, high: float) -> Window:
        return Window(low, high, low, math.inf, math.inf, math.inf, ())

    one = window(200.0, 230.0)
    for other, room in ((window(225.0, 260.0), 5.0), (window(240.0, 260.0), -10.0), (window(150.0, 260.0), 30.0)):
        expected = stats.norm.cdf(room, scale=8.0 * math.sqrt(2.0))
        assert overlap(one, other) == pytest.approx(expected) == overlap(other, one)
    assert overlap(one, window(200.0, 230.0)) == 1.0
    assert overlap(one, None) == overlap(None, one) == overlap(None, None) == 0.5


def test_a_resin_that_is_not_listed_bears_half_an_hour_where_it_is_set() -> None:
    """And less where it is hotter, by Arrhenius's law with 120 kJ/mol: 10 K above 200 degC, 53 % of it."""
    there = replace(UNKNOWN, at=200.0)
    assert minutes_at(there, 200.0) == pytest.approx(30.0)
    shrinks = math.exp(120e3 / 8.314462618 * (1.0 / 483.15 - 1.0 / 473.15))
    assert shrinks == pytest.approx(0.53, abs=0.005)
    assert minutes_at(there, 210.0) == pytest.approx(30.0 * shrinks, rel=1e-3)
