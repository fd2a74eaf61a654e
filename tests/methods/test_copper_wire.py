"""The hot copper wire: green by formula, off until allowed."""

from __future__ import annotations

from pathlib import Path
from typing import Final

import pytest
from words import chances, faults_of, rows_of

from resinid import default_reference, identify, next_tests, observe
from resinid.errors import NotAllowedError
from resinid.methods import copper_wire
from resinid.methods.bench_parser import parse_bench
from resinid.methods.copper_wire.method import COPPER_WIRE, METHOD
from resinid.methods.registry import find_test
from resinid.scoring.dependence import dependent
from resinid.scoring.properties import observed

FOLDER: Final = Path(copper_wire.__file__).parent

CHLORINE: Final = {"PVC-U": 56.7, "PVC-P": 56.7}
"""Share of chlorine in the polymer's mass [%]: 35.45/62.50 of the repeat unit C2H3Cl."""

FLAME_RETARDED: Final = {"ABS", "PS-HI", "PS-E", "PBT", "PC+ABS", "PC", "EP", "UP", "PUR", "PPS", "NR"}
"""Sold with chlorine or bromine added often enough that the rows say so."""


def test_green_by_formula() -> None:
    """A resin with chlorine in its formula is green; one without is not, however many fluorine atoms it has."""
    found = chances("copper_wire")
    assert CHLORINE["PVC-U"] == pytest.approx(100 * 35.45 / 62.50, abs=0.1)
    for resin, chance in found.items():
        if resin in CHLORINE:
            assert chance["green"] > 0.8, resin
        else:
            assert chance["green"] < (0.45 if resin in FLAME_RETARDED else 0.25), resin
    assert found["PVC-U"]["green"] > 4 * max(found["PTFE"]["green"], found["PVDF"]["green"])


def test_flame_retardants_colour_the_flame_too() -> None:
    """Green alone does not make ABS impossible: two of three flame-retarded housings hold bromine."""
    assert green("ABS", "flame-retarded") > 2.5 * green("ABS", "natural")
    assert green("ABS", "natural") == pytest.approx(green("PE-HD", "natural"), abs=0.01)


def green(resin: str, variant: str) -> float:
    """Return the chance of green for a variant."""
    reference = default_reference()
    row = [(each.resin, each.name) for each in reference.variants].index((resin, variant))
    return float(observed(COPPER_WIRE).latent(reference).mass[row, 0])


def test_no_green_does_not_clear_phosphate() -> None:
    """Of retarded housings 31 parts hold phosphate in flat sets, beside 18 with bromine and 61 of older ones
    (Peeters and others 2014, Sindiku and others 2015): a third of ABS and PS-HI, most of PC+ABS."""
    for resin, phosphate in (("ABS", 31 / (18 + 61 + 31)), ("PS-HI", 31 / (18 + 61 + 31)), ("PC+ABS", 31 / (18 + 31))):
        none = 1.0 - green(resin, "flame-retarded")
        assert phosphate < none < phosphate + 0.1 or none == pytest.approx(phosphate, abs=0.03)
    assert "phosphate" in METHOD.caution
    made = [{"test": "mark", "reads": "ABS"}, {"test": "copper_wire", "outcome": "no green"}]
    before, after = identify(made[:1]), identify(made, allow=["copper wire"])
    share = [dict(each.variants)["flame-retarded"] for each in (before, after)]
    assert share[0] / 3 < share[1] < share[0] / 1.5


def test_green_moves_the_answer_to_pvc() -> None:
    """From even odds, green makes PVC the leader, and no green takes nearly all of it away."""
    green = identify([{"test": "copper_wire", "outcome": "green"}], prior="uniform", allow=["copper wire"])
    assert green.leader in CHLORINE
    none = identify([{"test": "copper_wire", "outcome": "no green"}], prior="uniform", allow=["copper wire"])
    even = dict(zip(green.resins, green.probability, strict=False))
    assert dict(zip(none.resins, none.probability, strict=False))["PVC-U"] < even["PVC-U"] / 5


def test_off_until_allowed_and_needs_wire_and_burner() -> None:
    """Withheld for its danger; recommended with wire and burner once allowed; never with one of them alone."""
    with pytest.raises(NotAllowedError, match="copper wire"):
        observe("copper_wire", outcome="green")
    assert observe("copper_wire", outcome="green", allow=["copper wire"]).describe() == "copper wire: green"
    label = "hot copper wire for chlorine or bromine"
    held = next_tests(bench=parse_bench("burner, copper wire"), question="pvc")
    assert "not allowed" in dict(held.withheld)[label]
    for bench, offered in (("burner, copper wire", True), ("copper wire", False), ("burner", False)):
        advice = next_tests(bench=parse_bench(bench), question="pvc", allow=["copper wire"])
        assert ("copper_wire" in [one.plan.test for one in advice.suggestions]) is offered


def test_depends_on_the_burn() -> None:
    """Chlorine also puts a flame out and colours it, so these count for less than if independent."""
    wire = find_test("copper_wire").observes
    for part, share in (("burn_self_extinguishing", 0.3), ("burn_flame", 0.3), ("burn_drips", 0.0)):
        assert dependent(wire, find_test(part).observes) == share


def test_rows_and_caution() -> None:
    """Sources exist; the caution says what else is green, and what PVC gives off."""
    assert faults_of(FOLDER, rows_of(FOLDER, ("copper_wire",))) == []
    caution = METHOD.caution
    for word in ("hydrogen chloride", "halogenated flame retardants", "celluloid", "hood", "local codes"):
        assert word in caution
    assert "pasto-johnson" in {source.key for source in default_reference().sources}
