"""Melt flow: the log rule as published, and grades by how goods are made."""

from __future__ import annotations

import math
from typing import Any

import pytest
from bags import SETTINGS, bag, pieces_of
from hypothesis import given
from hypothesis import strategies as st

from resinid import Batch, InputError, melt_together
from resinid.batches.melt_flow import flow_of, log_rule, same_condition, stiffness
from resinid.reference.table import default_reference

TABLE = default_reference()
CAPS: Any = {"marked": {"PE-HD": 60}, "pieces": pieces_of("PE-HD"), "allow": ["copper wire"]}


@pytest.mark.parametrize(
    ("rates", "shares", "expected", "tolerance"),
    [
        # Worked example after Nielsen 1977, pointsales.ca: equal parts of 1.0 and 2.0 give 1.4145 (its log is rounded).
        ((1.0, 2.0), (0.5, 0.5), 1.4145, 5e-4),
        # Our notes on blend formulae, section 1: 70 % of 8 with 30 % of 0.3 give 2.99.
        ((8.0, 0.3), (0.7, 0.3), 2.99, 0.01),
    ],
)
def test_log_rule(rates: tuple[float, ...], shares: tuple[float, ...], expected: float, tolerance: float) -> None:
    assert log_rule(rates, shares) == pytest.approx(expected, abs=tolerance)


@SETTINGS
@given(st.floats(0.05, 100.0), st.floats(0.05, 100.0), st.floats(0.0, 1.0))
def test_a_mix_flows_between_its_parts(first: float, second: float, share: float) -> None:
    """A mix is never runnier than the runniest part, nor stiffer than the stiffest."""
    mixed = log_rule((first, second), (share, 1.0 - share))
    assert min(first, second) * (1 - 1e-9) <= mixed <= max(first, second) * (1 + 1e-9)


def test_grades_by_process() -> None:
    """Injection caps run thin, blow-moulded bottles stay stiff (common practice)."""
    rates = {
        process: math.exp(found.mean)
        for process in ("injection moulding", "blow moulding", "film")
        if (found := flow_of(bag("b", process), "PE-HD", TABLE)) is not None
    }
    assert rates["injection moulding"] > 4
    assert 0.1 < rates["blow moulding"] < 0.8
    assert rates["film"] < 0.3


def test_an_unknown_process_is_less_sure() -> None:
    known, unknown = (flow_of(bag("b", p), "PP", TABLE) for p in ("injection moulding", "unknown"))
    assert known is not None
    assert unknown is not None
    assert unknown.sd > known.sd
    assert flow_of(bag("b"), "PET", TABLE) is None


def test_a_measured_rate_is_taken() -> None:
    found = flow_of(Batch.of("b", mfr="0.5 ± 0.1 g/(10 min)", mfr_condition="190 °C/2.16kg"), "PE-HD", TABLE)
    assert found is not None
    assert math.exp(found.mean) == pytest.approx(0.5)
    assert found.sd == pytest.approx(0.2)
    assert found.basis == "measured"
    assert same_condition(found.condition, "190 C/2.16 kg")


def test_rates_at_other_conditions_are_not_compared() -> None:
    """A rate at 5 kg says nothing of one at 2.16 kg: no melt flow rate of the mix is given."""
    heavy = Batch.of("a", **CAPS, mfr="2 g/(10 min)", mfr_condition="190 C/5 kg")
    light = Batch.of("b", **CAPS, mfr="2 g/(10 min)", mfr_condition="190 C/2.16 kg")
    assert melt_together(heavy, light).flow is None
    assert melt_together(light, light).flow is not None
    found = melt_together(heavy, light)
    assert found.verdict == "usable with limits"
    assert "cannot be compared; measure both under one" in found.deciding


@pytest.mark.parametrize("written", ["bogus", "190 C", "2.16 kg", "190 C/2160 kg", "19 C/2.16 kg"])
def test_a_condition_that_states_no_temperature_and_load_is_told(written: str) -> None:
    """Else a misspelt one would drop the comparison, and the verdict would be better for it."""
    with pytest.raises(InputError, match=r"mfr_condition: .*write for example '190 C/2.16 kg'"):
        Batch.of("a", **CAPS, mfr="2 g/(10 min)", mfr_condition=written)


def test_the_short_form_of_a_condition_is_compared() -> None:
    """ISO 1133 itself writes 190/2.16."""
    stiff = Batch.of("a", **CAPS, mfr="0.3 g/(10 min)", mfr_condition="190/2.16")
    runny = Batch.of("b", **CAPS, mfr="20 g/(10 min)", mfr_condition="190 C/2.16 kg")
    assert melt_together(stiff, runny).verdict == "usable with limits"


def test_the_mix_of_two_measured_rates() -> None:
    first = Batch.of("a", **CAPS, mfr="4 ± 0.4 g/(10 min)", mass="3 kg")
    second = Batch.of("b", **CAPS, mfr="8 ± 0.8 g/(10 min)", mass="1 kg")
    found = melt_together(first, second).flow
    assert found is not None
    assert found.median == pytest.approx(log_rule((4.0, 8.0), (0.75, 0.25)))
    assert found.low < found.median < found.high
    assert found.valid
    assert found.ratio == pytest.approx(2.0)
    assert "doughy" in stiffness(found.median, found.condition)
