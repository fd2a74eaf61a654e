"""Melt flow rate: carrying it to another condition, the process, and the answer, against published values."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import SETTINGS

from resinid import Bench, InputError, default_reference, identify, identify_table, next_tests, observe
from resinid.batches.bag import Batch
from resinid.batches.melt_flow import flow_of
from resinid.io.reading import Reading
from resinid.methods.melt_flow_rate.conditions import FARTHEST, at_usual, melts, rate_factor
from resinid.methods.melt_flow_rate.known import MELT_FLOW_RATE, PROCESSES, nodes
from resinid.methods.melt_flow_rate.method import METHOD, FlowRate
from resinid.scoring.dependence import dependent
from resinid.testing import check_method

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    Array = NDArray[np.float64]

PE: Final = {"temperature": "190 degC", "load": "2.16 kg"}
PP: Final = {"temperature": "230 degC", "load": "2.16 kg"}


def mfr(rate: str, condition: Mapping[str, str], process: str = "unknown") -> dict[str, object]:
    return {"test": "melt_flow_rate", "rate": rate, "process": process, **condition}


def quantiles(resin: str, process: str, *levels: float) -> Array:
    """Quantiles of the natural log of the rate of a resin's first variant, at its usual condition."""
    reference, layout = default_reference(), nodes()
    row = next(i for i, variant in enumerate(reference.variants) if variant.resin == resin)
    here = np.array([process in {"unknown", PROCESSES[index]} for index in layout.process])
    mass = MELT_FLOW_RATE.latent(reference).mass[row][here]
    logs = layout.log_rate[here]
    order = np.argsort(logs, kind="stable")
    cumulated = np.cumsum(mass[order]) / mass.sum()
    found: Array = np.interp(levels, cumulated, logs[order])
    return found


def test_activation_energy_of_linear_low_density_polyethylene() -> None:
    """Wood-Adams and Costeux 2001, Macromolecules 34:6281: 33 to 34 kJ/mol for 7 to 25 % of butene."""
    assert 33.0 <= melts()["PE-LLD"].energy <= 34.0


RATIOS: Final = {
    (21.6, 2.16, 28.0): "linear low-density, narrow distribution",
    (21.6, 2.16, 80.0): "high-density, broad distribution",
    (5.0, 2.16, 3.5): "high-density pipe",
}
"""Flow rate ratios of polyethylenes as data sheets give them (from memory): two loads [kg] and the ratio."""


@pytest.mark.parametrize(("heavy", "light", "ratio"), RATIOS)
def test_flow_rate_ratios(heavy: float, light: float, ratio: float) -> None:
    """The rule for the load meets usual flow rate ratios within twice its stated error."""
    carried = rate_factor(melts()["PE-HD"], 190.0, heavy)
    base = rate_factor(melts()["PE-HD"], 190.0, light)
    assert carried is not None
    assert base is not None
    assert abs(math.log(ratio) - (carried[0] - base[0])) < 2.0 * carried[1]


def test_a_pipe_grade_measured_at_five_kilograms() -> None:
    """Polysure P0148D, 0.4 g/10 min at 5 kg: PE 100 pipe grades have 0.08 to 0.15 at 2.16 kg (from memory)."""
    row = next(r for r in default_reference().statements if r.property == "melt_flow_rate" and "5 kg" in r.condition)
    usual = at_usual(row)
    assert usual is not None
    assert usual.typical is not None
    assert 0.08 < usual.typical < 0.15


def test_reference_polyethylene() -> None:
    """SRM 1475, a linear polyethylene: 2.07 g/10 min at 190 degC and 2.16 kg (certificate, from memory)."""
    low, high = quantiles("PE-HD", "unknown", 0.05, 0.95)
    assert low < math.log(2.07) < high


@SETTINGS
@given(st.sampled_from(sorted(melts())), st.floats(-FARTHEST, FARTHEST), st.floats(0.2, 5.0), st.floats(0.0, 10.0))
def test_hotter_and_heavier_is_faster(resin: str, away: float, ratio: float, more: float) -> None:
    """A rate never falls with temperature or load, and is itself at the usual condition, without error."""
    melt = melts()[resin]
    assert rate_factor(melt, melt.temperature, melt.load) == (0.0, 0.0)
    one = rate_factor(melt, melt.temperature + away, melt.load * ratio)
    hotter = rate_factor(melt, melt.temperature + away + more, melt.load * ratio)
    heavier = rate_factor(melt, melt.temperature + away, melt.load * ratio * 1.1)
    assert one is not None
    assert heavier is not None
    assert heavier[0] > one[0]
    assert hotter is None or hotter[0] >= one[0]


@pytest.mark.parametrize("process", [*PROCESSES, "unknown"])
def test_a_process_is_no_evidence_by_itself(process: str) -> None:
    """Summed over all rates, a run tells nothing of the resin, whatever process is stated."""
    reference = default_reference()
    latent = MELT_FLOW_RATE.latent(reference)
    step = 0.2
    total = np.zeros(latent.mass.shape[1])
    for log in np.arange(math.log(0.021), math.log(3000.0), step).tolist():
        made = FlowRate(Reading(math.exp(log), 0.0), Reading(190.0, 0.5), Reading(2160.0, 1.0), process)
        total += step * made.likelihood(latent.values, None)
    hardly = FlowRate(Reading(0.02, 0.0), Reading(190.0, 0.5), Reading(2160.0, 1.0), process)
    total += hardly.likelihood(latent.values, None)
    np.testing.assert_allclose(latent.mass @ total, 1.0, atol=0.03)


def test_agrees_with_the_flow_of_a_batch() -> None:
    """The rate expected of articles of one process is that which :mod:`resinid.batches` infers, within its error."""
    for resin, process in (("PE-HD", "injection moulding"), ("PE-LD", "film"), ("PP", "fibre"), ("PC", "extrusion")):
        flow = flow_of(Batch.of("articles", process=process), resin, default_reference())
        assert flow is not None
        assert abs(quantiles(resin, process, 0.5)[0] - flow.mean) < flow.sd


def test_two_conditions_are_one_melt() -> None:
    """A second run of the same melt under another load, as the rule foresees, adds little."""
    once = identify([mfr("1.0 g/10min", PE)], prior="uniform")
    twice = identify([mfr("1.0 g/10min", PE), mfr("3.5 g/10min", {"temperature": "190 degC", "load": "5 kg"})])
    again = identify([mfr("1.0 g/10min", PE)])
    assert once.leader
    for resin in ("PE-LD", "PE-LLD", "PP"):
        odds = [answer[resin] / answer["PE-HD"] for answer in (again, twice)]
        assert abs(math.log(odds[1] / odds[0])) < 0.5


def test_too_far_a_resin_is_as_any_other() -> None:
    """At 190 degC nothing is claimed of polycarbonate, known at 300 degC: every rate is as likely as of any plastic."""
    layout = nodes()
    kind = layout.kinds.index(melts()["PC"]) + 1
    found = FlowRate(Reading(3.0, 0.1), Reading(190.0, 0.5), Reading(2160.0, 1.0)).likelihood(
        np.arange(layout.log_rate.size, dtype=float), None
    )
    at_pc = found[layout.kind == kind]
    assert np.ptp(at_pc) == 0.0
    assert at_pc[0] == pytest.approx(
        math.exp(-0.5 * (math.log(3 / 5) / 1.6) ** 2) / (1.6 * math.sqrt(2 * math.pi)), rel=0.02
    )


def test_other_conditions_are_refused_with_the_remedy() -> None:
    with pytest.raises(InputError, match="measure at one of: 190 °C and"):
        observe("melt_flow_rate", rate="3 g/10min", temperature="100 degC", load="2.16 kg")
    with pytest.raises(InputError, match="loads of ISO 1133-1"):
        observe("melt_flow_rate", rate="3 g/10min", temperature="190 degC", load="2.16 g")


READINGS: Final = {
    "melt_flow_rate": [
        {"rate": "8 g/(10 min)", **PE},
        {"rate": "0.3 g/10min", "process": "blow moulding", **PE},
        {"rate": "0.01 g/10min", **PP},
        {"rate": "10 g/10min", "temperature": "300 degC", "load": "1.2 kg"},
    ]
}


def test_conforms() -> None:
    assert len(check_method(METHOD, readings=READINGS)) > 50


def test_it_moves_the_answer() -> None:
    """A blow-moulded 0.3 at 190 degC speaks for PE-HD; what never melts does not flow; runny film is not PE-HD."""
    blown = identify([mfr("0.3 g/10min", PE, "blow moulding")], prior="uniform")
    assert blown["PE-HD"] > 3 * blown["PE-LLD"]
    assert blown["PE-HD"] > 20 * blown["MF"]
    still = identify([mfr("0.01 g/10min", PE)], prior="uniform")
    assert still["NR"] > 3 * still["PP"]
    assert dependent(MELT_FLOW_RATE, "melt_flow") > 0.5


def test_offered_with_a_melt_indexer_once_it_may_be_heated() -> None:
    bench = Bench(tools=("melt indexer",))
    cold = [
        {"test": "density", "density": "0.93 ± 0.005 g/cm3"},
        {"test": "float", "liquid": "water", "outcome": "floats"},
    ]
    assert "melt_flow_rate" in {s.plan.test for s in next_tests(cold, bench=bench).suggestions}
    assert "melt_flow_rate" not in {s.plan.test for s in next_tests(cold, bench=Bench()).suggestions}
    assert "melt_flow_rate" not in {s.plan.test for s in next_tests([], bench=bench).suggestions}


def test_columns_say_the_same() -> None:
    """A row of a table has the numbers of the piece alone."""
    frame = pd.DataFrame(
        {
            "melt_flow_rate.rate [g/10 min]": [0.3, 12.0],
            "melt_flow_rate.rate_u [g/10 min]": [0.01, 0.5],
            "melt_flow_rate.temperature [degC]": [190.0, 230.0],
            "melt_flow_rate.temperature_u [degC]": [0.5, 0.5],
            "melt_flow_rate.load [kg]": [2.16, 2.16],
            "melt_flow_rate.load_u [kg]": [0.001, 0.001],
            "melt_flow_rate.process": ["blow moulding", None],
            "melt_flow.outcome": [None, "runny"],
        }
    )
    found = identify_table(frame, top=2)
    rows: list[list[dict[str, object]]] = [
        [mfr("0.3 ± 0.01 g/10min", PE, "blow moulding")],
        [mfr("12 ± 0.5 g/10min", PP), {"test": "melt_flow", "outcome": "runny"}],
    ]
    for row, done in enumerate(rows):
        alone = identify(done)
        for place in (1, 2):
            assert found[f"probability_{place}"][row] == pytest.approx(alone[found[f"resin_{place}"][row]], abs=1e-9)
