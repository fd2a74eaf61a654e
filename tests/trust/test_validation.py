"""Published pieces that are not in the table, scored by the engine and by two baselines on the same rows.

The share of pieces that stray was fitted on them (test_stray.py): with all resins equally likely the engine
would score 1.539 instead of 1.537 had each publisher's pieces been left out of that.

Sources: measured_pieces.csv, a row each.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from baselines import measured, naive_bayes, nearest_middle
from published_pieces import observed
from scores import calibration_error

from resinid import default_reference, identify

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    Array = NDArray[np.float64]
    Ranker = Callable[[dict[str, str]], tuple[list[str], Array]]

OURS: Final = "engine, default prior"
RIVAL: Final = "GaussianNB, default"
GROUPS: Final = ("1", "2", "3 or more", "all")
PUZZLING: Final = 1.0
"""[nats] Rows where a baseline is this much better are printed with what the engine thought."""


def engine(prior: str) -> Ranker:
    def rank(row: dict[str, str]) -> tuple[list[str], Array]:
        result = identify(observed(row), prior=prior)
        return list(result.resins), np.array(result.probability)

    return rank


def test_measured_pieces_are_well_formed() -> None:
    """Every row names a resin of the table and its source, and gives something to score."""
    known = set(default_reference().symbols)
    for row in measured():
        assert row["resin"] in known, row
        assert row["source"], row
        assert row["locator"], row
        assert row["read"] in {"read", "excerpt"}, row
        assert observed(row), row


def test_measured_pieces_are_not_rows_of_the_table() -> None:
    """The check is an outside one: no row repeats a number that the table takes from the same address."""
    reference = default_reference()
    addresses = {source.key: source.url for source in reference.sources if source.url.count("/") > 2}
    for row in measured():
        same = {key for key, url in addresses.items() if url in row["source"]}
        for statement in reference.statements:
            if statement.source in same and statement.resin == row["resin"] and statement.typical is not None:
                figures = {row["density_g_cm3"], row["melting_degC"], row["softening_degC"], row["modulus_MPa"]}
                assert statement.typical not in {float(figure) for figure in figures if figure}, row


@dataclass
class Score:
    """Places of the truth, what was said of it, and of the leader."""

    first: list[bool] = field(default_factory=list)
    three: list[bool] = field(default_factory=list)
    loss: list[float] = field(default_factory=list)
    said: list[float] = field(default_factory=list)

    def add(self, ranking: list[str], probability: Array, truth: str) -> None:
        self.first.append(ranking[0] == truth)
        self.three.append(truth in ranking[:3])
        self.loss.append(-math.log(max(float(probability[ranking.index(truth)]), 1e-300)))
        self.said.append(float(probability[0]))

    def line(self) -> str:
        if not self.first:
            return f"{'-':>22}"
        loss = f"{np.mean(self.loss):6.2f}" if math.isfinite(self.loss[0]) else f"{'-':>6}"
        return f"{np.mean(self.first):8.0%}{np.mean(self.three):8.0%}{loss}"

    def error(self) -> str:
        if not math.isfinite(self.said[0]):
            return f"{'-':>8}"
        return f"{calibration_error(np.array(self.said), np.array(self.first, dtype=np.float64)):8.2f}"


@pytest.mark.slow
def test_engine_and_baselines_on_published_pieces(capsys: pytest.CaptureFixture[str]) -> None:
    """On published pieces the engine's log loss and hits are no worse than either baseline's.

    Float tests reach only the engine: the two baselines take numbers, so rows with
    floats alone are scored by the prior, or for the nearest range in the order of the
    table. Where a baseline is much better, the row is printed with the engine's
    leaders. They are grades that the table lists with little weight or not at all
    (flame-retarded PC+ABS and PBT, PBT with PTFE, PPS with 45 % glass, a foam of 0.31
    g/cm3), over which the baseline's one wide normal happens to reach, and an ABS
    published as lighter than water. With three tests or more the baseline is one piece
    of 26 ahead in first places (the flame-retarded PC+ABS), and behind in log loss.
    """
    methods: dict[str, Ranker] = {
        "engine, uniform prior": engine("uniform"),
        OURS: engine("default"),
        "GaussianNB, uniform": naive_bayes("uniform"),
        RIVAL: naive_bayes("default"),
        "nearest range middle": nearest_middle,
    }
    scores = {(name, group): Score() for name in methods for group in GROUPS}
    lost: list[str] = []
    for row in measured():
        group = GROUPS[min(len(observed(row)), 3) - 1]
        said = {name: rank(row) for name, rank in methods.items()}
        for name, (ranking, probability) in said.items():
            if name != "nearest range middle":
                assert math.isclose(float(probability.sum()), 1.0, abs_tol=1e-9), row
                assert np.isfinite(probability).all(), row
            for each in (group, "all"):
                scores[name, each].add(ranking, probability, row["resin"])
        behind = scores[OURS, "all"].loss[-1] - scores[RIVAL, "all"].loss[-1]
        if behind > PUZZLING:
            leaders = ", ".join(f"{r} {p:.2f}" for r, p in zip(*said[OURS], strict=True) if p > 0.1)
            lost.append(f"  {behind:5.1f} {row['resin']:7}{row['name']} ({group} tests): {leaders}")
    counts = {group: len(scores[OURS, group].first) for group in GROUPS}
    lines = [f"{'tests':24}" + "".join(f"{f'{group} (n={counts[group]})':>22}" for group in GROUPS)]
    lines.append(f"{'':24}" + f"{'top-1':>8}{'top-3':>8}{'loss':>6}" * len(GROUPS) + f"{'ECE':>8}")
    lines += [
        f"{name:24}" + "".join(scores[name, group].line() for group in GROUPS) + scores[name, "all"].error()
        for name in methods
    ]
    with capsys.disabled():
        print("\n" + "\n".join(lines))
        print(f"log loss more than {PUZZLING:g} nat behind {RIVAL}:\n" + "\n".join(lost))
    assert counts["all"] == len(measured())
    for prior in ("uniform", "default"):
        ours = scores[f"engine, {prior}{' prior'}", "all"]
        bayes, nearest = scores[f"GaussianNB, {prior}", "all"], scores["nearest range middle", "all"]
        assert np.mean(ours.loss) < np.mean(bayes.loss)
        for other in (bayes, nearest):
            assert np.mean(ours.first) >= np.mean(other.first)
            assert np.mean(ours.three) >= np.mean(other.three)
