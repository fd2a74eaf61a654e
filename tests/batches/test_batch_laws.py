"""Laws of the verdict, each stated by its test."""

from __future__ import annotations

import json
import math
from unittest.mock import patch

import numpy as np
import pytest
from bags import BARRED, MORE, SAFE, SETTINGS, bag, bags, known, proved
from hypothesis import given
from hypothesis import strategies as st

from resinid import Batch, InputError, MeltPlan, RangeError, melt_plan, melt_together
from resinid.batches import mix_outcome
from resinid.batches import mix_part as drawn
from resinid.batches.compatibility import judge
from resinid.batches.mix_outcome import mixed, tolerated
from resinid.batches.mixing_rules import MELTED_TOGETHER, mixing_rules
from resinid.batches.pair_compatibility import CHANCES
from resinid.batches.pair_conditions import conditions
from resinid.heating.verdict import DO_NOT_HEAT, NOT_YET
from resinid.reference.table import default_reference

TABLE = default_reference()
RULES = mixing_rules(TABLE)
ORDER = ("one melt", "usable with limits", "will delaminate", NOT_YET, DO_NOT_HEAT)
FORBIDS = {NOT_YET, DO_NOT_HEAT}


@pytest.mark.slow
@SETTINGS
@given(bags("first"), bags("second"), st.floats(0.05, 0.95))
def test_symmetric_in_its_two_batches(first: Batch, second: Batch, share: float) -> None:
    """Which batch is named first does not matter."""
    one = melt_together(first, second, shares=(share, 1.0 - share))
    other = melt_together(second, first, shares=(1.0 - share, share))
    assert one.chances == pytest.approx(other.chances, abs=1e-12)
    assert (one.verdict, one.deciding) == (other.verdict, other.deciding)
    assert one.danger == other.danger
    assert {(c.batch, round(c.share, 6)) for c in one.changes} == {(c.batch, round(c.share, 6)) for c in other.changes}


@pytest.mark.slow
@SETTINGS
@given(bags("first"), bags("second"), st.floats(0.01, 0.99), st.sampled_from((0.0, 0.001, 0.01, 0.05)))
def test_danger_above_the_limit_is_never_melted(first: Batch, second: Batch, share: float, limit: float) -> None:
    """No path returns a melt for a mix whose danger exceeds the limit, nor a plan, nor for unidentified stock."""
    found = melt_together(first, second, shares=(share, 1.0 - share), danger_limit=limit)
    plan = melt_plan(first, second, shares=(share, 1.0 - share), danger_limit=limit)
    if found.danger > limit or found.refusals:
        assert found.verdict in FORBIDS
        assert not found.allowed
        assert plan.steps is None
        assert json.loads(found.to_json())["verdict"] == found.verdict
        assert json.loads(plan.to_json())["steps"] is None
    if plan.steps is not None:
        assert plan.verdict.verdict in {"one melt", "usable with limits"}
        assert plan.verdict.danger <= limit
        assert plan.steps.window.high <= min(
            window.ceiling for name, _ in plan.steps.resins if (window := RULES.windows[RULES.index(name)]) is not None
        )
    for batch in (first, second):
        if batch.items == 0 or set(batch.remarks) & {"halogen found", "electrical housing"}:
            assert found.verdict in FORBIDS
    assert math.fsum(found.chances) == pytest.approx(1.0)
    assert all(-1e-12 <= chance <= 1.0 for chance in found.chances)


@pytest.mark.slow
@MORE
@given(bags("first"), bags("second"), st.floats(0.01, 0.99), st.sampled_from((0.0, 0.01, 0.05)))
def test_danger_above_the_limit_is_never_melted_more_often(a: Batch, b: Batch, share: float, limit: float) -> None:
    """The same law with more examples."""
    found = melt_together(a, b, shares=(share, 1.0 - share), danger_limit=limit)
    assert found.verdict in FORBIDS or (found.danger <= limit and not found.refusals)


@pytest.mark.slow
@SETTINGS
@given(st.sampled_from(BARRED), st.sampled_from(SAFE), st.integers(1, 30), st.floats(0.001, 0.999))
def test_barred_resins_are_refused_at_any_share(resin: str, other: str, count: int, share: float) -> None:
    """A bag of a barred resin is refused however little of it goes in: thinning is no permission."""
    found = melt_together(
        Batch.of("bad", marked={resin: count}), Batch.of("good", marked={other: 50}), shares=(share, 1 - share)
    )
    assert found.verdict == DO_NOT_HEAT


@SETTINGS
@given(st.sampled_from(SAFE), st.sampled_from(SAFE), st.lists(st.floats(0.0, 0.5), min_size=2, max_size=2))
def test_monotone_in_contamination(resin: str, contaminant: str, amounts: list[float]) -> None:
    """More of a contaminant never makes one melt likelier, nor delamination less likely."""
    if resin == contaminant:
        return
    low, high = sorted(amounts)
    i, j = RULES.index(resin), RULES.index(contaminant)
    one: list[float] = []
    holds: list[float] = []
    for amount in (low, high):
        shares = np.zeros((1, 1, len(RULES.model.candidates)))
        shares[..., i], shares[..., j] = 1.0 - amount, amount
        found = mixed(shares, RULES)
        one.append(float(found.one[0, 0]))
        holds.append(float(found.holds[0, 0]))
    assert one[1] <= one[0] + 1e-9
    assert holds[1] <= holds[0] + 1e-9


@SETTINGS
@given(st.integers(0, 2**32), st.floats(0.005, 0.5))
def test_chances_are_the_products_over_all_pairs(seed: int, weight: float) -> None:
    """They are those of the formula stated in the module, for mixes of which nothing is a trace."""
    size = len(RULES.model.candidates)
    shares = np.random.default_rng(seed).dirichlet(np.full(size, weight), (2, 3))
    with patch.object(mix_outcome, "TRACE", -1.0):
        found = mixed(shares, RULES, by_pair=True)
    i, j = np.triu_indices(size, 1)
    greater = np.where(shares[..., i] >= shares[..., j], i, j)
    lesser = i + j - greater
    least = np.minimum(shares[..., i], shares[..., j])
    unnoticed, harmless = (tolerated(least, each[greater, lesser]) for each in (RULES.notice, RULES.harm))
    good, bad, together = (np.tile(each[i, j], (2, 3, 1)) for each in (*RULES.chances.T[[0, 2]], RULES.overlaps))
    for row in conditions():
        if not row.agent:
            first, second = map(RULES.index, (row.first, row.second))
            part = 100.0 * shares[..., first] / (shares[..., first] + shares[..., second])
            met = ((part >= row.least) & (part <= row.most))[..., None] & (
                (i == min(first, second)) & (j == max(first, second))
            )
            good[met], _, bad[met] = CHANCES[row.rating]
            together[met] = np.maximum(together[met], MELTED_TOGETHER)
    one = unnoticed + (1.0 - unnoticed) * good * together
    holds = np.maximum(one, 1.0 - (1.0 - harmless) * (bad + (1.0 - together) * (1.0 - bad)))
    assert found.one == pytest.approx(one.prod(axis=2), abs=1e-12)
    assert found.holds == pytest.approx(holds.prod(axis=2), abs=1e-12)
    assert found.lost[:, i, j] == pytest.approx((1.0 - one).mean(axis=1), abs=1e-12)


@pytest.mark.slow
@SETTINGS
@given(st.sampled_from(("PP", "PS", "ABS", "PET", "PA6", "PVC-U")), st.integers(0, 20), st.integers(0, 20))
def test_a_dirtier_bag_is_never_judged_better(contaminant: str, few: int, more: int) -> None:
    """More pieces of a contaminant among as many of the main resin never improve the verdict of a bag."""
    few, more = sorted((few, more))
    verdicts = []
    for count in (few, more):
        marked = {"PE-HD": 60, **({contaminant: count} if count else {})}
        bags = Batch.of("bag", marked=marked), Batch.of("clean", marked={"PE-HD": 60}, mfr="5 g/(10 min)")
        with patch.object(drawn, "DRAWS", 4000):
            found = melt_together(*bags)
        verdicts.append(found.danger if contaminant == "PVC-U" else found.chances[0])
    if contaminant == "PVC-U":
        assert verdicts[1] >= verdicts[0] - 1e-9
    else:
        # Draws differ with the bag, so the averages carry a little noise: a standard error of 0.01 with 4,000.
        assert verdicts[1] <= verdicts[0] + 0.04


@pytest.mark.parametrize("resin", ["PE-HD", "PE-LD", "PP", "PS", "PS-HI", "ABS", "PA6", "PMMA", "EVAC", "PLA"])
def test_a_batch_beside_itself_is_one_melt(resin: str) -> None:
    """A well identified bag with itself gives one melt, whatever process it came from."""
    for process in ("unknown", "injection moulding"):
        whole = proved("bag", {resin: 80}, process)
        found = melt_together(whole, whole)
        assert found.verdict == "one melt", (found.deciding, found.chances)
        assert found.chances[0] > 0.6
        assert not found.changes


@pytest.mark.parametrize(
    ("process", "other"),
    [("injection moulding", "blow moulding"), ("injection moulding", "film"), ("injection moulding", "extrusion")],
)
def test_one_resin_of_very_different_grade_has_limits(process: str, other: str) -> None:
    """Caps and bottles are both PE-HD, yet not one melt (common practice; the stated ratio is 3.28)."""
    found = melt_together(known("caps", process, PE_HD=60), known("bottles", other, PE_HD=60))
    assert found.verdict == "usable with limits"
    assert found.reasons[0].kind == "flow"
    assert found.flow is not None
    assert not found.flow.valid


def test_a_small_share_of_another_grade_is_not_noticed() -> None:
    caps, bottles = known("caps", "injection moulding", PE_HD=60), known("bottles", "blow moulding", PE_HD=60)
    assert melt_together(caps, bottles, shares=(0.98, 0.02)).verdict == "one melt"
    change = {c.batch: c for c in melt_together(caps, bottles).changes}["bottles"]
    assert change.verdict == "one melt"


def test_the_share_at_which_it_changes_is_where_it_changes() -> None:
    """Just to either side of the named share the verdict is the old and the new one."""
    first, second = known("PE", PE_HD=80), known("PP", PP=80)
    found = melt_together(first, second)
    change = {c.batch: c for c in found.changes}["PP"]
    for step, expected in ((0.004, found.verdict), (-0.004, change.verdict)):
        share = change.share + step * (1 if change.share < 0.5 else -1)
        assert melt_together(first, second, shares=(1 - share, share)).verdict == expected


def test_a_test_is_named_that_would_tell() -> None:
    """For an unidentified bag, tests are ranked; hot ones are not offered while PVC or acetal is likely."""
    unknown = Batch.of("unknown", pieces=[[{"test": "float", "liquid": "water", "outcome": "sinks"}]] * 3)
    found = melt_together(bag("pots", PS=80), unknown)
    assert found.verdict in FORBIDS
    assert found.refusals
    assert found.tests
    assert found.tests[0].gain >= found.tests[-1].gain > 0
    assert not any("hot_plate" in gain.test for gain in found.tests)


def test_remarks_are_weighed() -> None:
    boxes, tubs = (
        known("boxes", "injection moulding", PP=80),
        known("tubs", "injection moulding", ("food contact",), PP=80),
    )
    found = melt_together(boxes, tubs)
    assert found.verdict != "one melt"
    assert any("food" in limit for limit in found.limits)
    housing = known("housings", "injection moulding", ("electrical housing",), PS_HI=80)
    cleared = known("housings", "injection moulding", ("electrical housing", "halogen-free"), PS_HI=80)
    pots = known("pots", "injection moulding", PS_HI=80)
    assert melt_together(housing, pots).verdict == DO_NOT_HEAT
    assert "brominated" in melt_together(housing, pots).hazards[0].hazard
    assert melt_together(cleared, pots).allowed
    colours = melt_together(known("a", remarks=("black",), PP=80), known("b", remarks=("white",), PP=80))
    assert any("colours" in limit for limit in colours.limits)


def test_three_batches_and_their_order() -> None:
    three = [known("a", "injection moulding", PE_HD=60), known("b", "injection moulding", PE_HD=60), known("c", PS=60)]
    found = melt_together(*three, shares=(5, 4, 1))
    assert found.verdict == "will delaminate"
    turned = melt_together(*three[::-1], shares=(1, 4, 5))
    assert turned.chances == pytest.approx(found.chances, abs=1e-12)
    assert math.fsum(found.shares) == pytest.approx(1.0)


def test_a_hazard_shows_onset_caution_source_and_local_codes() -> None:
    found = melt_together(bag("pipe", "extrusion", PVC_U=20), bag("caps", PE_HD=60))
    worst = found.hazards[0]
    assert worst.resins == ("PVC-U",)
    assert worst.onset is not None
    assert "do not heat" in worst.caution
    assert worst.source
    data = found.to_dict()
    assert "local codes" in data["local"]
    assert data["verdict"] == DO_NOT_HEAT


def test_the_limit_may_be_changed_but_not_set_aside() -> None:
    few = known("few", "injection moulding", PE_HD=4)
    caps = known("caps", "injection moulding", PE_HD=60)
    strict, lax = melt_together(few, caps), melt_together(few, caps, danger_limit=0.05)
    assert strict.danger == lax.danger
    assert ORDER.index(lax.verdict) <= ORDER.index(strict.verdict)
    assert dict(strict.further)["few"] > 0
    for limit in (0.06, 1.0, -0.1, math.nan):
        with pytest.raises(RangeError):
            melt_together(few, caps, danger_limit=limit)


def test_enough_further_pieces_bring_the_danger_down() -> None:
    """So many further clean pieces as named, and no fewer by much, bring a bag's own danger to the limit."""
    few = bag("few", "injection moulding", PE_HD=3)
    needed = dict(melt_together(few, bag("caps", PE_HD=80)).further)["few"]
    assert melt_together(bag("few", PE_HD=3 + needed + 1), bag("caps", PE_HD=80)).danger <= 0.0125
    assert melt_together(bag("few", PE_HD=3), bag("caps", PE_HD=80)).danger > 0.01


def test_pieces_tested_as_told_do_not_stop_the_bag_that_they_were_to_clear() -> None:
    """Pieces of PET that sink in water and in salt may be PVC each by itself, so more is asked of them than that."""
    sinks = [{"test": "float", "liquid": liquid, "outcome": "sinks"} for liquid in ("water", "table salt saturated")]
    felt = [{"test": "feel", "outcome": "rigid"}, {"test": "snap", "outcome": "creases"}]
    bottles = Batch.of("bottles", marked={"PET": 40}, pieces=[sinks[:1]])
    (told,) = melt_together(bottles, bottles).enough
    assert told.tests == ("water", "saturated salt", "feel", "snap")
    assert told.readings == ("sinks", "sinks", "rigid", "creases")
    done = Batch.of("bottles", marked={"PET": 40}, pieces=[sinks[:1], *[[*sinks, *felt]] * told.pieces])
    assert melt_together(done, done).allowed


def test_a_plan_with_steps_cannot_be_made_for_a_refused_mix() -> None:
    """The value itself refuses: steps are held only with a verdict that allows them."""
    good = melt_plan(known("caps", PE_HD=80))
    bad = melt_together(known("pipe", PVC_U=20), known("caps", PE_HD=80))
    with pytest.raises(InputError):
        MeltPlan(bad, good.steps, "")


def test_bad_input_is_named() -> None:
    caps = bag("caps", PE_HD=5)
    with pytest.raises(InputError, match="at least two"):
        melt_together(caps)
    for shares in ((1.0,), (1.0, -1.0), (1.0, math.nan)):
        with pytest.raises(InputError, match="positive"):
            melt_together(caps, caps, shares=shares)
    with pytest.raises(InputError) as caught:
        Batch.of(
            "x",
            marked={"PE-HD": -1},
            process="spinning",
            mfr="5 g",
            remarks=["blue"],
            flakes=[{"liquid": "water", "floated": 1.5}],
            pieces=[[{"test": "float", "liquid": "water", "outcome": "flies"}]],
        )
    assert len(caught.value.faults) == 6
    with pytest.raises(InputError, match=r"x\.marked\.ZZ"):
        melt_together(caps, Batch.of("x", marked={"ZZ": 1}))


def test_little_is_tolerated_and_much_is_not() -> None:
    assert float(tolerated(np.array(1e-6), 0.02)) == pytest.approx(1.0)
    assert float(tolerated(np.array(0.5), 0.02)) < 1e-6


def test_a_single_batch_may_be_judged() -> None:
    from resinid.batches.mix import mix_of
    from resinid.batches.mix_part import mix_part

    found = judge(mix_of([mix_part(known("caps", PE_HD=80), TABLE)], [1.0], TABLE))
    assert found.verdict == "one melt"


def test_a_speck_on_a_hot_plate_is_offered_after_the_cold_tests() -> None:
    """Only once cold tests have made PVC and acetal unlikely, and with its caution."""
    from resinid.batches.changes import _tests
    from resinid.batches.mix import mix_of
    from resinid.batches.mix_part import mix_part

    cold = [
        {"test": "float", "liquid": "water", "outcome": "floats"},
        {"test": "float", "liquid": "ethanol 40 %v/v", "outcome": "sinks"},
        {"test": "feel", "outcome": "semi-rigid"},
    ]
    for batch, offered in (
        (Batch.of("untested"), False),
        (Batch.of("sinkers", pieces=[[{"test": "float", "liquid": "water", "outcome": "sinks"}]]), False),
        (Batch.of("floaters", pieces=[cold[:1]] * 30), False),  # the next piece is PVC or acetal in more than 1 %
        (Batch.of("well tested", pieces=[cold] * 12), True),
        (Batch.of("well tested and a pipe", pieces=[cold] * 12, marked={"PVC-U": 1}), False),
    ):
        part = mix_part(batch, TABLE)
        hot = [test for test in _tests(mix_of([part], [1.0], TABLE), part) if test[0] == "hot_plate"]
        assert bool(hot) == offered, batch.name
        assert all("speck" in caution for *_, caution in hot)


@pytest.mark.parametrize(
    ("resin", "contaminant", "notice", "harm"),
    [
        # Each as its source prints it; see contamination_limits.csv.
        ("PE-HD", "PP", 0.05, 0.20),  # 5 % in pipe, 20 % in bottles: recyclers' association, Resource Recycling
        ("PC+ABS", "PMMA", 0.10, 0.10),  # about 10 %: J. Appl. Polym. Sci. 74 (1999) 510
        ("PET", "PLA", 0.001, 0.01),  # 0.1 and 1 %: PTI Europe and PETcore 2008
        ("PET", "PVC-U", 1e-5, 5e-5),  # harm from 50 ppm: petbottlewashingline.com; no notice printed
        ("PE-HD", "PET", 0.005, 0.02),  # 2 % of each other resin: bale specification
    ],
)
def test_published_contamination_limits_are_used(resin: str, contaminant: str, notice: float, harm: float) -> None:
    i, j = RULES.index(resin), RULES.index(contaminant)
    assert RULES.notice[i, j] == pytest.approx(notice)
    assert RULES.harm[i, j] == pytest.approx(harm)


@pytest.mark.parametrize(
    ("contaminant", "share", "allowed"),
    [
        ("PP", 0.01, {"one melt"}),
        ("PP", 0.15, {"usable with limits"}),
        ("PET", 0.001, {"one melt"}),
        ("PET", 0.01, {"usable with limits"}),
        ("PET", 0.10, {"will delaminate"}),
    ],
)
def test_a_contaminant_below_and_above_its_limit(contaminant: str, share: float, allowed: set[str]) -> None:
    found = melt_together(known("main", PE_HD=400), proved("other", {contaminant: 400}), shares=(1 - share, share))
    assert found.verdict in allowed, found.chances
