"""Springing back, the cut face and the smell of a rubbed piece: what tells the forbidden from the rest."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import pytest
from words import chances, faults_of, rows_of, unused_sources

from resinid import default_reference, identify
from resinid.methods.cut_face import method as cut_face
from resinid.methods.cut_face.method import CUT_FACE
from resinid.methods.recovery import method as recovery
from resinid.methods.recovery.method import SPRING_BACK
from resinid.methods.registry import find_test
from resinid.methods.rub_smell import method as rub_smell
from resinid.reference.method_rows import behaviours_of
from resinid.testing import check_method

RECOVERY: Final = Path(recovery.__file__).parent
SMELL: Final = Path(rub_smell.__file__).parent
RUBBERS: Final = ("NR", "VMQ", "TPU", "TPS")
STAY: Final = ("PE-HD", "PE-MD", "PE-LLD", "PP")


def of_variant(resin: str, variant: str) -> dict[str, float]:
    """Return the chance of each way to recover for one variant."""
    reference = default_reference()
    names = [(each.resin, each.name) for each in reference.variants]
    row = SPRING_BACK.latent(reference).mass[names.index((resin, variant))]
    return dict(zip(SPRING_BACK.outcomes, row.tolist(), strict=True))


def seen(test: str, outcome: str) -> dict[str, float]:
    answer = identify([{"test": test, "outcome": outcome}], prior="uniform")
    return dict(zip(answer.resins, answer.probability, strict=True))


def test_they_keep_the_contract() -> None:
    for method, outcomes in ((recovery, 3), (cut_face, 2), (rub_smell, 3)):
        assert len(check_method(method.METHOD)) >= outcomes


@pytest.mark.parametrize("test", ["spring_back", "cut_face", "rub_smell"])
def test_each_resin_has_chances_that_sum_to_one(test: str) -> None:
    found = chances(test)
    assert set(found) == set(default_reference().symbols)
    for chance in found.values():
        assert sum(chance.values()) == pytest.approx(1.0)


@pytest.mark.parametrize(("folder", "test"), [(RECOVERY, "spring_back"), (SMELL, "rub_smell")])
def test_rows_are_sourced(folder: Path, test: str) -> None:
    rows = rows_of(folder, (test,))
    if test == "spring_back":
        for variant in SPRING_BACK.variants:
            own = behaviours_of(folder, f"{test} of {variant}", SPRING_BACK.outcomes)
            assert own
            assert all(any((v.resin, v.name) == (r.resin, variant) for v in default_reference().variants) for r in own)
            rows += own
    assert faults_of(folder, rows) == []
    assert unused_sources(folder, rows) == set()


def test_rubber_by_definition() -> None:
    """Rubber springs back by definition (ASTM D1566), polyethylene past its yield stays (Brooks and others 1999)."""
    found = chances("spring_back")
    assert min(found[resin]["springs back"] for resin in RUBBERS) > 0.5
    assert max(found[resin]["springs back"] for resin in STAY) < 0.25
    assert min(found[resin]["stays bent or dented"] for resin in STAY) > 0.5
    assert of_variant("PE-LD", "natural")["stays bent or dented"] > 0.5
    back, stays = seen("spring_back", "springs back"), seen("spring_back", "stays bent or dented")
    for rubber in RUBBERS:
        assert back[rubber] > 2 * back["PE-LD"]
        assert stays[rubber] < stays["PE-LD"] / 2


def test_foams_by_variant() -> None:
    """Flexible polyurethane keeps 90 % of its height (PFA); so do EVAC and crosslinked PE foam; bead foam does not."""
    for resin, variant in (("PUR", "flexible foam"), ("EVAC", "foam"), ("PE-LD", "crosslinked foam")):
        assert of_variant(resin, variant)["springs back"] > 0.5
    for resin, variant in (("PUR", "rigid foam"), ("PS-E", "expanded bead foam"), ("PVC-U", "foamed")):
        assert of_variant(resin, variant)["stays bent or dented"] > 0.5


def test_foam_is_cellular_by_definition() -> None:
    """Expanded polystyrene is always a foam, PE-HD never; a cut speaks eight to one or more either way."""
    latent = CUT_FACE.latent(default_reference())
    for row, variant in enumerate(default_reference().variants):
        assert latent.mass[row, 1] == (0.95 if variant.filler == "gas" else 0.03)
    solid = seen("cut_face", "solid")
    assert solid["PS-E"] < solid["PE-HD"] / 8
    cellular = seen("cut_face", "cellular")
    assert cellular["PS-E"] > 8 * cellular["PE-HD"]


def test_a_solid_cut_face_counts_for_heating() -> None:
    """It is a look at the piece itself; a mark or an article is not."""
    assert getattr(find_test("cut_face"), "clears_heating", True)


def test_camphor_forbids_heating() -> None:
    """Celluloid rubbed with a cloth gives off camphor (Reilly 1991); no smell says little, for old pieces lost it."""
    camphor = identify([{"test": "rub_smell", "outcome": "camphor"}], prior="uniform")
    assert camphor.leader == "CN"
    assert any("camphor" in reason for reason in camphor.heat.reasons)
    assert not camphor.heat.allowed
    before = identify([], prior="uniform")["CN"]
    nothing = seen("rub_smell", "nothing")["CN"]
    assert before / 3 < nothing < before
    cleared = [
        {"test": "float", "liquid": "water", "outcome": "floats"},
        {"test": "mark", "reads": "PP"},
        {"test": "hot_plate", "not_melted_at": "150 degC", "melted_at": "170 degC"},
        {"test": "density", "density": "0.905 g/cm3"},
        {"test": "rub_smell", "outcome": "camphor"},
    ]
    assert not identify(cleared).heat.allowed
