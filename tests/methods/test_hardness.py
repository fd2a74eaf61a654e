"""Hardness: the relation against publications, and that hardness and stiffness are not counted twice."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from strategies import SETTINGS

from resinid import Have, default_table, identify, identify_table, next_tests, observe
from resinid.door.reading import Reading
from resinid.methods.hardness.method import DUROMETER_A, DUROMETER_D, ScratchFingernail, ShoreA, ShoreD
from resinid.methods.hardness.relation import SHORE_A, SHORE_D, elastomer_modulus
from resinid.scoring.dependence import dependent
from resinid.table.mixture import mixture

if TYPE_CHECKING:
    from resinid.table.entries import Statement

ELASTOMERS: Final = ((43.0, 68.9), (55.0, 137.9))
"""Shore D and flexural modulus [MPa] of two polyurethane grades (data sheets of Texin 245 and 255 as
a distributor prints them: 9990 and 20000 psi)."""

POLYESTERS: Final = ((40.0, 62.0), (47.0, 117.0), (55.0, 207.0), (63.0, 330.0), (72.0, 570.0), (82.0, 1210.0))
"""The same of copolyester elastomers (data sheets, from memory)."""


def gent(shore: float) -> float:
    """Gent 1958, Trans. Inst. Rubber Ind. 34:46, modulus [MPa] of Shore A (formula from memory)."""
    return 0.0981 * (56.0 + 7.62336 * shore) / (0.137505 * (254.0 - 2.54 * shore))


def middle(row: Statement) -> float | None:
    if row.typical is not None:
        return row.typical
    return None if row.low is None or row.high is None else (row.low + row.high) / 2


def pairs_of_table() -> list[tuple[float, float]]:
    """Shore D and mean log modulus of each resin that has both in the reference table."""
    table = default_table()
    found: dict[tuple[str, str], list[float]] = {}
    for row in table.statements:
        value = middle(row)
        if row.property == "shore_d" and value is not None:
            found.setdefault((row.resin, row.variant), []).append(value)
    out = []
    for variant in table.variants:
        readings = found.get((variant.resin, variant.name))
        if readings:
            normals = mixture(table, variant, "flexural_modulus").normals
            out.append((float(np.mean(readings)), math.fsum(n.weight * n.mean for n in normals)))
    return out


@pytest.mark.parametrize("shore", range(20, 91, 5))
def test_shore_a_agrees_with_gent(shore: int) -> None:
    """The two published relations agree within one and a half times the scatter that is stated."""
    assert abs(math.log(gent(shore)) - SHORE_A.log_modulus(shore)) < 1.5 * SHORE_A.scatter


def test_the_elastomer_relation_fails_for_plastics() -> None:
    """Every plastic of the table is far stiffer than Qi, Joyce and Boyce 2003 give for its Shore D."""
    excess = [log - math.log(elastomer_modulus(shore + 50.0)) for shore, log in pairs_of_table()]
    assert len(excess) >= 14
    assert min(excess) > math.log(4.0)


def test_shore_d_fits_the_table_and_thermoplastic_elastomers() -> None:
    """Plastics lie about the curve, thermoplastic elastomers below it; the stated scatter covers both."""
    plastics = np.array([log - SHORE_D.log_modulus(shore) for shore, log in pairs_of_table()])
    assert abs(plastics.mean()) < 0.25
    assert plastics.std(ddof=1) < SHORE_D.scatter
    soft = np.array([math.log(modulus) - SHORE_D.log_modulus(shore) for shore, modulus in ELASTOMERS + POLYESTERS])
    assert np.abs(soft).max() < 2.6 * SHORE_D.scatter
    every = np.concatenate([plastics, soft])
    assert math.sqrt(float((every**2).mean())) < 1.4 * SHORE_D.scatter


def test_a_published_piece() -> None:
    """PE-HD of Shore D 69 and 200 000 psi (K-mac Plastics, property table): within the stated scatter."""
    assert abs(math.log(1379.0) - SHORE_D.log_modulus(69.0)) < SHORE_D.scatter


def test_the_two_scales_meet() -> None:
    """Shore A 70 and Shore D 20 to 22 are one hardness (ASTM D2240 conversion chart, from memory)."""
    assert SHORE_A.log_modulus(70.0) == pytest.approx(SHORE_D.log_modulus(20.0))


@SETTINGS
@given(st.floats(0.0, 100.0), st.floats(0.0, 100.0))
def test_harder_is_stiffer(one: float, other: float) -> None:
    """A higher reading never stands for a lower modulus."""
    low, high = sorted((one, other))
    for scale in (SHORE_A, SHORE_D):
        assert scale.log_modulus(low) <= scale.log_modulus(high)


@SETTINGS
@given(st.floats(0.0, 100.0), st.floats(0.1, 3.0))
def test_alone_is_the_relations_error_integrated_out(reading: float, u: float) -> None:
    """A reading that stands alone has the likelihood of one whose shared error is integrated over a normal."""
    error = np.linspace(-8, 8, 3201)[:, None]
    weights = np.exp(-0.5 * error**2) / math.sqrt(2 * math.pi) * (error[1] - error[0])
    values = np.geomspace(0.1, 20000.0, 61)
    for kind in (ShoreA, ShoreD):
        term = kind(Reading(reading, u)).term()
        integrated = (weights * term.likelihood(values, error)).sum(axis=0)
        np.testing.assert_allclose(term.likelihood(values, None), integrated, atol=1e-6)


def test_readings_of_one_piece_share_the_relations_error() -> None:
    """Ten Shore readings say hardly more than three: the relation's error is one and the same."""
    one = [{"test": "shore_d", "hardness": "45 ± 1"}]
    keys = {observe("shore_a", hardness="70").term().shared, observe("shore_d", hardness="60").term().shared}
    assert len({shared.key for shared in keys if shared is not None}) == 1
    thrice, tenfold = identify(one * 3), identify(one * 10)
    for symbol in ("PE-LD", "EVAC", "PP", "PE-HD"):
        assert abs(math.log(tenfold[symbol] / thrice[symbol])) < 0.12


def test_hardness_after_bending_adds_little() -> None:
    """With the modulus measured, a Shore reading that agrees changes the odds of resins of that modulus by little."""
    bent = [{"test": "modulus", "modulus": "1100 ± 50 MPa"}, {"test": "density", "density": "0.955 ± 0.002 g/cm3"}]
    before, after = identify(bent), identify([*bent, {"test": "shore_d", "hardness": "66"}])
    assert after.leader == before.leader == "PE-HD"
    for symbol in ("PE-HD", "PP"):
        assert abs(math.log(after[symbol] / before[symbol])) < math.log(1.1)


def test_scratch_goes_with_stiffness() -> None:
    assert dependent(ScratchFingernail.observes, "flexural_modulus") > 0.3


def test_hard_and_soft_are_told_apart() -> None:
    """Shore D 80 speaks for polystyrene against polyethylene, and a nail that marks it the other way round."""
    hard = identify([{"test": "shore_d", "hardness": "80"}], prior="uniform")
    assert hard["PS"] > 10 * hard["PE-LD"]
    soft = identify([{"test": "shore_a", "hardness": "50"}], prior="uniform")
    assert soft["VMQ"] > 10 * soft["PE-HD"]
    marked = identify([{"test": "scratch_fingernail", "outcome": "easily"}], prior="uniform")
    assert marked["PE-LD"] > 3 * marked["PS"]


def test_offered_where_a_durometer_is_at_hand() -> None:
    offered = {s.plan.test for s in next_tests([], have=Have(tools=(DUROMETER_A, DUROMETER_D))).suggestions}
    assert {"shore_a", "shore_d", "scratch_fingernail"} <= offered
    without = {s.plan.test for s in next_tests([], have=Have()).suggestions}
    assert "scratch_fingernail" in without
    assert "shore_d" not in without


def test_columns_say_the_same() -> None:
    """A row of a table has the numbers of the piece alone."""
    frame = pd.DataFrame(
        {
            "shore_d.hardness": [64.0, 20.0],
            "shore_d.hardness_u": [1.0, 1.0],
            "scratch_fingernail.outcome": ["easily", "no"],
        }
    )
    found = identify_table(frame, top=1)
    for row, (hardness, word) in enumerate([(64.0, "easily"), (20.0, "no")]):
        alone = identify(
            [
                {"test": "shore_d", "hardness": Reading(hardness, 1.0)},
                {"test": "scratch_fingernail", "outcome": word},
            ]
        )
        assert found["resin_1"][row] == alone.leader
        assert found["probability_1"][row] == pytest.approx(alone[alone.leader], abs=1e-9)
