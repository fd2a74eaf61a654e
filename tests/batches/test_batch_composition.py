"""What a bag consists of: against sums over all assignments, Beta distributions and binomial limits."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from bags import FLOATS, SINKS, bag
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import integrate, stats

from resinid import Batch, RangeError, batch_composition, identify
from resinid.batches.bag_posterior import CONCENTRATION, MAIN, evidence_of, posterior_of
from resinid.batches.composition import ANY_DANGEROUS
from resinid.batches.contaminants import further_clean, number_of_contaminants, upper_limit
from resinid.batches.item_evidence import ItemGroup, groups_of
from resinid.batches.mixing_rules import mixing_rules
from resinid.reference.table import default_reference
from resinid.scoring.prior import prior_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

TABLE = default_reference()


def groups(*rows: tuple[list[float], int]) -> list[ItemGroup]:
    made = []
    for likelihood, n in rows:
        each = np.array(likelihood) / max(likelihood)
        made.append(ItemGroup("item", n, math.log(max(likelihood)), each, each, each))
    return made


def by_hand(made: list[ItemGroup], prior: NDArray[np.float64]) -> float:
    """Evidence by adaptive quadrature over the strangers' share of each main kind (scipy.integrate, scipy.stats)."""
    law = stats.beta(CONCENTRATION, MAIN)
    own = [group.kinds * math.exp(group.scale) for group in made]
    out = 0.0
    for kind in np.flatnonzero(prior > 1e-12):

        def product(u: float, kind: int = int(kind)) -> float:
            e = u * u  # takes away the root in the density at zero
            terms = [((1 - e) * x[kind] + e * float(x @ prior)) ** g.count for g, x in zip(made, own, strict=True)]
            return float(math.prod(terms) * law.pdf(e) * 2 * u)

        out += prior[kind] * integrate.quad(product, 0.0, 1.0, epsabs=0.0, epsrel=1e-9, limit=400)[0]
    return float(out)


@pytest.mark.parametrize("counts", [(1, 1), (12, 3), (40, 2)])
def test_evidence_is_the_integral_over_the_strangers_share(counts: tuple[int, int]) -> None:
    """Marks of two resins: the nodes' sum against adaptive quadrature, for few items and for many."""
    rules = mixing_rules(TABLE)
    batch = Batch.of("b", marked={"PE-HD": counts[0], "PP": counts[1]})
    made = groups_of(batch, rules.model, rules.barred)
    (found,) = evidence_of(made, rules, [prior_of(TABLE)])
    prior = prior_of(TABLE)[rules.model.kind_owner] * rules.model.kind_gathering.sum(axis=0)
    expected = by_hand(list(made), prior)
    assert math.exp(found.log_evidence) == pytest.approx(expected, rel=1e-6)


def test_certain_items_give_the_beta_distribution() -> None:
    """With certain labels a resin's share is Beta(MAIN + concentration m + x, concentration (1 - m)) (scipy.stats)."""
    found = posterior_of(Batch.of("b", marked={"PVC-U": 40}), TABLE)
    k = mixing_rules(TABLE).index("PVC-U")
    m = prior_of(TABLE)[k]
    law = stats.beta(MAIN + CONCENTRATION * m + 40, CONCENTRATION * (1 - m))
    for level in (0.025, 0.5, 0.975):
        assert found.quantiles(level)[k] == pytest.approx(law.ppf(level), abs=1e-4)
    draws = found.draws(4000, 3)
    assert draws.sum(axis=1) == pytest.approx(np.ones(4000))
    assert float(draws[:, k].mean()) == pytest.approx(law.mean(), abs=0.01)
    assert float(draws[:, k].std()) == pytest.approx(law.std(), abs=0.01)


def test_a_bag_of_one_is_its_piece() -> None:
    """What one item is by the whole bag is what it is by itself, to rounding."""
    piece = [
        FLOATS,
        {"test": "float", "liquid": "ethanol 40 %v/v", "outcome": "sinks"},
        {"test": "snap", "outcome": "creases"},
    ]
    found = posterior_of(Batch.of("bag", pieces=[piece]), TABLE)
    alone = identify(piece)
    (chances,) = found.items
    by_resin = np.bincount(found.owner, weights=chances)
    for place, name in enumerate(mixing_rules(TABLE).model.candidates):
        assert by_resin[place] == pytest.approx(alone[name], abs=1e-6)


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
    p = floats.resins * math.exp(floats.scale)
    assert p + sinks.resins * math.exp(sinks.scale) == pytest.approx(np.ones_like(p), abs=0.02)
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
        (1 + CONCENTRATION * found["PVC-U"].before) / (21 + MAIN + CONCENTRATION), abs=0.01
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


def test_all_dangers_together_have_no_lower_limit_than_one_of_them() -> None:
    """Tubs that float in alcohol hardly tell polypropylene from foamed polyurethane, but well from the rest."""
    light = [{"test": "float", "liquid": liquid, "outcome": "floats"} for liquid in ("water", "ethanol 40 %v/v")]
    every, *parts = batch_composition(Batch.of("tubs", marked={"PP": 30}, pieces=[light] * 40)).contaminants
    assert every.resin == ANY_DANGEROUS
    assert every.limit >= max(part.limit for part in parts)
    assert every.further is None or all((part.further or 0) <= every.further for part in parts)
