"""Hardness: the relation against publications, that hardness and stiffness are not counted twice, and the pencils."""

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
from resinid.io.reading import Reading
from resinid.methods.hardness.method import DUROMETER_A, DUROMETER_D, ScratchFingernail, ShoreA, ShoreD
from resinid.methods.hardness.pencil import (
    HAND,
    PENCIL_HARDNESS,
    PENCIL_SET,
    PENCILS,
    READINGS,
    REPEAT,
    PencilHardness,
    grade_of,
)
from resinid.methods.hardness.relation import SHORE_A, SHORE_D, elastomer_modulus
from resinid.reference.mixture import mixture
from resinid.scoring.dependence import dependent

if TYPE_CHECKING:
    from resinid.reference.entries import Statement

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
    reference = default_reference()
    found: dict[tuple[str, str], list[float]] = {}
    for row in reference.statements:
        value = middle(row)
        if row.property == "shore_d" and value is not None:
            found.setdefault((row.resin, row.variant), []).append(value)
    out = []
    for variant in reference.variants:
        readings = found.get((variant.resin, variant.name))
        if readings:
            normals = mixture(reference, variant, "flexural_modulus").normals
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
    offered = {s.plan.test for s in next_tests([], bench=Bench(tools=(DUROMETER_A, DUROMETER_D))).suggestions}
    assert {"shore_a", "shore_d", "scratch_fingernail"} <= offered
    without = {s.plan.test for s in next_tests([], bench=Bench()).suggestions}
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


ISO_15184: Final = "6B 5B 4B 3B 2B B HB F H 2H 3H 4H 5H 6H 7H 8H 9H"
"""The scale from soft to hard (JIS K 5400, as Okajima Wood prints it; 6B to 6H also in ASTM D3363-00)."""

PUBLISHED_PENCILS: Final = (("PC", "2B"), ("PMMA", "4H"), ("PMMA", "H"), ("PMMA", "2H"), ("PTFE", "HB"), ("MF", "8H"))
"""Bare plastics: Sumitomo Bakelite, Policaace catalogue, table 5 (PC, PMMA 4H); Sumitomo Kagaku 2006-I (acrylic
film H); Ena Kogei (acrylic 2H); DuPont, Teflon coatings (HB); Itami Kanzaki (melamine 6H to 9H)."""


def pencil(mark: str) -> list[dict[str, str]]:
    return [{"test": "pencil_hardness", "pencil": mark}]


def test_the_scale_is_the_standards() -> None:
    """One pencil is one unit (ASTM D3363-00, 5.1)."""
    assert tuple(ISO_15184.split()) == PENCILS
    assert [grade_of(mark) for mark in ISO_15184.split()] == list(range(1, 18))


def test_the_reading_error_is_no_less_than_the_standards() -> None:
    """ASTM D3363-20, 9.1: two results more than one pencil apart are suspect at 95 %, so their standard deviation is
    1/1.96/root 2 at most; a hand with pencils of another maker is no better."""
    assert math.hypot(HAND, REPEAT) > REPEAT > 1.0 / 1.96 / math.sqrt(2)
    assert math.hypot(HAND, REPEAT) == pytest.approx(1.0, abs=0.1)


@pytest.mark.parametrize(("resin", "mark"), PUBLISHED_PENCILS)
def test_published_pencils_speak_for_their_resin(resin: str, mark: str) -> None:
    """A piece that is scratched as published becomes likelier to be what it is."""
    answer = identify(pencil(mark), prior="uniform")
    assert answer[resin] > 1.2 * dict(zip(answer.resins, answer.prior, strict=False))[resin]


def test_drawn_polyester_film_is_below_the_scale_and_no_distribution() -> None:
    """Low and others 2021 find 9B or less for bare PET film: kept in the table, but a lone limit is not scored."""
    latent = PENCIL_HARDNESS.latent(default_reference())
    index = next(i for i, variant in enumerate(default_reference().variants) if variant.resin == "PET")
    assert "low-2021" not in latent.sources[index]
    assert latent.stated[index]


def test_acrylic_from_polycarbonate() -> None:
    """The two clear sheets: a 2H pencil that leaves no scratch speaks for acrylic, a B pencil that does against it."""
    hard, soft = identify(pencil("2H"), prior="uniform"), identify(pencil("2B"), prior="uniform")
    assert hard["PMMA"] > 3 * hard["PC"]
    assert soft["PC"] > 3 * soft["PMMA"]
    wax = identify(pencil("softer than 6B"), prior="uniform")
    assert wax["PE-LD"] > 10 * wax["PS"]


@SETTINGS
@given(st.floats(-3.0, 21.0), st.floats(-4.0, 4.0))
def test_something_is_read(hardness: float, error: float) -> None:
    """Law: over all readings the chances add up to one, at any hardness, alone or at any shared error."""
    values = np.array([hardness])
    alone = sum(PencilHardness(mark).likelihood(values, None) for mark in READINGS)
    assert alone == pytest.approx(1.0, abs=1e-9)
    shared = sum(PencilHardness(mark).likelihood(values, np.array([[error]])) for mark in READINGS)
    assert shared == pytest.approx(1.0, abs=1e-9)


@SETTINGS
@given(st.sampled_from(READINGS))
def test_alone_a_pencils_shared_error_is_integrated_out(mark: str) -> None:
    """Law: a reading that stands alone has the likelihood of one whose shared error is integrated over a normal."""
    error = np.linspace(-8, 8, 3201)[:, None]
    weights = np.exp(-0.5 * error**2) / math.sqrt(2 * math.pi) * (error[1] - error[0])
    values = np.linspace(-3.0, 21.0, 49)
    made = PencilHardness(mark)
    integrated = (weights * made.likelihood(values, error)).sum(axis=0)
    np.testing.assert_allclose(made.likelihood(values, None), integrated, atol=1e-6)


@SETTINGS
@given(st.sampled_from(READINGS[1:]), st.floats(-3.0, 20.0), st.floats(0.1, 5.0))
def test_harder_pieces_read_harder(mark: str, hardness: float, more: float) -> None:
    """Law: the chance to read that pencil or a harder one never falls as the piece gets harder."""
    values = np.array([hardness, hardness + more])
    harder = np.sum([PencilHardness(m).likelihood(values, None) for m in READINGS[grade_of(mark) :]], axis=0)
    assert harder[1] >= harder[0] - 1e-12


def test_repeating_with_one_set_does_not_wear_down_its_error() -> None:
    """Ten readings with one set of pencils say hardly more than three."""
    thrice, tenfold = identify(pencil("2B") * 3), identify(pencil("2B") * 10)
    for symbol in ("PC", "PMMA", "PP", "PE-HD"):
        assert abs(math.log(tenfold[symbol] / thrice[symbol])) < 0.25


def test_pencils_and_stiffness_go_together_loosely() -> None:
    assert 0.0 < dependent(PENCIL_HARDNESS, "flexural_modulus") < dependent(PENCIL_HARDNESS, ScratchFingernail.observes)


@pytest.mark.parametrize("written", ["hb", "HB", " hB "])
def test_a_mark_may_be_written_in_small_letters(written: str) -> None:
    assert observe("pencil_hardness", pencil=written).describe() == "hardest pencil that leaves no scratch: HB"


def test_a_wrong_mark_is_told_the_right_ones() -> None:
    with pytest.raises(InputError, match=r"pencil: 'H3' is not one of: softer than 6B, 6B, .* HB, F, H, 2H, .* 9H"):
        identify(pencil("H3"))


def test_offered_where_pencils_are_at_hand() -> None:
    plans = [s.plan for s in next_tests([], bench=Bench(tools=(PENCIL_SET,))).suggestions]
    (plan,) = (plan for plan in plans if plan.test == "pencil_hardness")
    assert "coated" in plan.caution
    assert len(plan.outcomes) == len(PENCILS) + 1
    assert "pencil_hardness" not in {s.plan.test for s in next_tests([], bench=Bench()).suggestions}


def test_pencils_in_columns_say_the_same() -> None:
    """A row of a table has the numbers of the piece alone; an empty cell is a test not done."""
    marks = ["2H", "2b", None, "softer than 6B"]
    density = {"density.density [g/cm3]": 1.19, "density.density_u [g/cm3]": 0.005}
    found = identify_table(pd.DataFrame({"pencil_hardness.pencil": marks, **density}), top=1)
    for row, mark in enumerate(marks):
        alone = identify([{"test": "density", "density": "1.19 ± 0.005 g/cm3"}, *(pencil(mark) if mark else [])])
        assert found["resin_1"][row] == alone.leader
        assert found["probability_1"][row] == pytest.approx(alone[alone.leader], abs=1e-9)
