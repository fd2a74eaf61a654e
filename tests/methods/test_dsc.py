"""DSC: published runs name their resins; heats of fusion against those of perfect crystals; nothing counted twice."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import SETTINGS

from resinid import Bench, default_reference, identify, identify_table, next_tests, observe
from resinid.io.reading import Reading
from resinid.methods.dsc.known import GLASS_TRANSITION, HEAT_OF_FUSION, MELTING_PEAK
from resinid.reference.crystallinity import crystal_of, crystallinity_from_heat, density_at_crystallinity
from resinid.reference.rules import BENCH_SHIFT
from resinid.scoring.dependence import dependent

if TYPE_CHECKING:
    from collections.abc import Mapping

SEEN: Final[Mapping[str, object]] = {"test": "melting_peak", "outcome": "seen"}
NONE: Final[Mapping[str, object]] = {"test": "melting_peak", "outcome": "none"}


def peak(temperature: float) -> dict[str, object]:
    return {"test": "dsc_peak", "temperature": Reading(temperature, 0.5)}


def heat(value: float) -> dict[str, object]:
    return {"test": "heat_of_fusion", "heat": Reading(value, 2.0)}


def glass(temperature: float) -> dict[str, object]:
    return {"test": "glass_transition", "temperature": Reading(temperature, 1.0)}


RUNS: Final[dict[str, list[Mapping[str, object]]]] = {
    # NETZSCH, Thermal properties of polymers, material pages: second heatings at 10 K/min.
    "PE-HD": [SEEN, peak(133.0), heat(201.0)],
    "PE-LD": [SEEN, peak(112.0)],
    "PP": [SEEN, peak(164.0), heat(112.0), glass(-8.0)],
    "PA12": [SEEN, peak(178.0), heat(34.0), glass(43.0)],
    "PET": [SEEN, peak(249.0), glass(78.0)],
    # Handbook glass transition of polycarbonate, 145 to 150 degC; amorphous.
    "PC": [NONE, glass(147.0)],
}


@pytest.mark.parametrize("resin", RUNS)
def test_published_runs_name_their_resin(resin: str) -> None:
    assert identify(RUNS[resin], prior="uniform").leader == resin


@pytest.mark.parametrize(
    ("resin", "other", "run"),
    [
        # NETZSCH, PTFE page; PEEK melts at 340 degC.
        ("PTFE", "PEEK", [SEEN, peak(334.0)]),
        # Temperature-modulated DSC of amorphous PET, an instrument maker's application note: step at 75 to 82,
        # melting at 256 degC; PA66 melts at 260 degC and has its glass transition at 60 to 70.
        ("PET", "PA66", [SEEN, peak(256.0), glass(78.0)]),
    ],
)
def test_two_that_melt_alike_stay_together(resin: str, other: str, run: list[Mapping[str, object]]) -> None:
    """Where two resins melt within 10 K of each other and share the rest, both lead and neither is ruled out."""
    answer = identify(run, prior="uniform")
    assert answer[resin] + answer[other] > 0.7
    assert 0.05 < answer[resin] / answer[other] < 20.0


CRYSTALS: Final = {"PE-HD": 293.0, "PE-LD": 293.0, "PP": 207.0, "POM": 326.0, "PA6": 230.0, "PA12": 245.0, "PET": 140.0}
"""[J/g] Heats of fusion of perfect crystals: Blaine, TA Instruments note TN048, table 1, after Wunderlich 1990
(PET: 26.9 kJ/mol over 192 g/mol)."""

CRYSTALLINITY: Final = {
    "PE-HD": (0.6, 0.8),
    "PE-LD": (0.3, 0.55),
    "PP": (0.4, 0.65),
    "PA6": (0.2, 0.4),
    "PET": (0.25, 0.4),
}
"""Mass crystallinity of moulded pieces, handbook ranges (from memory)."""


@pytest.mark.parametrize("resin", CRYSTALS)
def test_no_piece_gives_more_than_perfect_crystals(resin: str) -> None:
    """All but a few in a thousand pieces of a resin have less heat of fusion than its crystals; the median fits."""
    reference = default_reference()
    latent = HEAT_OF_FUSION.latent(reference)
    index = next(i for i, variant in enumerate(reference.variants) if variant.resin == resin)
    cumulated = np.cumsum(latent.mass[index])
    heats = np.interp([0.5, 0.995], cumulated, latent.values)
    assert heats[1] < CRYSTALS[resin]
    if resin in CRYSTALLINITY:
        low, high = CRYSTALLINITY[resin]
        assert low <= heats[0] / CRYSTALS[resin] <= high


def test_heat_and_density_agree_through_crystallinity() -> None:
    """HDPE 06 of Macromolecules 2020, 53:6063, table 1: 194.2 J/g is 66.3 % and then 0.946 g/cm3, which are PE-HD's."""
    phases = crystal_of(default_reference(), "PE-HD")
    crystallinity = crystallinity_from_heat(194.2, phases)
    assert crystallinity == pytest.approx(0.663, abs=5e-4)
    density = density_at_crystallinity(crystallinity, phases)
    both = identify([heat(194.2), {"test": "density", "density": Reading(density, 0.002)}])
    assert both.leader == "PE-HD"
    assert dependent(HEAT_OF_FUSION, "density") > 0


def test_filler_dilutes_the_heat() -> None:
    """A glass-filled variant has the base resin's heat of fusion times the share of resin."""
    reference = default_reference()
    latent = HEAT_OF_FUSION.latent(reference)
    logs = np.log(latent.values)
    mean = {(v.resin, v.name): float(latent.mass[i] @ logs) for i, v in enumerate(reference.variants)}
    filled = next(v for v in reference.variants if (v.resin, v.name) == ("PA66", "glass-filled 30 %"))
    share = 1.0 - ((filled.load_low or 0.0) + (filled.load_high or 0.0)) / 200.0
    assert mean["PA66", "glass-filled 30 %"] == pytest.approx(mean["PA66", "natural"] + math.log(share), abs=0.01)


def test_a_peak_follows_from_the_kind() -> None:
    """Amorphous and crosslinked resins hardly ever show a melting peak, crystalline ones that melt nearly always."""
    reference = default_reference()
    chance = MELTING_PEAK.latent(reference).mass[:-1, 0]
    kinds = {resin.symbol: resin.kind for resin in reference.resins}
    for variant, found in zip(reference.variants, chance.tolist(), strict=True):
        if kinds[variant.resin] != "semicrystalline":
            assert found < 0.1
        elif variant.softens == "melting":
            assert found > 0.9
    assert dependent(MELTING_PEAK, "melt_onset") > 0.5


def test_peak_and_plate_are_one_thing() -> None:
    """After a DSC peak, a hot plate that agrees changes the odds of crystalline resins by little."""
    before = identify([SEEN, peak(164.0)], prior="uniform")
    after = identify([SEEN, peak(164.0), {"test": "softening", "temperature": "164 ± 1 degC"}], prior="uniform")
    for resin in ("PP", "POM", "PA12"):
        assert abs(math.log(after[resin] / after["PP"]) - math.log(before[resin] / before["PP"])) < 0.7


@SETTINGS
@given(st.floats(60.0, 350.0), st.floats(0.1, 5.0))
def test_alone_is_the_relations_error_integrated_out(temperature: float, u: float) -> None:
    """A peak that stands alone has the likelihood of one whose shared error is integrated over a normal."""
    error = np.linspace(-8, 8, 1601)[:, None]
    weights = np.exp(-0.5 * error**2) / math.sqrt(2 * math.pi) * (error[1] - error[0])
    values = temperature + np.linspace(-20.0, 20.0, 41)
    term = observe("dsc_peak", temperature=Reading(temperature, u)).term()
    integrated = (weights * term.likelihood(values, error)).sum(axis=0)
    np.testing.assert_allclose(term.likelihood(values, None), integrated, rtol=1e-6, atol=1e-9)
    assert term.shared is not None
    assert term.shared.sharpness == pytest.approx(math.hypot(u, 1.0) / BENCH_SHIFT["melting"][1])


def test_offered_with_a_dsc_once_it_may_be_heated() -> None:
    """Without a DSC it is not offered; with one, only when cold tests have made PVC and acetal unlikely."""
    bench = Bench(tools=("DSC",))
    cold = [
        {"test": "float", "liquid": "water", "outcome": "floats"},
        {"test": "density", "density": "0.93 ± 0.005 g/cm3"},
    ]
    later = {s.plan.test for s in next_tests(cold, bench=bench).suggestions}
    assert {"melting_peak", "glass_transition"} <= later
    assert "melting_peak" not in {s.plan.test for s in next_tests(cold, bench=Bench()).suggestions}
    first = next_tests([], bench=bench)
    assert "melting_peak" not in {s.plan.test for s in first.suggestions}
    assert any("DSC" in label for label, _ in first.withheld)


def test_columns_say_the_same() -> None:
    """A row of a table has the numbers of the piece alone, dependences included."""
    frame = pd.DataFrame(
        {
            "dsc_peak.temperature [degC]": [133.0, 164.0, np.nan],
            "dsc_peak.temperature_u [degC]": [0.5, 0.5, 0.5],
            "melting_peak.outcome": ["seen", "seen", "none"],
            "heat_of_fusion.heat [J/g]": [201.0, np.nan, np.nan],
            "heat_of_fusion.heat_u [J/g]": [2.0, 2.0, 2.0],
            "glass_transition.temperature [degC]": [np.nan, -8.0, 147.0],
            "glass_transition.temperature_u [degC]": [1.0, 1.0, 1.0],
            "density.density [g/cm3]": [0.955, np.nan, 1.2],
            "density.density_u [g/cm3]": [0.002, 0.002, 0.002],
        }
    )
    found = identify_table(frame, top=2)
    density = [{"test": "density", "density": Reading(value, 0.002)} for value in (0.955, 1.2)]
    rows = [
        [SEEN, peak(133.0), heat(201.0), density[0]],
        [SEEN, peak(164.0), glass(-8.0)],
        [NONE, glass(147.0), density[1]],
    ]
    for row, done in enumerate(rows):
        alone = identify(done)
        for place in (1, 2):
            assert found[f"probability_{place}"][row] == pytest.approx(alone[found[f"resin_{place}"][row]], abs=1e-9)


def test_glass_transitions_are_where_handbooks_have_them() -> None:
    """Medians of the distributions against glass transitions of Fried, Polymer Science and Technology (from memory)."""
    reference = default_reference()
    latent = GLASS_TRANSITION.latent(reference)
    for resin, expected in {"PS": 100.0, "PMMA": 105.0, "PC": 150.0, "PVC-U": 85.0, "PET": 70.0}.items():
        index = next(i for i, variant in enumerate(reference.variants) if variant.resin == resin)
        median = np.interp(0.5, np.cumsum(latent.mass[index]), latent.values)
        assert abs(median - expected) < 10.0


def test_a_peak_that_is_measured_is_one_that_was_seen() -> None:
    """220 degC at 1.25 g/cm3 and 1.6 GPa was called PSU, a glass without a peak (Harper 2006 has it amorphous).

    Said or not, in one piece and in a table, with temperature or heat, that there is a peak is scored once.
    """
    rest: list[Mapping[str, object]] = [
        {"test": "density", "density": "1.25 ± 0.01 g/cm3"},
        {"test": "modulus", "modulus": "1.6 ± 0.1 GPa"},
    ]
    answer = identify([peak(220.0), *rest])
    assert answer["PSU"] < 0.1
    assert answer.probability == identify([peak(220.0), *rest, SEEN]).probability
    frame = pd.DataFrame(
        {
            "dsc_peak.temperature [degC]": [220.0, 133.0, np.nan],
            "melting_peak.outcome": [None, "seen", None],
            "heat_of_fusion.heat [J/g]": [np.nan, np.nan, 60.0],
            "heat_of_fusion.heat_u [J/g]": [2.0, 2.0, 2.0],
            "dsc_peak.temperature_u [degC]": [0.5, 0.5, 0.5],
        }
    )
    found = identify_table(frame, top=1)
    for row, done in enumerate(([peak(220.0)], [peak(133.0)], [heat(60.0)])):
        alone = identify(done)
        assert found["probability_1"][row] == pytest.approx(alone[found["resin_1"][row]], abs=1e-9)
