"""How a chip burns: the rows against published oxygen indices and classes, and what one burn may count for."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats
from strategies import SETTINGS
from words import chances, faults_of, likeliest, rows_of, unused_sources

from resinid import default_reference, identify, next_tests, observe
from resinid.errors import NotAllowedError
from resinid.heating.evidence import forbidding
from resinid.methods.bench_parser import parse_bench
from resinid.methods.burn.method import CAUTION, FOLDER, METHOD, OUTCOMES
from resinid.methods.registry import find_test
from resinid.scoring.dependence import powers
from resinid.scoring.latents import FREQUENCY
from resinid.scoring.properties import Observable, observed

OXYGEN_INDEX: Final = {
    "PE-HD": 17.4,
    "PP": 17.4,
    "PS": 18.1,
    "SAN": 19.0,
    "ABS": 19.0,
    "PMMA": 17.3,
    "POM": 15.5,
    "EP": 19.8,
    "PET": 20.6,
    "PA66": 24.3,
    "PC": 26.0,
    "VMQ": 31.0,
    "PPE+PS": 33.0,
    "PVC-U": 45.0,
    "PPS": 47.0,
    "PTFE": 95.0,
}
"""Limiting oxygen index [% oxygen] of resins without flame retardant: Sudo, Plastics 44(9), 18 (1993), and the
Polymer Data Book, as quoted at diced.jp/~KAZU/loi.htm; PPS a middle of 44 to 53 after a vendor.
No row has these for a source."""

CLASSES: Final = ("PTFE", "PPS", "PA6")
"""Nonburning or self-extinguishing by ASTM D635: CRC Materials Science and Engineering Handbook, 3rd ed., table 456.
MF is classed there too, but no other source speaks of it."""


LIGHT: Final = [
    {"test": "float", "liquid": "water", "outcome": "floats"},
    {"test": "density", "density": "0.955 ± 0.004 g/cm3"},
    {"test": "snap", "outcome": "creases"},
]
"""A polyethylene by cold tests: a burn waits until PVC, acetal and celluloid are unlikely."""


def burnt(bench: str = "burner") -> list[str]:
    """Return the burn tests that are recommended with something at hand."""
    advice = next_tests(LIGHT, bench=parse_bench(bench), allow=["burn"], prior="uniform")
    return [suggestion.plan.test for suggestion in advice.suggestions if suggestion.plan.hazard == "burn"]


def test_going_out_follows_the_oxygen_index() -> None:
    """What needs less oxygen than the 21 % of air burns on; what needs 26 % or more goes out, at once or later."""
    going_out = chances("burn_self_extinguishing")
    for resin, index in OXYGEN_INDEX.items():
        chance = going_out[resin]
        if index <= 20.0:
            assert chance["no"] > chance["yes"] + chance["slowly"], resin
        if index >= 26.0:
            assert chance["yes"] > 2 * chance["no"], resin
    stays = [going_out[resin]["no"] for resin in OXYGEN_INDEX]
    assert stats.spearmanr(list(OXYGEN_INDEX.values()), stays).statistic < -0.6


@pytest.mark.parametrize("resin", CLASSES)
def test_going_out_agrees_with_published_classes(resin: str) -> None:
    """What ASTM D635 calls nonburning or self-extinguishing goes out by the rows of every other source, too."""
    rows = (*default_reference().behaviours, *rows_of(FOLDER, ("burn_self_extinguishing",)))
    said = [
        row
        for row in rows
        if (row.resin, row.aspect) == (resin, "burn_self_extinguishing") and "shackelford-2001" not in row.source
    ]
    going_out = [FREQUENCY[row.frequency] for row in said if row.outcome != "no"]
    assert max(going_out) > max((FREQUENCY[row.frequency] for row in said if row.outcome == "no"), default=0.0)


def test_what_does_not_light_has_no_flame_of_its_own() -> None:
    """PTFE, oxygen index 95 %, neither lights, nor has a flame, nor drips."""
    seen = {"burn_ignition": "no", "burn_flame": "none", "burn_smoke": "none", "burn_drips": "no"}
    assert {test: likeliest(test, "PTFE") for test in seen} == seen


@pytest.mark.parametrize("resin", ["MF", "PF", "UP", "EP", "NR", "VMQ"])
def test_crosslinked_resins_do_not_drip(resin: str) -> None:
    """A network does not melt."""
    assert likeliest("burn_drips", resin) == "no"


@pytest.mark.parametrize("resin", ["PS", "PS-HI", "ABS", "SAN", "UP", "PC", "PPE+PS"])
def test_aromatic_resins_soot(resin: str) -> None:
    """Benzene rings make soot."""
    assert likeliest("burn_smoke", resin) == "black soot"


def test_rows_name_known_sources_and_resins() -> None:
    """A folder's rows are checked as the reference table's own are, and no source lies idle."""
    rows = rows_of(FOLDER, tuple(OUTCOMES))
    assert faults_of(FOLDER, rows) == []
    assert unused_sources(FOLDER, rows) == set()


def test_resins_of_which_nothing_is_stated_fall_back() -> None:
    """Where no row tells of a resin it is taken as 'none of these' is, and scores neither way."""
    latent = observed(find_test("burn_flame").observes).latent(default_reference())
    silent = [index for index, stated in enumerate(latent.stated) if not stated]
    assert silent
    np.testing.assert_allclose(latent.mass[silent], np.broadcast_to(latent.mass[-1], (len(silent), len(latent.values))))


@SETTINGS
@given(st.lists(st.sampled_from(sorted(OUTCOMES)), unique=True, min_size=1))
def test_parts_of_one_burn_count_for_less_than_if_independent(parts: list[str]) -> None:
    """Law: words on one burn enter with equal powers below one whose sum grows with each, but never beyond 2."""
    kinds: list[Observable] = [find_test(part).observes for part in parts]
    found = list(powers(kinds).values())
    assert math.isclose(min(found), max(found))
    assert found[0] == pytest.approx(1.0 / (1.0 + 0.4 * (len(parts) - 1)))
    assert 1.0 <= sum(found) <= 2.0 + 1e-12


def test_a_burn_is_off_until_allowed() -> None:
    """Neither scored nor recommended; allowed, with a burner, all six parts are recommended with their caution."""
    seen = observe("burn_smell", outcome="styrene", allow=["burn"])
    assert seen.describe() == "burn smell: styrene"
    with pytest.raises(NotAllowedError, match="burn"):
        observe("burn_smell", outcome="styrene")
    held = next_tests(bench=parse_bench("burner"), prior="uniform")
    assert "not allowed" in dict(held.withheld)["burn a tiny chip: smell"]
    assert sorted(burnt()) == sorted(OUTCOMES)
    assert burnt("strip") == []
    unsure = next_tests(bench=parse_bench("burner"), prior="uniform", allow=["burn"])
    assert "do not heat while" in dict(unsure.withheld)["burn a tiny chip: smell"]


def test_a_burn_moves_the_answer() -> None:
    """Sooty, sweet and burning on is PS rather than PP; a clear blue flame that smells of formaldehyde is POM."""
    words = {"burn_smoke": "black soot", "burn_smell": "styrene", "burn_self_extinguishing": "no"}
    sooty = identify([{"test": test, "outcome": word} for test, word in words.items()], prior="uniform", allow=["burn"])
    found = dict(zip(sooty.resins, sooty.probability, strict=False))
    assert found["PS"] > 5 * found["PP"]
    words = {"burn_flame": "blue", "burn_smell": "formaldehyde"}
    blue = identify([{"test": test, "outcome": word} for test, word in words.items()], prior="uniform", allow=["burn"])
    assert blue.leader == "POM"


@pytest.mark.parametrize("word", ["chip", "tongs", "hood", "open air", "water", "PVC", "acetal", "celluloid", "smell"])
def test_the_caution_is_the_usual_one(word: str) -> None:
    assert word in CAUTION
    assert METHOD.caution == CAUTION


def test_the_caution_ends_in_local_codes() -> None:
    assert "local codes and licensed practice" in CAUTION
    assert "when in doubt, do not" in CAUTION


def test_a_smell_of_acid_forbids_heating() -> None:
    """However sure the cold tests are of a polyethylene; no other smell forbids it by itself."""
    smells = {word: observe("burn_smell", outcome=word, allow=["burn"]) for word in OUTCOMES["burn_smell"]}
    assert [word for word, seen in smells.items() if forbidding([seen])] == ["hydrochloric acid"]
    seen = [*LIGHT, {"test": "softening", "temperature": "131 ± 2 degC"}]
    sure = {"PE-HD": 0.999, "PVC-U": 0.001}
    for word, allowed in (("candle", True), ("hydrochloric acid", False)):
        answer = identify([*seen, {"test": "burn_smell", "outcome": word}], prior=sure, allow=["burn"])
        assert answer.leader == "PE-HD"
        assert answer.heat.allowed is allowed
    assert "smelled of acid when burnt: it may hold chlorine" in answer.heat.reasons
