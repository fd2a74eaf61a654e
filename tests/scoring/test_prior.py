"""Priors from the published splits by hand, from the caller's weights, and in between."""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from scipy import stats

from resinid import InputError, default_reference
from resinid.identification.score import heat_rule_of
from resinid.scoring.prior import cautious_prior, prior_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.reference.table import ReferenceTable

TABLE: Final = default_reference()
FOLDER: Final = Path(__file__).parents[2] / "reference"
LISTED: Final = 0.97
"""What the listed resins have together; "none of these" has 3 % (common practice, no source)."""

RARE: Final = ("PVDF", "PTFE", "PSU", "PPS", "PEEK", "PHB", "CN", "CA", "PF", "MF", "PPE+PS", "PA12")
COMMODITIES: Final = (
    *("PE-HD", "PE-MD", "PE-LLD", "PE-LD", "PP", "PS", "PS-HI", "PS-E"),
    *("PVC-U", "PVC-P", "PET", "PETG", "ABS"),
)


def rows(file: str) -> list[dict[str, str]]:
    with (FOLDER / f"{file}.csv").open(encoding="utf-8", newline="") as lines:
        return list(csv.DictReader(lines))


DEMAND: Final = {row["resin"]: float(row["share"]) * float(row["part"]) for row in rows("demand")}


def lines_of(stream: str) -> list[tuple[frozenset[str], float]]:
    """Return what lines of a stream name, and their share of all its lines; "other" is what no line names."""
    printed = [(set(row["resins"].split()), float(row["share"])) for row in rows("waste_streams")]
    printed = [line for line, row in zip(printed, rows("waste_streams"), strict=True) if row["stream"] == stream]
    named = set().union(*(resins for resins, _ in printed))
    total = math.fsum(share for _, share in printed)
    rest = set(TABLE.symbols) - named
    out: dict[frozenset[str], float] = {}
    for resins, share in printed:
        names = frozenset(rest if resins == {"other"} else resins)
        out[names] = out.get(names, 0.0) + share / total
    return list(out.items())


STREAMS: Final = tuple(dict.fromkeys(row["stream"] for row in rows("waste_streams")))


def found(prior: str = "default", table: ReferenceTable = TABLE) -> dict[str, float]:
    """Return shares of the listed resins, which add up to one."""
    return {symbol: float(p) / LISTED for symbol, p in zip(TABLE.symbols, prior_of(table, prior), strict=False)}


def together(shares: dict[str, float], names: Iterable[str]) -> float:
    return math.fsum(shares[name] for name in names)


@pytest.mark.parametrize("prior", ["default", *STREAMS])
def test_it_adds_up_and_rules_nothing_out(prior: str) -> None:
    every = prior_of(TABLE, prior)
    assert every[-1] == pytest.approx(1 - LISTED)
    assert every.sum() == pytest.approx(1.0, abs=1e-12)
    assert every.min() > 0.9e-4


@pytest.mark.parametrize("stream", STREAMS)
def test_a_stream_gives_back_what_is_printed(stream: str) -> None:
    """Each printed share, to its rounding of 1 %, or 2 % in a stream that leaves out what is no plastic."""
    shares = found(stream)
    lines = lines_of(stream)
    complete = set().union(*(resins for resins, _ in lines)) == set(TABLE.symbols)
    for resins, printed in lines:
        if printed > 1e-3:
            assert together(shares, resins) == pytest.approx(printed, rel=0.01 if complete else 0.02), resins


@pytest.mark.parametrize("stream", STREAMS)
def test_a_line_is_shared_by_demand(stream: str) -> None:
    """Two resins of one line, "other" or "all polyethylene", stand as in world demand, if both are above the floor."""
    shares = found(stream)
    for resins, _ in lines_of(stream):
        known = [name for name in resins if min(DEMAND[name] / 100, shares[name]) > 1.2e-4]
        for first, second in pairwise(sorted(known)):
            assert shares[first] / shares[second] == pytest.approx(DEMAND[first] / DEMAND[second], rel=1e-6)


def test_a_stream_that_leaves_resins_out() -> None:
    """What it does not print has its share of world demand; without demand, the least share there is."""
    printed = tuple(row for row in TABLE.streams if "other" not in row.resins)
    named = {symbol for row in printed if row.name == STREAMS[0] for symbol in row.resins}
    unnamed = [symbol for symbol in TABLE.symbols if symbol not in named]
    assert len(unnamed) > 5
    shares = found(STREAMS[0], replace(TABLE, streams=printed, digest="without others"))
    total = math.fsum(DEMAND.values())
    assert together(shares, unnamed) == pytest.approx(math.fsum(DEMAND[name] for name in unnamed) / total, rel=1e-3)


def test_default_is_a_pool_of_splits_and_demand() -> None:
    """Nine tenths the mean of the splits that print resins apart, one tenth world demand, by hand."""
    apart = ("us-municipal-waste", "world-waste", "europe-demand-2005")
    total = math.fsum(DEMAND.values())
    shares = found()
    mean = {symbol: math.fsum(found(name)[symbol] for name in apart) / 3 for symbol in TABLE.symbols}
    for symbol in TABLE.symbols:
        expected = 0.9 * mean[symbol] + 0.1 * max(DEMAND[symbol] / total, 1e-4)
        assert shares[symbol] == pytest.approx(expected, rel=1e-3)


def test_default_is_a_workshops_scrap() -> None:
    """Commodities are 85 to 90 %, twelve rare ones under 1 %, celluloid at most 0.05 %; medium density is no rival."""
    shares = found()
    assert 0.85 <= together(shares, COMMODITIES) <= 0.90
    assert together(shares, RARE) < 0.01
    assert shares["CN"] <= 5e-4
    assert shares["PE-MD"] < 0.06 * shares["PE-HD"]


def test_default_follows_the_tonnage_of_what_stands_by_itself() -> None:
    """Resins that Pardos 2005 prints alone are in the order of the world's tonnage: thousand tonnes, column W."""
    printed = {"PP": 42000, "ABS": 6900, "UP": 2500, "PMMA": 1200, "EP": 1100, "POM": 760, "PBT": 670}
    printed |= {"PPE+PS": 350, "PTFE": 80, "PPS": 65, "PVDF": 40, "PSU": 22, "PEEK": 2}
    # Of what goes into boats, coatings and the like, only a part can be pieces in a bin.
    parts = {row.resin: row.part for row in default_reference().demand}
    assert {name: DEMAND[name] for name in printed} == pytest.approx(
        {name: parts[name] * 100 * tonnage / 196495 for name, tonnage in printed.items()}, rel=1e-3
    )
    assert {name for name in printed if parts[name] < 1} == {"UP", "EP"}
    shares = found()
    whole = [name for name in printed if parts[name] == 1]
    assert sorted(whole, key=lambda name: -shares[name]) == sorted(whole, key=lambda name: -printed[name])


@pytest.mark.parametrize(
    ("resins", "percent"),
    [
        # Plastics - the Facts 2020, Europe 2019, as reported by the Food Packaging Forum on 10 December 2020
        # (paragraph read): near 10, 8.5, 6.5 and 4 of 50.7 million tonnes.
        ("PP", 19.7),
        ("PE-LD PE-LLD", 16.8),
        ("PE-HD PE-MD", 12.8),
        ("PET PETG", 7.9),
        # PlasticsEurope Market Research Group, The plastic industry, Berlin, August 2016, slide 2 (part seen): the
        # world in 2015.
        ("PE-HD PE-MD", 15.0),
        ("PE-LD PE-LLD", 17.0),
        ("PS PS-HI PS-E", 7.0),
        ("ABS ASA SAN", 3.0),
    ],
)
def test_default_against_figures_it_was_not_made_from(resins: str, percent: float) -> None:
    """Later published demand, of all plastics, lies within a factor of 1.3 of the default, "none of these" included."""
    assert 1 / 1.3 < 100 * LISTED * together(found(), resins.split()) / percent < 1.3


def test_splits_left_out_in_turn_are_near_the_pool_of_the_rest() -> None:
    """Relative entropies, by scipy: below 0.08, and less than half of those from what lies halfway to uniform."""
    for name in STREAMS:
        rest = replace(TABLE, streams=tuple(s for s in TABLE.streams if s.name != name), digest=f"without {name}")
        held, pool = (np.array(list(found(*each).values())) for each in ((name, TABLE), ("default", rest)))
        halfway = np.sqrt(pool)
        assert stats.entropy(held, pool) < 0.08
        assert stats.entropy(held, pool) < stats.entropy(held, halfway / halfway.sum()) / 2


def test_a_resin_without_a_figure_is_as_common_as_the_median_one() -> None:
    """A resin that somebody adds is neither ruled out nor a commodity."""
    bare = replace(TABLE, demand=tuple(row for row in TABLE.demand if row.resin != "PC"), digest="no demand of PC")
    usual = float(np.median([share for name, share in DEMAND.items() if name != "PC"]))
    shares = found("us-municipal-waste", bare)
    assert shares["PC"] / shares["PMMA"] == pytest.approx(usual / DEMAND["PMMA"], rel=1e-6)


def test_hazard_is_judged_by_shares_of_the_order_of_tonnage() -> None:
    """The cautious prior of each hazardous resin is at most three times the default's, and celluloid's under 0.05 %."""
    barred = heat_rule_of(TABLE).barred
    cautious = cautious_prior(TABLE, barred)
    assert np.all((cautious <= 3 * prior_of(TABLE))[barred > 0])
    shares = dict(zip(TABLE.symbols, cautious, strict=False))
    assert shares["CN"] < 5e-4
    assert max(shares["PTFE"], shares["PVDF"]) < 1e-3
    assert max(shares["MF"], shares["PF"]) < 5e-3


def test_default_of_a_table_without_splits_is_uniform() -> None:
    """With no published split there is nothing to lean to."""
    bare = replace(TABLE, streams=(), digest="no streams")
    np.testing.assert_array_equal(prior_of(bare), prior_of(bare, "uniform"))


def test_own_weights() -> None:
    """Weights by symbol or alias are shares of what the listed resins have; the others are never ruled out."""
    own = dict(zip((*TABLE.symbols, "rest"), prior_of(TABLE, {"PP": 3, "HDPE": 1.0, "PE-HD": 0}), strict=True))
    assert own["PP"] == pytest.approx(0.75 * LISTED)
    assert own["PE-HD"] == pytest.approx(0.25 * LISTED)
    assert own["rest"] == pytest.approx(1 - LISTED)
    assert all(0.9e-9 < share < 1e-9 for name, share in own.items() if name not in {"PP", "PE-HD", "rest"})
    for weight, share in ((1.0, 0.2), (0.0, 1e-9), (1e100, 1 - 1e-9)):
        some = prior_of(TABLE, {"PP": 3.0, "HDPE": 1.0, "none of these": weight})
        assert some[-1] == pytest.approx(share, rel=1e-6)
        assert 1 - some[-1] == pytest.approx(1 - share, rel=1e-3)
        assert some.sum() == pytest.approx(1.0, abs=1e-12)
    assert prior_of(TABLE, {"PP": 0.01, "PS": 0.03})[TABLE.symbols.index("PS")] == pytest.approx(0.75 * LISTED)
    assert prior_of(TABLE, {"PP": 1e100})[TABLE.symbols.index("PP")] == pytest.approx(LISTED)


@pytest.mark.parametrize("wrong", [-1e-9, 1.01e100, math.nan, math.inf, True, "3", None])
def test_wrong_weights_are_all_named(wrong: object) -> None:
    """What is no weight is refused, every one by its name, with what is allowed; so are weights that add up to none."""
    with pytest.raises(InputError, match="from 0 to 1e\\+100") as caught:
        prior_of(TABLE, {"PP": wrong, "PS": 0.0, "ABS": wrong})  # type: ignore[dict-item]  # because it is wrong
    assert [fault.place for fault in caught.value.faults] == ["prior.PP", "prior.ABS"]
    with pytest.raises(InputError, match="at least one must be above zero"):
        prior_of(TABLE, {"PP": 0, "none of these": 1.0})
    with pytest.raises(InputError, match=r"prior\.nothing"):
        prior_of(TABLE, {"nothing": 1.0})
