"""Priors from the published splits by hand, from the caller's weights, and in between."""

from __future__ import annotations

import csv
import math
from collections import defaultdict
from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np
import pytest
from scipy import stats

from resinid import InputError, default_reference
from resinid.scoring.prior import chernoff_point, prior_of

TABLE: Final = default_reference()
FILE: Final = Path(__file__).parents[2] / "reference" / "waste_streams.csv"
LISTED: Final = 0.97
"""What the listed resins have together; "none of these" has 3 % (common practice, no source)."""


def published() -> dict[str, dict[str, float]]:
    """Return share of each resin by stream, from the file itself: a line's share is split evenly over its resins."""
    lines: dict[str, list[tuple[set[str], float]]] = defaultdict(list)
    with FILE.open(encoding="utf-8", newline="") as file:
        for line in csv.DictReader(file):
            lines[line["stream"]].append((set(line["resins"].split()), float(line["share"])))
    out: dict[str, dict[str, float]] = {}
    for stream, rows in lines.items():
        named = set().union(*(resins for resins, _ in rows))
        shares = dict.fromkeys(TABLE.symbols, 0.0)
        for resins, share in rows:
            members = [s for s in TABLE.symbols if (s not in named if "other" in resins else s in resins)]
            for symbol in members:
                shares[symbol] += share / len(members)
        total = math.fsum(shares.values())
        out[stream] = {symbol: share / total for symbol, share in shares.items()}
    return out


@pytest.mark.parametrize("stream", sorted(published()))
def test_a_published_split_by_hand(stream: str) -> None:
    """The prior of a stream is its published split; a resin that it leaves out gets a ten-thousandth, not nothing."""
    found = prior_of(TABLE, stream)
    expected = published()[stream]
    raised = {symbol: max(share, 1e-4) for symbol, share in expected.items()}
    total = math.fsum(raised.values())
    assert found[-1] == pytest.approx(1 - LISTED)
    assert dict(zip(TABLE.symbols, found, strict=False)) == pytest.approx(
        {symbol: LISTED * share / total for symbol, share in raised.items()}, rel=1e-9
    )


def test_a_split_that_leaves_resins_out() -> None:
    """Without its line of others, a split's unnamed resins get the least share there is."""
    rows = tuple(row for row in TABLE.streams if "other" not in row.resins)
    reference = replace(TABLE, streams=rows, digest="without others")
    name = rows[0].name
    named = {symbol for row in rows if row.name == name for symbol in row.resins}
    found = dict(zip(TABLE.symbols, prior_of(reference, name), strict=False))
    unnamed = [symbol for symbol in TABLE.symbols if symbol not in named]
    assert len(unnamed) > 5
    for symbol in unnamed:
        assert found[symbol] == pytest.approx(LISTED * 1e-4 / (1 + 1e-4 * len(unnamed)), rel=1e-9)


def test_default_lies_as_far_from_uniform_as_from_the_mean_split() -> None:
    """Relative entropies, by scipy, of the uniform and of the mean published split to the default prior are equal."""
    found = prior_of(TABLE)
    listed = found[:-1] / LISTED
    assert found[-1] == pytest.approx(1 - LISTED)
    even = np.full(len(TABLE.resins), 1 / len(TABLE.resins))
    mean = np.mean([prior_of(TABLE, name)[:-1] / LISTED for name in published()], axis=0)
    far = [float(stats.entropy(each, listed)) for each in (even, mean)]
    assert far[0] == pytest.approx(far[1], rel=1e-9)
    assert 0.01 < far[0] < stats.entropy(mean, even)
    line = np.polyfit(np.log(mean), np.log(listed), 1)
    np.testing.assert_allclose(np.polyval(line, np.log(mean)), np.log(listed), atol=1e-9)
    assert 0 < line[0] < 1, "on the geometric path between the two"


def test_default_of_a_table_without_splits_is_uniform() -> None:
    """With no published split there is nothing to lean to."""
    bare = replace(TABLE, streams=(), digest="no streams")
    np.testing.assert_array_equal(prior_of(bare), prior_of(bare, "uniform"))


def test_chernoff_point_of_two_normals_is_halfway() -> None:
    """Between normals of equal variance it is the normal in the middle (Cover & Thomas, section 11.9)."""
    x = np.linspace(-12.0, 15.0, 2001)
    first, second, middle = (stats.norm.pdf(x, mean) / stats.norm.pdf(x, mean).sum() for mean in (0.0, 3.0, 1.5))
    np.testing.assert_allclose(chernoff_point(first, second), middle, rtol=1e-9)


def test_own_weights() -> None:
    """Weights by symbol or alias are shares of what the listed resins have; the others are never ruled out."""
    found = dict(zip((*TABLE.symbols, "rest"), prior_of(TABLE, {"PP": 3, "HDPE": 1.0, "PE-HD": 0}), strict=True))
    assert found["PP"] == pytest.approx(0.75 * LISTED)
    assert found["PE-HD"] == pytest.approx(0.25 * LISTED)
    assert found["rest"] == pytest.approx(1 - LISTED)
    assert all(0.9e-9 < share < 1e-9 for name, share in found.items() if name not in {"PP", "PE-HD", "rest"})
    for weight, share in ((1.0, 0.2), (0.0, 1e-9), (1e100, 1 - 1e-9)):
        found_ = prior_of(TABLE, {"PP": 3.0, "HDPE": 1.0, "none of these": weight})
        assert found_[-1] == pytest.approx(share, rel=1e-6)
        assert 1 - found_[-1] == pytest.approx(1 - share, rel=1e-3)
        assert found_.sum() == pytest.approx(1.0, abs=1e-12)
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
