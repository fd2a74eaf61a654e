"""What further readings do to leave: the same again, true ones besides, and looking until it suits; and calibration.

Pieces come from specimens.py, readings from leave_bench.py; RESINID_LEAVE_PIECES=2000 takes ten times as many.
"""

from __future__ import annotations

import os
from collections import Counter
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from absent import absent, absent_piece
from leave import DECLINED, HAVE, LEAVE, verdict_of, verdicts_of
from leave_bench import Bench, frame_of, observations_of
from scores import calibration_error, chance_error
from specimens import KINDS, Kind, draw

from resinid import default_reference, identify, identify_table, next_tests
from resinid.heating.temperatures import barred_resins
from resinid.identification.score import model_of, prior_for

if TYPE_CHECKING:
    from numpy.typing import NDArray

    Array = NDArray[np.float64]

PIECES: Final = int(os.environ.get("RESINID_LEAVE_PIECES", "200"))
ORDINARY: Final = tuple(kind for kind in KINDS.values() if kind.group == "ordinary")
FURTHER: Final = ("density", "float water", "float brine", "feel", "transparency", "spring_back", "plate", "melt_pull")
"""True readings that are added to what gave leave, one at a time."""

MOST_TURNED: Final = 0.01
"""Share of pieces with leave that may lose it by a true reading more."""

CALIBRATED: Final = 0.03
"""Expected calibration error allowed on household scrap."""

STOPPED: Final = 0.05
"""The same where a person looks again until it suits."""


def with_leave(pieces: int, rules: str = "engine") -> list[Bench]:
    """Return the benches of ordinary pieces that have leave after cold tests, or else after the plate."""
    benches = []
    for kind in ORDINARY:
        rng = np.random.default_rng([5, *kind.name.encode()])
        for index in range(pieces):
            bench = Bench(draw(rng, kind, rules))
            bench.cold()
            if index % 2:
                bench.hot()
            benches.append(bench)
    verdicts = verdicts_of([bench.done for bench in benches])
    return [bench for bench, verdict in zip(benches, verdicts, strict=True) if verdict == LEAVE]


@pytest.mark.slow
def test_the_same_again_seldom_turns_leave_into_refusal(capsys: pytest.CaptureFixture[str]) -> None:
    """A test repeated with the same outcome: what was taken for a slip is none when it is seen twice.

    Asked was that leave is never lost so. That holds of no coherent model: each loss found (7 in 2300) is of a
    reading that had spoken against the piece, and by little, when it was seen first.
    """
    benches = with_leave(max(PIECES // 8, 1))
    tried: Counter[str] = Counter()
    lost: Counter[str] = Counter()
    for place in range(max(len(bench.done) for bench in benches)):
        some = [bench for bench in benches if place < len(bench.done)]
        verdicts = verdicts_of([[*bench.done, bench.done[place]] for bench in some])
        for bench, verdict in zip(some, verdicts, strict=True):
            tried[bench.done[place]["test"]] += 1
            lost[bench.done[place]["test"]] += verdict != LEAVE
    share = lost.total() / tried.total()
    with capsys.disabled():
        print(f"\nleave lost when a test is repeated with the same outcome, {len(benches)} pieces: {share:.2%}")
        print("  " + ", ".join(f"{test} {lost[test]} of {count}" for test, count in tried.items()))
    assert share <= MOST_TURNED / 2


@pytest.mark.slow
def test_a_true_reading_more_seldom_turns_leave_into_refusal(capsys: pytest.CaptureFixture[str]) -> None:
    """By Bayes' rule it cannot be never: a true reading may be an odd one."""
    benches = with_leave(max(PIECES // 8, 1))
    lost = {}
    for slot in FURTHER:
        for bench in benches:
            bench.do(slot)
        verdicts = verdicts_of([bench.done for bench in benches])
        lost[slot] = float(np.mean([verdict != LEAVE for verdict in verdicts]))
        for bench in benches:
            bench.done.pop()
    mean = float(np.mean(list(lost.values())))
    with capsys.disabled():
        print(f"\nleave lost by a true reading more, {len(benches)} pieces with leave; {mean:.2%} on average")
        print("  " + ", ".join(f"{slot} {share:.1%}" for slot, share in lost.items()))
    assert mean <= MOST_TURNED


def workshop() -> tuple[list[Kind], Array]:
    """Return kinds of pieces and their shares in a workshop's scrap, by the default prior and the variants' weights."""
    model = model_of(default_reference())
    prior = prior_for(default_reference(), "default")
    kinds = [kind for kind in KINDS.values() if not kind.marks]
    weights = []
    for kind in kinds:
        candidate = model.candidates.index(kind.resin)
        own = [row for row, variant in enumerate(model.rows) if variant.name in kind.variants]
        weights.append(float(prior[candidate] * model.gathering[own, candidate].sum()))
    return kinds, np.array(weights) / sum(weights)


def household(pieces: int, stage: str, *, botched: bool) -> tuple[Array, Array]:
    """Return what is stated of each piece's leader, and whether it is right: a household's mix by its own rules.

    Every resin of the table has its share of the default prior, and all plastics that it lacks have together the
    share that is stated for "none of these". Variants are those of the table, fillers and flame retardants included.
    """
    rng = np.random.default_rng(17)
    reference = default_reference()
    model, prior = model_of(reference), prior_for(reference, "default")
    own = [tuple(row.name for row in model.rows if row.resin == resin) for resin in reference.symbols]
    kinds = [Kind(resin, resin, names, "") for resin, names in zip(reference.symbols, own, strict=True)]
    benches, truth = [], []
    for place in rng.choice(len(prior), size=pieces, p=prior):
        if place == len(kinds):
            piece = absent_piece(rng, absent()[rng.integers(len(absent()))])
        else:
            piece = draw(rng, kinds[place], "household")
        bench = Bench(piece, botched=botched)
        bench.cold()
        if stage == "hot":
            bench.hot()
        benches.append(bench)
        truth.append(model.candidates[place])
    frame = identify_table(frame_of([bench.done for bench in benches]), errors="raise")
    chance = frame[list(model.candidates)].to_numpy()
    said = np.array(model.candidates)[chance.argmax(axis=1)]
    return chance.max(axis=1), said == np.array(truth)


@pytest.mark.slow
def test_calibrated_on_household_scrap(capsys: pytest.CaptureFixture[str]) -> None:
    """Pieces of a household's mix, drawn by other rules than the engine's: neither over- nor under-confident."""
    missed = []
    for stage in ("cold", "hot"):
        for botched in (False, True):
            said, right = household(60 * PIECES, stage, botched=botched)
            found = calibration_error(said, right.astype(np.float64))
            chance = chance_error(said, np.random.default_rng(19))
            line = (
                f"household scrap after {stage} tests, {'botched as stated' if botched else 'clean'}, {said.size} "
                f"pieces: stated {said.mean():.3f}, right {right.mean():.3f}, calibration error {found:.3f} "
                f"(by chance alone {chance:.3f})"
            )
            with capsys.disabled():
                print(f"\n{line}")
            if found >= CALIBRATED:
                missed.append(line)
    assert not missed


@pytest.mark.slow
def test_looking_until_it_suits_keeps_the_stated_chances_true(capsys: pytest.CaptureFixture[str]) -> None:
    """Whoever follows the advice until leave is given finds no more hazard than was stated then.

    Pieces are drawn, and tests botched, as the engine assumes: only the choosing and stopping is tried.
    """
    reference = default_reference()
    rng = np.random.default_rng(23)
    barred = dict(zip(reference.symbols, barred_resins(reference).tolist(), strict=True))
    kinds, weights = workshop()
    said, right, hazards, wrong = [], [], [], []
    for place in rng.choice(len(kinds), size=PIECES, p=weights):
        bench = Bench(draw(rng, kinds[place], "strays"), botched=True, table=False)
        bench.cold()
        for _ in range(5):
            advice = next_tests(observations_of(bench.done), bench=HAVE, question="heat", without=DECLINED)
            if verdict_of(advice.result.heat) == LEAVE or not advice.suggestions:
                break
            bench.follow(advice.suggestions[0].plan)
        answer = identify(observations_of(bench.done))
        said.append(float(answer.probability[0]))
        right.append(float(answer.leader == kinds[place].resin))
        if answer.heat.allowed:
            hazards.append(answer.heat.hazard)
            wrong.append(bool(barred[kinds[place].resin]) or kinds[place].wrong)
    error = calibration_error(np.array(said), np.array(right))
    with capsys.disabled():
        print(
            f"\nlooking until it suits, {PIECES} pieces, tests botched at the stated rates: leader stated "
            f"{np.mean(said):.3f}, right {np.mean(right):.3f}, calibration error {error:.3f}; leave to {len(hazards)}, "
            f"hazard stated then {np.mean(hazards):.2%}, found {np.mean(wrong):.2%}"
        )
    assert sum(wrong) <= 1 + 3 * sum(hazards)
    assert error < STOPPED + chance_error(np.array(said), np.random.default_rng(29))
