"""Spot tests with solvents: the rows against published interaction parameters, and what drops may count for."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Final

import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import SETTINGS
from words import chances, faults_of, likeliest, rows_of, unused_sources

from resinid import identify, next_tests, observe
from resinid.methods import solvents
from resinid.methods.bench_parser import parse_bench
from resinid.methods.registry import find_test
from resinid.methods.solvents.method import METHOD, OUTCOMES, SOLVENTS
from resinid.scoring.dependence import powers

if TYPE_CHECKING:
    from resinid.scoring.properties import Observable

FOLDER: Final = Path(solvents.__file__).parent

CHI: Final = {
    ("CA", "acetone"): 0.44,
    ("CN", "acetone"): 0.27,
    ("CN", "ethyl_acetate"): 0.22,
    ("CN", "methyl_ethyl_ketone"): 0.21,
    ("PMMA", "acetone"): 0.48,
    ("PS", "toluene"): 0.437,
    ("PS", "methyl_ethyl_ketone"): 0.48,
    ("PS", "ethyl_acetate"): 0.49,
    ("PS", "acetone"): 0.9,
    ("PS", "cyclohexane"): 0.508,
    ("NR", "acetone"): 1.5,
    ("NR", "methyl_ethyl_ketone"): 1.15,
    ("NR", "ethyl_acetate"): 0.95,
    ("NR", "toluene"): 0.36,
    ("NR", "cyclohexane"): 0.31,
    ("VMQ", "acetone"): 1.33,
    ("VMQ", "toluene"): 0.6,
    ("VMQ", "cyclohexane"): 0.42,
}
"""Flory-Huggins parameter near 25 degC: Orwoll & Arnold 2007, table 14.1, VMQ in acetone at 100 degC.

Rows quote the same table, so this finds slips and rows of others that outweigh it, not errors of the table."""

NETWORKS: Final = ("NR", "VMQ")


@pytest.mark.parametrize("pair", CHI, ids=" ".join)
def test_what_dissolves_has_an_interaction_parameter_below_one_half(pair: tuple[str, str]) -> None:
    """Flory-Huggins: below 0.5 nothing is likelier than dissolving (a network swells); above it something else is."""
    resin, solvent = pair
    found = chances(solvent)[resin]
    if resin in NETWORKS:
        assert (likeliest(solvent, resin) == "swells") is (CHI[pair] < 0.7)
        return
    others = max(chance for word, chance in found.items() if word != "dissolves")
    assert found["dissolves"] >= others - 1e-9 if CHI[pair] < 0.5 else found["dissolves"] <= others + 1e-9


@pytest.mark.parametrize("solvent", SOLVENTS)
def test_semicrystalline_and_thermoset_resins_resist(solvent: str) -> None:
    """Crystals and networks dissolve in nothing at room temperature."""
    for resin in ("PE-HD", "PP", "PA66", "POM", "PTFE", "PEEK", "MF"):
        assert likeliest(solvent, resin) == "no effect", resin


def test_rubber_bands_against_polystyrene() -> None:
    """Toluene swells crosslinked rubber and dissolves PS, so no network is said to dissolve in anything."""
    for solvent in SOLVENTS:
        for resin, found in chances(solvent).items():
            if resin in (*NETWORKS, "PUR", "UP", "EP", "MF", "PF"):
                assert found["dissolves"] < 0.2, (resin, solvent)


def test_rows_name_known_sources_and_resins() -> None:
    """A folder's rows are checked as the reference table's own are, and no source lies idle."""
    rows = rows_of(FOLDER, SOLVENTS)
    assert faults_of(FOLDER, rows) == []
    assert unused_sources(FOLDER, rows) == set()


@SETTINGS
@given(st.lists(st.sampled_from(SOLVENTS), unique=True, min_size=1))
def test_drops_on_one_piece_count_for_less_than_if_independent(drops: list[str]) -> None:
    """Law: each further solvent adds evidence, but all five together count as less than two independent ones."""
    kinds: list[Observable] = [find_test(drop).observes for drop in drops]
    total = sum(powers(kinds).values())
    assert 1.0 <= total < 2.0
    assert total == pytest.approx(len(drops) / (1 + 0.4 * (len(drops) - 1)))


def test_a_drop_needs_its_bottle_and_the_danger_allowed() -> None:
    """Withheld until solvents are allowed; offered for the bottles at hand alone, with every outcome."""
    held = next_tests(bench=parse_bench("acetone"), prior="uniform")
    assert "not allowed" in dict(held.withheld)["drop of acetone"]
    advice = next_tests(bench=parse_bench("acetone, methyl ethyl ketone"), prior="uniform", allow=["solvent"])
    plans = {one.plan.test: one.plan for one in advice.suggestions if one.plan.hazard == "solvent"}
    assert sorted(plans) == ["acetone", "methyl_ethyl_ketone"]
    assert tuple(one.outcome for one in plans["acetone"].outcomes) == OUTCOMES  # type: ignore[attr-defined]
    assert plans["acetone"].minutes > 0


def test_a_drop_moves_the_answer() -> None:
    """Acetone dissolves ABS and leaves PP as it was."""
    found = identify([{"test": "acetone", "outcome": "dissolves"}], prior="uniform")
    odds = dict(zip(found.resins, found.probability, strict=False))
    assert odds["ABS"] > 10 * odds["PP"]
    assert observe("acetone", outcome="crazes").describe() == "acetone: crazes"


@pytest.mark.parametrize("word", ["flammable", "no flame, spark", "hot plate", "gloves", "hood", "local codes"])
def test_the_caution_is_the_usual_one(word: str) -> None:
    assert word in METHOD.caution
