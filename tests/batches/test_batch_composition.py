"""What a bag consists of: against sums over all assignments, Beta distributions and binomial limits."""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest
from bags import FLOATS, SINKS, bag
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from resinid import Batch, RangeError, batch_composition, identify
from resinid.batches.bag_posterior import CONCENTRATION, posterior_of
from resinid.batches.contaminants import further_clean, number_of_contaminants, upper_limit
from resinid.batches.counts import counts_of, enumerated, sampled
from resinid.batches.item_evidence import ItemGroup
from resinid.batches.mixing_rules import mixing_rules
from resinid.reference.table import default_reference

TABLE = default_reference()


def groups(*rows: tuple[list[float], int]) -> list[ItemGroup]:
    return [ItemGroup(np.array(likelihood) / max(likelihood), math.log(max(likelihood)), n) for likelihood, n in rows]


def by_hand(made: list[ItemGroup], alpha: np.ndarray) -> tuple[np.ndarray, float]:
    """Expected shares and evidence by the plain sum over every assignment of resins to items."""
    items = [(g.likelihood * math.exp(g.scale)) for g in made for _ in range(g.count)]
    total = alpha.sum()
    evidence, mean = 0.0, np.zeros_like(alpha)
    for assignment in itertools.product(range(alpha.size), repeat=len(items)):
        n = np.bincount(assignment, minlength=alpha.size)
        # Dirichlet-multinomial, by its gamma functions.
        log = math.lgamma(total) - math.lgamma(total + len(items))
        log += sum(math.lgamma(a + k) - math.lgamma(a) for a, k in zip(alpha, n, strict=True))
        weight = math.exp(log) * math.prod(item[k] for item, k in zip(items, assignment, strict=True))
        evidence += weight
        mean += weight * (alpha + n) / (total + len(items))
    return mean / evidence, evidence


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(st.lists(st.floats(0.001, 1.0), min_size=3, max_size=3), st.integers(1, 2)), min_size=1, max_size=3
    ),
    st.lists(st.floats(0.01, 2.0), min_size=3, max_size=3),
)
def test_enumeration_is_the_sum_over_all_assignments(rows: list[tuple[list[float], int]], weights: list[float]) -> None:
    """Merging equal counts changes nothing: expected shares and evidence are those of the plain sum."""
    made, alpha = groups(*rows), np.array(weights)
    found = enumerated(made, alpha)
    assert found is not None
    mean, evidence = by_hand(made, alpha)
    expected = (alpha + found.weights @ found.counts) / (alpha.sum() + found.items)
    assert expected == pytest.approx(mean, rel=1e-6)
    assert math.exp(found.log_evidence) == pytest.approx(evidence, rel=1e-6)


def test_sampler_agrees_with_enumeration() -> None:
    """The sampler reproduces the exact answer within its own error (4000 draws)."""
    rng = np.random.default_rng(5)
    made = groups(*[(rng.random(4).tolist(), 1) for _ in range(12)], ([0.9, 0.3, 0.3, 0.1], 8))
    alpha = np.array([0.1, 0.05, 0.05, 0.05])
    exact, drawn = enumerated(made, alpha, most=100_000), sampled(made, alpha, stream=1)
    assert exact is not None
    mean = (alpha + exact.weights @ exact.counts) / (alpha.sum() + exact.items)
    other = (alpha + drawn.weights @ drawn.counts) / (alpha.sum() + drawn.items)
    assert other == pytest.approx(mean, abs=0.03)
    assert drawn.log_evidence == pytest.approx(exact.log_evidence, abs=0.15)
    again = sampled(made, alpha, stream=1)
    assert np.array_equal(again.counts, drawn.counts)


def test_certain_items_give_the_beta_distribution() -> None:
    """With certain labels a resin's share is Beta(alpha + x, A - alpha + n - x) (scipy.stats)."""
    certain = groups(([1.0, 0.0, 0.0], 7), ([0.0, 1.0, 0.0], 2))
    alpha = np.array([0.3, 0.2, 0.5])
    found = counts_of(certain, alpha, 0)
    assert found.exact
    assert found.counts.tolist() == [[7.0, 2.0, 0.0]]
    from resinid.batches.bag_posterior import BagPosterior

    posterior = BagPosterior(alpha, found, tuple(certain))
    law = stats.beta(7.3, 2.7)
    for level in (0.025, 0.5, 0.975):
        assert posterior.quantile(0, level) == pytest.approx(law.ppf(level), abs=1e-9)
    draws = posterior.draws(4000, 3)
    assert draws.sum(axis=1) == pytest.approx(np.ones(4000))
    assert float(draws[:, 0].mean()) == pytest.approx(law.mean(), abs=0.01)
    assert float(draws[:, 0].std()) == pytest.approx(law.std(), abs=0.01)


@pytest.mark.parametrize("items", [1, 5, 30, 300])
@pytest.mark.parametrize("contaminants", [0, 1, 3])
def test_limits_are_the_exact_binomial_ones(items: int, contaminants: int) -> None:
    """With certain labels the upper limit is Clopper and Pearson's, by scipy.stats.binomtest."""
    if contaminants > items:
        return
    rows = [([1.0, 0.0], items - contaminants), ([0.0, 1.0], contaminants)]
    made = groups(*[row for row in rows if row[1]])
    number = number_of_contaminants(made, np.array([0.0, 1.0]), np.array([1.0, 0.0]))
    exact = stats.binomtest(contaminants, items).proportion_ci(confidence_level=0.90, method="exact").high
    assert upper_limit(number) == pytest.approx(exact, abs=1e-9)


@pytest.mark.parametrize("wanted", [0.05, 0.01, 0.003])
def test_further_clean_samples(wanted: float) -> None:
    """Exactly so many clean samples as the binomial law asks: the least n with (1 - wanted)**n <= 0.05."""
    nothing = np.ones(1)
    n = further_clean(nothing, wanted)
    assert n == math.ceil(math.log(0.05) / math.log(1.0 - wanted))
    one_found = np.array([0.0, 1.0])
    assert (further_clean(one_found, wanted) or 0) > n
    assert further_clean(np.array([1.0, 0.0]), 0.96) == 0


def test_nothing_seen_limits_nothing() -> None:
    """Silence is never permission: without samples, or with ones that tell nothing, the limit stays high."""
    assert batch_composition(Batch.of("empty")).contaminants[0].limit == 1.0
    blind = groups(([1.0, 1.0], 50))
    number = number_of_contaminants(blind, np.array([0.0, 1.0]), np.array([1.0, 0.0]))
    assert number == pytest.approx(np.full(51, 1 / 51))
    assert upper_limit(number) > 0.9


@settings(max_examples=30, deadline=None)
@given(st.floats(1e-6, 1.0), st.floats(1e-6, 1.0), st.integers(1, 60))
def test_vaguer_items_never_lower_a_limit(sharp: float, vague: float, items: int) -> None:
    """The less the clean items speak against the contaminant, the higher its limit."""
    low, high = sorted((sharp, vague))
    weights = (np.array([0.0, 1.0]), np.array([1.0, 0.0]))
    first, second = (upper_limit(number_of_contaminants(groups(([1.0, d], items)), *weights)) for d in (low, high))
    assert first <= second + 1e-9


def test_a_bag_is_not_the_average_of_its_pieces() -> None:
    """Pieces of one bag inform each other: alike vague pieces make its kinds surer than each is alone."""
    piece = [FLOATS, {"test": "float", "liquid": "ethanol 40 %v/v", "outcome": "sinks"}]
    alone = identify(piece)["PE-HD"]
    together = batch_composition(Batch.of("bag", pieces=[piece] * 8))
    assert together["PE-HD"].mean > alone + 0.1


def test_flakes_are_binomial_in_the_model_s_chances() -> None:
    """Counts of flakes give the likelihood p**floated (1 - p)**sank with each resin's chance from the model."""
    rules = mixing_rules(TABLE)
    found = posterior_of(Batch.of("f", flakes=[{"liquid": "water", "floated": 3, "sank": 2}]), TABLE)
    floats, sinks = found.groups
    p = np.exp(np.log(floats.likelihood) + floats.scale)
    assert (p + np.exp(np.log(sinks.likelihood) + sinks.scale)) == pytest.approx(np.ones_like(p), abs=0.02)
    assert p[rules.index("PE-HD")] > 0.9
    assert p[rules.index("PET")] < 0.1
    assert (floats.count, sinks.count) == (3, 2)


def test_two_kinds_in_one_bag_are_seen() -> None:
    """130 flakes of 200 that float tell of a mixed bag: the main share is near 0.65 (binomial: 0.58 to 0.72)."""
    rng = Batch.of("mix", marked={"PE-HD": 65, "PET": 35}, flakes=[{"liquid": "water", "floated": 130, "sank": 70}])
    found = batch_composition(rng)
    assert found.main.resin == "PE-HD"
    assert found.main.low < 0.65 < found.main.high
    assert 0.55 < found.main.low < found.main.high < 0.75


def test_main_share_and_contaminants_of_a_bag() -> None:
    found = batch_composition(bag("caps", PE_HD=20, PVC_U=1))
    assert found.main.resin == "PE-HD"
    assert 0.75 < found.main.low < found.main.mean < found.main.high < 1.0
    assert found["PVC-U"].mean == pytest.approx(
        (1 + CONCENTRATION * found["PVC-U"].before) / (21 + CONCENTRATION), abs=0.01
    )
    every = found.contaminants[0]
    assert every.resin == "any dangerous resin"
    assert every.limit >= max(s.mean for s in found.contaminants[1:])
    assert math.fsum(share.mean for share in found.shares) == pytest.approx(1.0)


@pytest.mark.parametrize("entries", [{"concentration": 0.0}, {"wanted": 0.0}, {"level": 1.0}])
def test_numbers_out_of_range_are_refused(entries: dict[str, float]) -> None:
    with pytest.raises(RangeError):
        batch_composition(bag("caps", PE_HD=2), **entries)  # type: ignore[arg-type]  # because the keys vary


def test_sinking_pieces_are_counted() -> None:
    found = batch_composition(Batch.of("bag", pieces=[[SINKS], [FLOATS], []]))
    assert found.items == 2
