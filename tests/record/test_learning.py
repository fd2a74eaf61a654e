"""What a record teaches: sharper names in shops of three kinds, little harm by false history, no change of hazard."""

from __future__ import annotations

import math
import os
import statistics
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats
from shops import SHOPS, entries_of, falsely, shop_of

from resinid import Record, default_reference, identify, next_tests
from resinid.identification.score import model_of
from resinid.record.entry import Entry, Outcome
from resinid.record.learn import ENOUGH, WRONG, LearnedPrior, learned_prior
from resinid.scoring.prior import prior_of

if TYPE_CHECKING:
    from pathlib import Path

    from shops import Shop

    from resinid.arrays import Array

NAMES: Final = model_of(default_reference()).candidates
PUBLISHED: Final = prior_of(default_reference())
PIECES: Final = 200
ADVISED: Final = int(os.environ.get("RESINID_RECORD_PIECES", "8"))
"""Of so many pieces tests are advised; 8 tell little, 30 take two minutes each."""

SURE: Final = 0.9
EVERY: Final = 10
"""After so many pieces the prior is learned again."""

SEEN: Final = (
    {"test": "float", "liquid": "water", "outcome": "floats"},
    {"test": "float", "liquid": "ethanol 40 %v/v", "outcome": "sinks"},
    {"test": "hot_plate", "not_melted_at": "120 degC", "melted_at": "140 degC"},
)


def confirmed(resins: list[str], article: str = "", source: str = "") -> list[Entry]:
    return [Entry(n, "piece", "", article, source, outcomes=(Outcome("", each),)) for n, each in enumerate(resins)]


def test_without_doubt_it_is_the_mean_of_a_dirichlet() -> None:
    """Law: where no confirmation is wrong, shares are those of scipy's Dirichlet after its counts."""
    counts = {"PP": 12, "PE-HD": 30, "PVC-U": 1}
    found = learned_prior(confirmed([name for name, n in counts.items() for _ in range(n)]), wrong=0.0, weight=25.0)
    expected = stats.dirichlet.mean(25.0 * PUBLISHED + np.array([counts.get(name, 0) for name in NAMES]))
    np.testing.assert_allclose([found.shares[name] for name in NAMES], expected, rtol=1e-12)
    assert found.confirmed == 43
    assert "43 confirmed pieces" in found.describe()
    assert "weighs as 25." in found.describe()


def test_articles_and_sources_have_priors_of_their_own_where_there_are_enough() -> None:
    few, many = confirmed(["PVC-U"] * (ENOUGH - 1), source="mill"), confirmed(["PET"] * ENOUGH, source="market")
    entries = [*few, *many, *confirmed(["PP"] * 40, article="tub")]
    assert learned_prior(entries, source="mill").of == ""
    market, tub = learned_prior(entries, source="Market"), learned_prior(entries, source="market", article="tub")
    assert (market.of, market.confirmed, tub.of) == ("Market", ENOUGH, "tub")
    assert market.shares["PET"] > learned_prior(entries).shares["PET"] > PUBLISHED[NAMES.index("PET")]
    assert tub.shares["PP"] > learned_prior(entries).shares["PP"]


@settings(max_examples=15, deadline=None)
@given(
    resins=st.lists(st.sampled_from(NAMES), max_size=60),
    seen=st.lists(st.sampled_from(SEEN), min_size=1, max_size=3),
)
def test_no_history_changes_the_verdict_on_heating(resins: list[str], seen: list[dict[str, str]]) -> None:
    """Law: whatever was confirmed, rightly or not, hazard and verdict are those of the published prior."""
    learned = learned_prior(confirmed(resins))
    assert math.isclose(sum(learned.shares.values()), 1.0)
    assert min(learned.shares.values()) > 0
    assert learned.judged(identify(seen, prior=learned.shares)).heat == identify(seen).heat


def test_what_was_learned_is_not_learned_again(tmp_path: Path) -> None:
    """Law: the same pieces teach the same, whether their answers were worked out before or after learning."""
    pieces = [SEEN[:2]] * 4
    with Record(tmp_path / "a.sqlite") as one, Record(tmp_path / "b.sqlite") as other:
        for seen in pieces:
            one.identify(seen, prior="default")
            other.identify(seen, prior={"PP": 9, "PE-HD": 1, "PS": 1})
        for number in range(1, 5):
            one.confirm(number, "PE-HD")
            other.confirm(number, "PE-HD")
        first, second = one.prior(), other.prior()
    common = [name for name in NAMES if first.shares[name] > 1e-6]
    np.testing.assert_allclose([second.shares[n] for n in common], [first.shares[n] for n in common], rtol=1e-6)


def test_what_was_learned_of_is_shown_with_the_verdict_that_was_given(tmp_path: Path) -> None:
    """A shop full of PVC would make a rigid, dense piece likelier PVC than not: its verdict stays "not yet"."""
    seen = [{"test": "density", "density": "1.39 ± 0.02 g/cm3"}, {"test": "feel", "outcome": "rigid"}]
    with Record(tmp_path / "shop.sqlite") as record:
        for number in range(1, 31):
            record.identify(seen, piece=f"pipe {number}")
            record.confirm(number, "PVC-U", "copper wire")
        answer = record.identify(seen, piece="sheet")
        shares = record.prior().shares
        assert answer.heat == identify(seen).heat
        assert identify(seen, prior=shares).heat.verdict != answer.heat.verdict
        assert record.result(31) == answer
        # A ranking that was changed in the file is found, whatever the verdict.
        told = answer.to_dict() | {"learned": True}
        first, second, *rest = told["ranking"]
        told["ranking"] = [{**first, "probability": first["probability"] - 1e-6},
                           {**second, "probability": second["probability"] + 1e-6}, *rest]  # fmt: skip
        changed = record.add("piece", "changed", {}, told, digest=answer.reference_digest)
        assert "history" in record.result(changed).heat.reasons[0]


def log_losses(
    shop: Shop, history: list[str] | None, weight: float | None = None, wrong: float = WRONG
) -> tuple[Array, Array]:
    """Return each piece's log loss after all tests, and after how many of them it had a name, by what came before."""
    entries = None if history is None else entries_of(shop, history)
    losses, tests = np.empty(PIECES), np.full(PIECES, float(len(shop.logs) + 1))
    for first in range(0, PIECES, EVERY):
        learned = None if entries is None else learned_prior(entries[:first], weight=weight, wrong=wrong).shares
        prior = PUBLISHED if learned is None else np.array([learned[name] for name in NAMES])
        for piece in range(first, first + EVERY):
            for count, logs in enumerate(shop.logs, start=1):
                chance = prior * np.exp(logs[piece] - logs[piece].max())
                chance /= chance.sum()
                if chance.max() >= SURE:
                    tests[piece] = min(tests[piece], count)
            losses[piece] = -math.log(max(chance[NAMES.index(shop.resins[piece])], 1e-12))
    return losses, tests


@pytest.mark.slow
def test_learning_sharpens_names_and_false_history_does_little_harm() -> None:
    """Log loss of 200 pieces, each by the prior of those before it; and after how many cold tests one has 90 %."""
    print("\nlog loss [nat], tests to a name (9: none of 8 gave one)")
    for name in SHOPS:
        shop = shop_of(name, PIECES)
        plain, plain_tests = log_losses(shop, None)
        true, tests = log_losses(shop, list(shop.resins))
        false, false_tests = log_losses(shop, falsely(shop.resins, 0.1))
        worst, _ = log_losses(shop, falsely(shop.resins, 0.1), wrong=1e-9)
        for said, loss, count in (
            ("published", plain, plain_tests), ("learned", true, tests), ("one in ten wrong", false, false_tests),
        ):  # fmt: skip
            print(f"  {name:14} {said:17} {loss.mean():.3f}   {count.mean():.2f}")
        print(f"  {name:14} one in ten wrong, taken for right: {worst.mean():.3f}")
        by_weight = {w: log_losses(shop, list(shop.resins), weight=w)[0].mean() for w in (3, 10, 30, 100, 1000)}
        print(f"  {name:14} by weight: " + ", ".join(f"{w}: {loss:.3f}" for w, loss in by_weight.items()))
        assert true.mean() < plain.mean() + (0.01 if name == "household" else -0.1)
        assert false.mean() - true.mean() < 0.1 * max(plain.mean() - true.mean(), 0.3)
        assert tests.mean() <= plain_tests.mean() + 0.1


def advised(piece: int, shop: Shop, prior: LearnedPrior | None, question: str) -> int:
    """Return after how many advised tests a piece has a name or leave; seven where six bring none."""
    bench = shop.benches[piece]
    bench.done.clear()
    for count in range(7):
        advice = next_tests(
            bench.done, question=question, prior=prior.shares if prior else "default",
            bench="table salt, ethanol 96 %v/v, scale 0.01 g, sinker, strip, hot plate 280 degC",
            without=("mark", "article", "process"), allow=["flammable bath"],
        )  # fmt: skip
        done = prior.judged(advice.result) if prior else advice.result
        if (done.heat.allowed if question == "heat" else done.probability[0] >= SURE) or not advice.suggestions:
            return count
        bench.follow(advice.suggestions[0].plan)
    return 7


@pytest.mark.slow
@pytest.mark.parametrize("question", ["resin", "heat"])
def test_learning_saves_advised_tests(question: str) -> None:
    """Tests to a name, or to leave, of the last of 200 pieces, each test the one advised, by what came before."""
    print(f"\nadvised tests to {'leave' if question == 'heat' else 'a name'}, published and learned (7: none of 6 did)")
    saved = []
    for name in SHOPS:
        shop = shop_of(name, PIECES)
        learned = learned_prior(entries_of(shop, list(shop.resins))[: PIECES - ADVISED])
        counts = [
            (advised(piece, shop, None, question), advised(piece, shop, learned, question))
            for piece in range(PIECES - ADVISED, PIECES)
        ]
        plain, taught = (statistics.mean(each) for each in zip(*counts, strict=True))
        print(f"  {name:14} {plain:.2f} {taught:.2f}")
        saved.append(plain - taught)
    # Leave learns nothing, so only the order of tests may save or cost some.
    assert sum(saved) > (3.0 if question == "resin" else -1.0)
