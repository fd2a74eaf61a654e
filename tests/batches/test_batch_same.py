"""Whether two batches are the same, against Bayes factors worked out by hand."""

from __future__ import annotations

import math

import numpy as np
import pytest
from bags import SETTINGS, bag, bags
from hypothesis import given
from scipy import stats

from resinid import Batch, same_resin
from resinid.batches.bag_posterior import CONCENTRATION, MAIN
from resinid.batches.melt_flow import flow_of
from resinid.reference.table import default_reference
from resinid.scoring.prior import prior_of

TABLE = default_reference()


def moments() -> tuple[float, float]:
    """First two moments of the strangers' share, Beta(CONCENTRATION, MAIN), by scipy.stats."""
    law = stats.beta(CONCENTRATION, MAIN)
    return float(law.mean()), float(law.moment(2))


@pytest.mark.parametrize("resin", ["PVC-U", "POM"])
def test_two_certain_pieces(resin: str) -> None:
    """One certain piece each (a warning mark is believed) of a resin of share m, strangers' share e on average.

    P(both | one stock) is the mean of m (1 - e + e m)^2 + (1 - m) (e m)^2.
    """
    m = float(prior_of(TABLE)[TABLE.symbols.index(resin)])
    e, e2 = moments()
    both = m * (1 - 2 * e * (1 - m) + e2 * (1 - m) ** 2) + (1 - m) * e2 * m**2
    found = same_resin(Batch.of("a", marked={resin: 1}), Batch.of("b", marked={resin: 1}))
    assert found.exact
    assert found.bayes_factor_resin == pytest.approx(both / m**2, rel=1e-3)


def test_two_different_certain_pieces() -> None:
    """P(both | one stock), of shares m and n, is the mean of m n (2 e (1 - e) + e^2): one or both are strangers."""
    e, e2 = moments()
    found = same_resin(Batch.of("a", marked={"PVC-U": 1}), Batch.of("b", marked={"POM": 1}))
    assert found.bayes_factor_resin == pytest.approx(2 * e - e2, rel=1e-2)


@pytest.mark.parametrize("rates", [(8.0, 8.0), (8.0, 0.35), (8.0, 12.0)])
def test_measured_flow_is_a_bivariate_normal(rates: tuple[float, float]) -> None:
    """The factor for one grade multiplies that for one resin by the density ratio of scipy.stats."""
    one, other = (
        Batch.of(name, marked={"PE-HD": 30}, mfr=f"{rate} ± {0.1 * rate} g/(10 min)")
        for name, rate in zip("ab", rates, strict=True)
    )
    goods = flow_of(Batch.of("any"), "PE-HD", TABLE)
    assert goods is not None
    x = np.log(rates)
    shared, noise = goods.sd**2, 0.1**2
    together = stats.multivariate_normal([goods.mean] * 2, [[shared + noise, shared], [shared, shared + noise]]).pdf(x)
    apart = stats.norm(goods.mean, math.sqrt(shared + noise)).pdf(x).prod()
    found = same_resin(one, other)
    assert found.basis == ("melt flow rate",)
    assert math.exp(found.log_bayes_factor_grade - found.log_bayes_factor_resin) == pytest.approx(
        together / apart, rel=1e-6
    )


def test_alike_speaks_for_and_unlike_against() -> None:
    caps, lids = bag("caps", "injection moulding", PE_HD=20), bag("lids", "injection moulding", PE_HD=20)
    bottles, pots = bag("bottles", "blow moulding", PE_HD=20), bag("pots", PS=20)
    assert same_resin(caps, lids).bayes_factor_resin > 10
    assert same_resin(caps, lids).bayes_factor_grade > same_resin(caps, lids).bayes_factor_resin
    assert same_resin(caps, bottles).bayes_factor_grade < 0.5 * same_resin(caps, bottles).bayes_factor_resin
    assert same_resin(caps, pots).bayes_factor_resin < 0.01
    assert same_resin(caps, pots).same_main_probability < 0.01


def test_nothing_seen_says_nothing() -> None:
    found = same_resin(Batch.of("a"), bag("b", PP=5))
    assert found.bayes_factor_resin == pytest.approx(1.0, rel=1e-6)
    assert found.bayes_factor_grade == pytest.approx(1.0, rel=1e-6)


@pytest.mark.slow
@SETTINGS
@given(bags("first"), bags("second"))
def test_symmetric(first: Batch, second: Batch) -> None:
    """Which batch is named first does not matter, and the factors are finite."""
    one, other = same_resin(first, second), same_resin(second, first)
    assert (one.log_bayes_factor_resin, one.log_bayes_factor_grade) == (
        other.log_bayes_factor_resin,
        other.log_bayes_factor_grade,
    )
    assert math.isfinite(one.bayes_factor_resin)
    assert math.isfinite(one.bayes_factor_grade)
