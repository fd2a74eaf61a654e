"""Float, melt and flexibility tests, against worked values."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Any

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from scipy import stats
from strategies import SETTINGS, observations

from resinid import InputError, identify, identify_table, observe
from resinid.methods.flexibility.method import FEELS, NONRIGID, RIGID
from resinid.methods.float_test.method import OUTLIER_LIKELIHOODS


@pytest.mark.parametrize("liquid", ["water", "ethanol 40 %v/v", "table salt saturated"])
def test_float_outcomes_are_exhaustive(liquid: str) -> None:
    """At any density the chances of floating, hovering and sinking sum to one, with or without a shared error."""
    values = np.linspace(0.8, 1.4, 601)
    error = np.linspace(-3, 3, 7)[:, None]
    terms = [observe("float", liquid=liquid, outcome=word).term() for word in ("floats", "hovers", "sinks")]
    for given_error in (None, error):
        total = sum(term.likelihood(values, given_error) for term in terms)
        np.testing.assert_allclose(total, 1.0, atol=1e-12)
    assert math.fsum(term.outlier_likelihood for term in terms) == pytest.approx(1.0)


def test_bubbles_lift_more_than_anything_drags() -> None:
    """A botched float test shows floating far more often than sinking (common practice, no source)."""
    assert OUTLIER_LIKELIHOODS["floats"] > 5 * OUTLIER_LIKELIHOODS["sinks"]


def test_alone_is_the_shared_error_integrated_out() -> None:
    """A reading that stands alone has the likelihood of one whose shared error is integrated over a normal."""
    error = np.linspace(-8, 8, 3201)[:, None]
    weights = stats.norm.pdf(error) * (error[1] - error[0])
    cases = [
        (observe("float", liquid="ethanol 40 %v/v", outcome="floats"), np.linspace(0.93, 0.97, 41)),
        (observe("float", liquid="ethanol 40 %v/v", outcome="hovers"), np.linspace(0.93, 0.97, 41)),
        (observe("weighing", in_air="5.00 g", in_liquid="0.24 g", liquid="water"), np.linspace(1.03, 1.07, 41)),
        (observe("overflow", in_air="5.00 g", spilled="4.77 g", liquid="water"), np.linspace(1.0, 1.1, 41)),
        (observe("softening", temperature="130 degC"), np.linspace(110.0, 150.0, 41)),
        (observe("hot_plate", not_melted_at="150 degC", melted_at="170 degC"), np.linspace(130.0, 190.0, 41)),
        (observe("charring", heated_to="200 degC", seen="charred"), np.linspace(180.0, 220.0, 41)),
        (observe("feel", outcome="semi-rigid"), np.geomspace(10.0, 5000.0, 41)),
    ]
    for made, values in cases:
        term = made.term()
        integrated = (weights * term.likelihood(values, error)).sum(axis=0)
        alone = np.broadcast_to(term.likelihood(values, None), integrated.shape)
        # First order in the liquid's uncertainty, so not exact for weighings.
        np.testing.assert_allclose(alone, integrated, rtol=0.01, atol=1e-3 * alone.max(), err_msg=made.test)


def test_hot_plate_bracket() -> None:
    """Not molten at 150 and molten at 170 degC is likeliest for softening in between, none at far ends."""
    term = observe("hot_plate", not_melted_at="150 degC", melted_at="170 degC").term()
    likelihood = term.likelihood(np.array([100.0, 150.0, 160.0, 170.0, 220.0, math.inf]), None)
    assert likelihood[2] > 0.9
    assert likelihood[1] == pytest.approx(0.5, abs=0.05)
    assert likelihood[3] == pytest.approx(0.5, abs=0.05)
    assert max(likelihood[0], likelihood[4], likelihood[5]) < 1e-6


def test_never_melting() -> None:
    """What never melts is seen not to, whatever the temperature, and chars more often than what would."""
    values = np.array([120.0, 300.0, math.inf])
    solid = observe("hot_plate", not_melted_at="250 degC").term().likelihood(values, None)
    assert solid[0] < 1e-6
    assert solid[2] == 1.0
    charred = observe("charring", heated_to="250 degC", seen="charred").term().likelihood(values, None)
    unchanged = observe("charring", heated_to="250 degC", seen="unchanged").term().likelihood(values, None)
    np.testing.assert_allclose(charred + unchanged, solid)
    assert charred[2] > 10 * charred[1]


def test_three_point_bend_worked_value() -> None:
    """ISO 178: E = L^3 F/(4 b h^3 s); 64 mm, 10 N, 10 x 4 mm, 1.2 mm gives 853.3 MPa (worked by hand)."""
    made = observe(
        "three_point_bend", load="10 ± 0.01 N", span="64 ± 0.1 mm", width="10 ± 0.01 mm", thickness="4 ± 0.01 mm",
        deflection="1.2 ± 0.01 mm",
    )  # fmt: skip
    feature = made.term().feature
    assert feature is not None
    assert feature[0] == pytest.approx(64**3 * 10 / (4 * 10 * 64 * 1.2), rel=1e-9)
    assert feature[0] == pytest.approx(853.3, abs=0.1)


def test_cantilever_worked_value() -> None:
    """Euler-Bernoulli: E = 4 F L^3/(b h^3 s); 1 N, 50 mm, 10 x 2 mm, 5 mm gives 1250 MPa (worked by hand)."""
    made = observe(
        "cantilever_bend", load="1 ± 0.01 N", length="50 ± 0.1 mm", width="10 ± 0.01 mm", thickness="2 ± 0.01 mm",
        deflection="5 ± 0.05 mm",
    )  # fmt: skip
    feature = made.term().feature
    assert feature is not None
    assert feature[0] == pytest.approx(1250.0, rel=1e-9)


def test_thickness_counts_three_times() -> None:
    """To first order a 2 % error in thickness is 6 % in modulus (JCGM 100:2008, 5.1.6)."""
    fields: dict[str, Any] = {
        "load": "1 ± 0.000001 N",
        "length": "50 ± 0.00001 mm",
        "width": "10 ± 0.00001 mm",
        "deflection": "5 ± 0.00001 mm",
    }
    spreads = []
    for u in ("0.000001", "0.04"):
        feature = observe("cantilever_bend", thickness=f"2 ± {u} mm", **fields).term().feature
        assert feature is not None
        spreads.append(feature[1] / feature[0])
    assert math.sqrt(spreads[1] ** 2 - spreads[0] ** 2) == pytest.approx(0.06, rel=1e-3)


def test_bend_refusals() -> None:
    good: dict[str, Any] = {
        "load": "1 N",
        "length": "50 mm",
        "width": "10 mm",
        "thickness": "2 mm",
        "deflection": "5 mm",
    }
    for change, says in (
        ({"deflection": "9 mm"}, "too large for the small-deflection"),
        ({"deflection": "0 mm", "width": "0 mm"}, "width.*\n.*deflection"),
        ({"load": "5000 N"}, "impossible for a plastic"),
        ({"width": "10 g"}, "is not one of length"),
    ):
        with pytest.raises(InputError, match=says):
            observe("cantilever_bend", **{**good, **change})
    with pytest.raises(InputError, match="too large"):
        observe("three_point_bend", load="1 N", span="50 mm", width="10 mm", thickness="2 mm", deflection="6 mm")


def test_feels_are_ordered_and_exhaustive() -> None:
    """Feels cover all moduli without gap; rigid and nonrigid meet ASTM D883's limits (quoted by Gooch 2011)."""
    limits = list(FEELS.values())
    assert all(low[1] == high[0] for low, high in pairwise(limits))
    assert (NONRIGID, RIGID) == (70.0, 700.0)
    values = np.geomspace(0.1, 30000, 200)
    total = sum(observe("feel", outcome=word).term().likelihood(values, None) for word in FEELS)
    np.testing.assert_allclose(total, 1.0, atol=1e-12)


@SETTINGS
@given(observations)
def test_every_likelihood_is_finite_and_not_negative(made: object) -> None:
    """Likelihoods are finite and not negative at every value, the missing one included, and outliers proper."""
    term = made.term()  # type: ignore[attr-defined]  # because hypothesis unions are objects
    grids = {
        "density": np.geomspace(0.005, 3, 500),
        "flexural_modulus": np.geomspace(0.05, 6e4, 500),
        "softening_temperature": np.append(np.linspace(-100, 480, 500), math.inf),
    }
    values = grids.get(term.observes, np.arange(3.0))
    likelihood = term.likelihood(values, None)
    assert np.isfinite(likelihood).all()
    assert (likelihood >= 0).all()
    assert 0 < term.outlier < 1
    assert 0 < term.outlier_likelihood < math.inf


def test_charring_forbids_heating() -> None:
    """What charred without melting is not heated again, however sure its resin is; what stayed unchanged may be."""
    seen = [
        {"test": "density", "density": "0.905 ± 0.003 g/cm3"},
        {"test": "hot_plate", "not_melted_at": "150 ± 1 degC", "melted_at": "170 ± 1 degC"},
    ]
    sure = {"PP": 0.999, "PVC-U": 0.001}
    for what, allowed in (("unchanged", True), ("charred", False)):
        charring = {"test": "charring", "heated_to": "140 degC", "seen": what}
        answer = identify([*seen, charring], prior=sure)
        assert answer.leader == "PP"
        assert answer.heat.allowed is allowed
    assert "charred at 140 °C without melting" in answer.heat.reasons


def test_charring_forbids_heating_in_a_table() -> None:
    columns: dict[str, list[object]] = {
        "density.density [g/cm3]": [0.905] * 3,
        "density.density_u [g/cm3]": [0.003] * 3,
        "hot_plate.not_melted_at [degC]": [150] * 3,
        "hot_plate.not_melted_at_u [degC]": [1] * 3,
        "hot_plate.melted_at [degC]": [170] * 3,
        "hot_plate.melted_at_u [degC]": [1] * 3,
        "charring.heated_to [degC]": [140, 140, None],
        "charring.heated_to_u [degC]": [1, 1, None],
        "charring.seen": ["unchanged", "charred", None],
    }
    ranked = identify_table(pd.DataFrame(columns), prior={"PP": 0.999, "PVC-U": 0.001})
    assert ranked["do_not_heat"].tolist() == [False, True, False]
