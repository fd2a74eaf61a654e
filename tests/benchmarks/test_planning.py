"""Simulated bench sessions over the whole table: the planner against a fixed order and a random one; and its speed.

Pieces are drawn from the reference mixtures, every resin as often as another.
Outcomes are simulated from each test's own likelihoods at the piece's true
properties, outliers included; a bath's own error is drawn with it. Everyone has the
same bench and the same end: an answer at 90 %, or :data:`MOST` tests. Two rows also
heed the planner's own advice to stop short of that.
"""

from __future__ import annotations

import functools
import statistics
import timeit
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from strays import pieces

from resinid import Reagent, default_reference, identify, next_tests
from resinid.identification.score import model_of
from resinid.liquids.mixing import FLASH, mix
from resinid.methods.bench_parser import parse_bench
from resinid.methods.float_test.method import FloatTest
from resinid.methods.offered import kernel
from resinid.methods.registry import built_in
from resinid.methods.test_plan import TestPlan
from resinid.planning.candidates import candidate_tests
from resinid.planning.question import Question, question_of
from resinid.quantities import ASPECTS
from resinid.scoring.latents import AXES
from resinid.scoring.properties import observed, property_name

if TYPE_CHECKING:
    from collections.abc import Callable

    from resinid.methods.contract import Observation

KIT: Final = "table salt, ethanol 96 %v/v, scale 0.01 g, sinker, strip, hot plate 250 degC"
MOST: Final = 15
PIECES: Final = 20

FIXED: Final = (
    "float in water", "ethanol 0.94", "ethanol 0.91", "brine 1.20", "brine 1.07", "feel", "snap", "whitening",
    "weighing", "cantilever_bend", "hot_plate", "melt_flow", "melt_pull", "melt_onset", "melt_clarity",
)  # fmt: skip
"""The order of a handbook's flow chart (common practice, no source; Katz 1998 begins water, alcohol):
float tests from water outwards, then bending, then weighing, and the hot plate last."""


OTHERS: Final = tuple(
    test.test for method in built_in() for test in method.tests if property_name(test.observes) not in {*AXES, *ASPECTS}
)
"""Tests that no handbook's order here has; the planner does without them as well."""


@dataclass(frozen=True)
class Drawn:
    """A piece: its resin and its true properties."""

    resin: str
    properties: dict[str, float]


def draw(rng: np.random.Generator) -> Drawn:
    """Draw a resin, one of its variants, and each property from that variant's mixture."""
    reference = model_of(default_reference()).reference
    resin = reference.resins[rng.integers(len(reference.resins))].symbol
    rows = [index for index, variant in enumerate(reference.variants) if variant.resin == resin]
    weights = np.array([reference.variants[row].weight for row in rows])
    row = int(rng.choice(rows, p=weights / weights.sum()))
    return Drawn(resin, {name: _property(name, row, rng) for name in (*AXES, *ASPECTS)})


def _property(name: str, row: int, rng: np.random.Generator) -> float:
    model = model_of(default_reference())
    latent = observed(name).latent(model.reference)
    if name in AXES and latent.stated[row]:
        found = pieces(model.reference, model.reference.variants[row], name)
        if rng.random() < found.never:
            return float("inf")
        normals = found.normals
        weights = np.array([normal.weight for normal in normals])
        normal = normals[int(rng.choice(len(normals), p=weights / weights.sum()))]
        at = float(np.clip(rng.normal(normal.mean, normal.sd), AXES[name].low, AXES[name].high))
        return float(np.exp(at)) if AXES[name].logarithmic else at
    return float(latent.values[rng.choice(latent.values.size, p=latent.mass[row] / latent.mass[row].sum())])


def see(plan: TestPlan, piece: Drawn, rng: np.random.Generator) -> Observation:
    """Simulate the outcome of a test on a piece."""
    chance = kernel(plan, np.array([piece.properties[property_name(plan.observes)]]))[:, 0]
    return plan.outcomes[int(rng.choice(chance.size, p=chance / chance.sum()))]


def fixed_plans() -> dict[str, TestPlan]:
    """Return the plans that the fixed and the random order use, by the names in FIXED."""
    plans = {plan.key: plan for plan in candidate_tests(parse_bench(KIT), (), ()).plans}
    for name, density, source in (
        ("ethanol 0.94", 0.94, Reagent("ethanol", 96.0)),
        ("ethanol 0.91", 0.9105, Reagent("ethanol", 96.0)),
        ("brine 1.20", 1.20, Reagent("table salt")),
        ("brine 1.07", 1.07, Reagent("table salt")),
    ):
        bath = mix(density, 250.0, source, allow=(FLASH,)).liquid
        words = ("floats", "hovers", "sinks")
        plans[name] = TestPlan("float", name, tuple(FloatTest(bath, word) for word in words), 6.0, ("", ""))
    return {name: plans[name] for name in FIXED}


@dataclass(frozen=True)
class Session:
    tests: int
    minutes: float
    settled: bool
    right: bool


def run(choose: Callable[[list[Observation]], TestPlan | None], piece: Drawn, asked: Question, stream: int) -> Session:
    """Test a piece until an answer has 90 %, no test is left, or MOST are done."""
    rng = np.random.default_rng(stream)
    reference = default_reference()
    made: list[Observation] = []
    minutes = 0.0
    while True:
        answer = identify(made, prior="uniform")
        by_name = dict(zip(answer.resins, answer.probability, strict=True))
        order = np.array([by_name[name] for name in (*reference.symbols, "none of these")])
        chances = asked.gather(order)
        settled = bool(asked.settled(chances))
        plan = None if settled or len(made) == MOST else choose(made)
        if plan is None:
            break
        made.append(see(plan, piece, rng))
        minutes += plan.minutes
    true = int(asked.answer_of[reference.symbols.index(piece.resin)])
    return Session(len(made), minutes, settled, int(chances.argmax()) == true)


def planner(question: str, by: str, *, heed: bool) -> Callable[[list[Observation]], TestPlan | None]:
    """Return the choice of the planner, which may heed its own advice to stop or go on regardless."""

    def choose(made: list[Observation]) -> TestPlan | None:
        advice = next_tests(
            made, bench=KIT, question=question, by=by, prior="uniform", allow=["hot plate", FLASH], without=OTHERS
        )
        return None if advice.best is None or (heed and advice.stop) else advice.best.plan

    return choose


def in_order(names: list[str]) -> Callable[[list[Observation]], TestPlan | None]:
    plans = fixed_plans()
    return lambda made: plans[names[len(made)]] if len(made) < len(names) else None


@pytest.mark.slow
@pytest.mark.parametrize("question", ["resin", "melt group"])
def test_sessions(question: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The planner reaches 90 % in fewer tests than a handbook's order and than random order."""
    asked = question_of(default_reference(), question)
    rng = np.random.default_rng(20261125)
    pieces = [draw(rng) for _ in range(PIECES)]
    orders = [rng.permutation(FIXED).tolist() for _ in pieces]
    ways = {
        "next test, by bits": [planner(question, "bits", heed=False)] * PIECES,
        "the same, stopping when told": [planner(question, "bits", heed=True)] * PIECES,
        "by bits per minute, the same": [planner(question, "bits per minute", heed=True)] * PIECES,
        "handbook's order": [in_order(list(FIXED))] * PIECES,
        "random order": [in_order(order) for order in orders],
    }
    done = {
        name: [
            run(choose, piece, asked, stream) for stream, (choose, piece) in enumerate(zip(way, pieces, strict=True))
        ]
        for name, way in ways.items()
    }
    with capsys.disabled():
        print(f"\n{question}: {PIECES} pieces, 90 % or {MOST} tests (not settled counts as {MOST}):")
        print(f"  {'':30}{'tests':>7}{'done':>7}{'minutes':>9}{'settled':>9}{'right':>7}{'right of settled':>18}")
        for name, sessions in done.items():
            settled = [session for session in sessions if session.settled]
            right = statistics.mean(session.right for session in settled) if settled else float("nan")
            print(
                f"  {name:30}{mean_tests(sessions):7.2f}{statistics.mean(one.tests for one in sessions):7.2f}"
                f"{statistics.mean(session.minutes for session in sessions):9.1f}"
                f"{len(settled) / PIECES:9.0%}"
                f"{statistics.mean(session.right for session in sessions):7.0%}{right:18.0%}"
            )
    ours = mean_tests(done["next test, by bits"])
    assert ours < mean_tests(done["handbook's order"])
    assert ours < mean_tests(done["random order"])


def mean_tests(sessions: list[Session]) -> float:
    """Mean tests to 90 %; a session that does not get there counts as all that were allowed."""
    return statistics.mean(session.tests if session.settled else MOST for session in sessions)


@pytest.mark.slow
def test_how_long_advice_takes(capsys: pytest.CaptureFixture[str]) -> None:
    """Whole advice from observations to ranked tests, first and warm; nothing is asserted of speed."""
    made = [
        {"test": "float", "liquid": "water", "outcome": "sinks"},
        {"test": "float", "liquid": "table salt saturated", "outcome": "floats"},
        {"test": "feel", "outcome": "rigid"},
    ]
    candidate_tests.cache_clear()
    kits = {"default": None, "everything": f"{KIT}, CaCl2.2H2O, isopropanol 70 %v/v, cylinder 1 mL"}
    with capsys.disabled():
        print("\nwhole advice (first call with a bench, then the median of 15):")
        for name, bench in kits.items():
            advise = functools.partial(next_tests, made, bench=bench)
            first = timeit.timeit(advise, number=1)
            rest = timeit.repeat(advise, number=1, repeat=15)
            print(f"  {name:12} {1000 * first:6.0f} ms  {1000 * statistics.median(rest):6.1f} ms")
