"""A bag is never cleared by what would not clear one of its pieces, nor by what it is called.

Resins and readings of these bags are invented; that PVC and acetal overlap in density, and that PE-LD
and PP both float in 40 % ethanol, is in every handbook table (tests/published has the sources).
"""

from __future__ import annotations

import json
import math
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
import pytest
from bags import known, proved
from scipy import stats

from resinid import (
    Batch,
    InputError,
    batch_composition,
    default_reference,
    identify,
    identify_table,
    melt_plan,
    melt_together,
    next_tests,
)
from resinid.batches.bag import read_batch
from resinid.batches.hazards import forbidding_reasons
from resinid.batches.minority_share import between_bags, expected, just
from resinid.batches.mix_part import mix_part
from resinid.heating.bearing import bears
from resinid.heating.verdict import DO_NOT_HEAT, NOT_YET

if TYPE_CHECKING:
    from resinid.batches.compatibility import MeltCompatibility

Piece = list[dict[str, Any]]

GREEN: Final = {"test": "copper_wire", "outcome": "green"}
ACID: Final = {"test": "burn_smell", "outcome": "hydrochloric acid"}
RIGID: Final = {"test": "feel", "outcome": "rigid"}
PIPE: Final[Piece] = [
    {"test": "weighing", "in_air": "25.30 g", "in_liquid": "7.45 g", "liquid": "water at 21 degC"},
    GREEN,
    RIGID,
    {"test": "article", "outcome": "pipe"},
]
CAP: Final[Piece] = [
    {"test": "float", "liquid": "water", "outcome": "floats"},
    {"test": "float", "liquid": "ethanol 40 %v/v", "outcome": "sinks"},
    {"test": "softening", "temperature": "131 ± 2 degC"},
]
CUP: Final[Piece] = [
    {"test": "density", "density": "0.905 ± 0.003 g/cm3"},
    {"test": "hot_plate", "not_melted_at": "150 degC", "melted_at": "170 degC"},
    {"test": "whitening", "outcome": "strong"},
    {"test": "melt_clarity", "outcome": "clear"},
]


def dense(density: float) -> Piece:
    return [{"test": "density", "density": f"{density:.3f} ± 0.003 g/cm3"}, RIGID]


def verdict(batch: Batch) -> MeltCompatibility:
    return melt_together(batch, batch)


FLAKES: Final = {
    "all float in water and in alcohol, as PE-LD, PP and foam do": [
        {"liquid": "water at 20 degC", "floated": 100, "sank": 0},
        {"liquid": "ethanol 40 %v/v at 20 degC", "floated": 100, "sank": 0},
    ],
    "one in forty sinks in water": [{"liquid": "water at 20 degC", "floated": 195, "sank": 5}],
    "all sink in strong brine, as PET and PVC do": [{"liquid": "table salt 340 g/kg water", "floated": 0, "sank": 200}],
}

BAGS: Final[dict[str, dict[str, Any]]] = {
    **{f"pieces of {d} g/cm3 and nothing else": {"pieces": [dense(d)] * 12} for d in (1.34, 1.36, 1.40, 1.41, 1.43)},
    "pieces that scatter as those of one pipe": {"pieces": [dense(1.400 + 0.001 * k) for k in range(12)]},
    **{name: {"flakes": flakes} for name, flakes in FLAKES.items()},
    "marks on pieces and nothing else": {"pieces": [[{"test": "mark", "reads": "2"}]] * 12},
    "articles and nothing else": {"pieces": [[{"test": "article", "outcome": "drinks bottle"}]] * 20},
    "marks where what was measured does not bear them out": {
        "pieces": [[{"test": "mark", "reads": "1"}, *dense(1.36)]] * 12
    },
    "a pipe among acetal": {"pieces": [PIPE], "marked": {"POM": 20}, "allow": ["copper wire"]},
    "a piece marked 3 among PET": {"pieces": [[{"test": "mark", "reads": "3"}]], "marked": {"PET": 40}},
    "one mark of PVC among very many of acetal": {"marked": {"POM": 1000, "PVC-U": 1}},
    "one mark of PVC among very many of polyethylene": {"marked": {"PE-HD": 1000, "PVC-U": 1}},
    "acetal among PET, which melts above what acetal bears": {"marked": {"PET": 60, "POM": 2}},
    "halogen found in polypropylene": {"pieces": [[*CUP, GREEN]] * 12, "allow": ["copper wire"]},
    "marked as flame retarded": {"pieces": [[*CUP, {"test": "mark", "reads": ">PP-FR(17)<"}]] * 12},
}


@pytest.mark.parametrize("name", BAGS)
def test_bag_is_not_cleared(name: str) -> None:
    found = verdict(Batch.of("lot 7", **BAGS[name]))
    assert found.verdict in {NOT_YET, DO_NOT_HEAT}
    assert found.refusals or found.danger > found.danger_limit


@pytest.mark.parametrize("pieces", [[CAP] * 12, [CUP] * 12, [[*CUP, {"test": "mark", "reads": ">PP-T20<"}]] * 12])
def test_well_tested_bag_is_cleared(pieces: list[Piece]) -> None:
    """So the bags above are not refused because all are; the refusals of a piece name it."""
    assert verdict(Batch.of("lot 7", pieces=pieces)).allowed
    refused = verdict(Batch.of("lot 7", pieces=[*pieces, PIPE], allow=["copper wire"]))
    assert any("piece 13 is by itself most likely PVC-U" in why for why in refused.refusals)


@pytest.mark.slow
@pytest.mark.parametrize("marks", [5, 8, 9, 12])
def test_name_of_a_bag_decides_nothing(marks: int) -> None:
    found = [melt_together(*(Batch.of(f"{name}{k}", marked={"PP": marks}) for k in (1, 2))) for name in "abcdef"]
    assert len({(one.danger, one.verdict == DO_NOT_HEAT) for one in found}) == 1


def test_more_clean_marks_lower_the_danger() -> None:
    dangers = [verdict(Batch.of("lot 7", marked={"PE-HD": n})).danger for n in (1, 3, 5, 10, 20, 40)]
    assert dangers == sorted(dangers, reverse=True)


def test_one_make_says_once_what_it_is() -> None:
    """Forty pieces that read alike may be of one make: what two of them cannot tell apart forty cannot."""
    few, many = (batch_composition(Batch.of("lot 7", pieces=[dense(1.41)] * n)) for n in (4, 40))
    for resin in ("POM", "PVC-U", "PET"):
        assert many[resin].high > 0.9, resin
        assert many[resin].mean > 0.2 * few[resin].mean, resin


@pytest.mark.parametrize("weights", [(0.4, 1.3, 2.0), (0.02, 0.1, 9.0), (5.0, 5.0, 0.01)])
def test_lesser_of_two_shares_by_draws(weights: tuple[float, ...]) -> None:
    """Within one bag and between two, against 400,000 draws of scipy.stats.dirichlet."""
    alpha = np.array(weights)
    pairs = (np.array([0, 0, 1]), np.array([1, 2, 2]))
    rng = np.random.default_rng(97)
    one, other = (stats.dirichlet(alpha).rvs(400_000, random_state=rng) for _ in range(2))
    found = expected(alpha[None], np.ones(1), pairs)
    assert found.mean == pytest.approx(alpha / alpha.sum())
    within = np.minimum(one[:, pairs[0]], one[:, pairs[1]])
    assert found.lesser == pytest.approx(within.mean(axis=0), rel=0.02, abs=2e-5)
    across = np.minimum(one[:, pairs[0]], other[:, pairs[1]])
    assert between_bags(found.above, found.above, pairs) == pytest.approx(across.mean(axis=0), rel=0.03, abs=2e-4)


def test_lesser_of_known_shares() -> None:
    pairs = (np.array([0]), np.array([1]))
    first, second = just(np.array([0.9, 0.1]), pairs), just(np.array([0.6, 0.4]), pairs)
    assert first.lesser.tolist() == [0.1]
    # 0.9 of the first resin in one bag and 0.4 of the second in the other, to a step of the sum.
    assert between_bags(first.above, second.above, pairs) == pytest.approx([0.4], abs=0.0125 + 1e-12)


@pytest.mark.parametrize("told", [GREEN, ACID, {"test": "mark", "reads": ">ABS-FR(17)<"}])
def test_halogen_found_forbids_heating(told: dict[str, str]) -> None:
    """One piece, a row of a table, and the hot tests that would be next; without it all of them are free."""
    allow = ["copper wire", "burn"]
    assert identify(CUP).heat.allowed
    answer = identify([*CUP, told], allow=allow)
    assert answer.heat.verdict == DO_NOT_HEAT
    assert answer.leader == "PP"
    lifted = identify([*CUP, told, {"test": "copper_wire", "outcome": "no green"}], allow=allow)
    assert lifted.heat.verdict == DO_NOT_HEAT
    columns: dict[str, list[Any]] = {
        "density.density [g/cm3]": [0.905, 0.905],
        "density.density_u [g/cm3]": [0.003, 0.003],
        "hot_plate.not_melted_at [degC]": [150, 150],
        "hot_plate.not_melted_at_u [degC]": [1, 1],
        "hot_plate.melted_at [degC]": [170, 170],
        "hot_plate.melted_at_u [degC]": [1, 1],
        "whitening.outcome": ["strong", "strong"],
        "melt_clarity.outcome": ["clear", "clear"],
        f"{told['test']}.{'outcome' if 'outcome' in told else 'reads'}": [None, told.get("outcome", told.get("reads"))],
    }
    assert identify_table(pd.DataFrame(columns), allow=allow)["do_not_heat"].tolist() == [False, True]


def test_no_hot_test_is_offered_where_halogen_was_found() -> None:
    cold = [CAP[0], {"test": "density", "density": "0.905 ± 0.003 g/cm3"}]
    for seen, offered in ((cold, True), ([*cold, {"test": "mark", "reads": ">PP-FR(17)<"}], False)):
        advice = next_tests(seen, bench="hot plate 250 degC")
        assert ("hot_plate" in {found.plan.test for found in advice.suggestions}) is offered


def test_foam_is_weighed_out_as_what_it_collapses_to() -> None:
    """Expanded polystyrene fills a mould as polystyrene: 1.04 to 1.06 g/cm3 in every handbook table."""
    foam, solid = (melt_plan(proved("lot 7", {name: 60}), volume="250 cm3").steps for name in ("PS-E", "PS"))
    assert foam is not None
    assert solid is not None
    # What else may be in either bag, a thousandth of it, is not the same.
    assert foam.mass.typical == pytest.approx(solid.mass.typical, rel=1e-3)
    assert 250 < foam.mass.typical < 300


def test_short_time_hot_is_kept() -> None:
    """A thick layer of nylon 6 has no plan, a thin one has: 30 min hot at most (this project's choice)."""
    bag = known("lot 7", PA6=60)
    assert bears()["PA6"].minutes == 30.0
    thick, thin = melt_plan(bag, thickness="40 mm"), melt_plan(bag, thickness="8 mm")
    assert thick.steps is None
    assert "by this way at most" in thick.problem
    assert thin.steps is not None
    assert all(way.used <= 1.0 for way in thin.steps.heating)


@pytest.mark.parametrize("marked", [{"POM": 60}, {"PE-HD": 60, "POM": 1}, {"PE-HD": 1000, "POM": 1}])
def test_marks_of_acetal_refuse_a_bag(marked: dict[str, int]) -> None:
    """Acetal with PVC, or with its acid gas, reacts violently (polyplastics-pom, routsis-2021): no plan at all."""
    plan = melt_plan(Batch.of("lot 7", marked=marked))
    assert plan.verdict.verdict == DO_NOT_HEAT
    assert plan.steps is None
    assert "marked POM" in plan.verdict.deciding


def test_what_one_piece_was_bounds_the_plate() -> None:
    """One piece marked PVC's neighbour in heat, ABS (fume from 200 degC), among sixty of PE-HD bounds the plate."""
    bag = known("lot 7", PE_HD=60, ABS=1)
    plan = melt_plan(bag, danger_limit=0.05)  # some ABS is flame-retarded, and a mark does not tell
    assert plan.steps is not None
    with pytest.raises(InputError, match="overheat"):
        melt_plan(bag, plate="290 degC", danger_limit=0.05)


def test_items_that_tell_nothing_lower_no_limit() -> None:
    """Flakes that sink as PET and PVC both do leave the limit for PVC where marks alone have it, or above."""
    marked = {"PET": 20}
    alone = batch_composition(Batch.of("lot 7", marked=marked))
    flakes = [{"liquid": "water", "floated": 0, "sank": 150}]
    more = batch_composition(Batch.of("lot 7", marked=marked, flakes=flakes))
    limits = [{s.resin: s.limit for s in found.contaminants} for found in (alone, more)]
    # To a thousandth: what is expected of the rest of the bag comes in as well.
    assert limits[1]["PVC-U"] > 0.999 * limits[0]["PVC-U"] > 0.05


def test_many_alike_items_do_not_rule_out_what_shows_the_same() -> None:
    """A hundred flakes that float in water and in 40 % ethanol may be PP, PE-LD or foam, as one such flake may be."""
    flakes = FLAKES["all float in water and in alcohol, as PE-LD, PP and foam do"]
    found = batch_composition(Batch.of("lot 7", flakes=flakes))
    for resin in ("PP", "PE-LD", "PE-LLD", "PS-E"):
        assert found[resin].mean > 0.05, resin
        assert found[resin].high > 0.9, resin


def test_a_bag_that_may_be_of_what_does_not_melt_at_one_heat_is_not_identified() -> None:
    """Flakes that sink in water and float in strong brine may be polystyrene, or nylon, molten 100 K hotter."""
    flakes = [
        {"liquid": "water", "floated": 0, "sank": 60, "sample": "a"},
        {"liquid": "table salt saturated", "floated": 60, "sank": 0, "sample": "a"},
    ]
    found = verdict(Batch.of("lot 7", flakes=flakes))
    assert any("not identified well enough" in why for why in found.refusals)


@pytest.mark.parametrize("share", [1e308, math.inf, math.nan, 0.0, -1.0, True])
def test_shares_are_masses(share: float) -> None:
    bags = Batch.of("lot 7", marked={"PP": 30}), Batch.of("lot 8", marked={"PP": 30})
    with pytest.raises(InputError, match="give one positive number for each batch"):
        melt_together(*bags, shares=(share, 1.0))


def test_two_bags_of_one_name_are_told_apart() -> None:
    """A bag given twice is one bag; another one of its name is refused, for answers are by name."""
    bag = Batch.of("lot 7", marked={"PP": 30})
    assert melt_together(bag, bag).verdict == melt_together(bag, Batch.of("lot 7", marked={"PP": 30})).verdict
    with pytest.raises(InputError, match="names must differ"):
        melt_together(bag, Batch.of("lot 7", marked={"PP": 31}))


@pytest.mark.parametrize("name", [None, 7, "", "  "])
def test_a_bag_has_a_name(name: Any) -> None:  # noqa: ANN401 - because what is no text is the point
    with pytest.raises(InputError, match="is no name"):
        Batch.of(name)


def test_counts_of_one_resin_add_up() -> None:
    """As they come, from a list of pairs or a table's row, and through a document and back."""
    bag = Batch.of("lot 7", marked=[("PE-HD", np.int64(1)), ("PE-HD", 2), ("PP", 4)])
    assert bag.marked == (("PE-HD", 3), ("PP", 4))
    assert read_batch(json.dumps(bag.to_dict())) == bag


def test_marks_alone_are_not_yet_enough_and_say_what_is() -> None:
    """A mark may be wrong (README: no mark alone makes a piece fit to be heated); a counted one is no better."""
    for resin in ("PP", "PE-HD"):
        plan = melt_plan(Batch.of("caps", marked={resin: 60}))
        assert plan.verdict.verdict == NOT_YET
        assert plan.verdict.outcome == "one melt"
        assert plan.steps is None
        assert any("nothing of it was measured" in why for why in plan.verdict.refusals)
        (enough,) = plan.verdict.enough
        assert "pieces, each: water, alcohol" in enough.text
    assert not any("nothing of it was measured" in why for why in melt_plan(known("caps", PP=60)).verdict.refusals)


def test_precautions_of_a_resin_are_told_with_the_verdict_on_its_bag() -> None:
    """As for one piece, from the hazards whose bar is conditional."""
    found = melt_plan(Batch.of("housings", marked={"ABS": 400})).verdict
    assert any("ABS: only with every precaution" in why and "hydrogen cyanide" in why for why in found.limits)
    pots = melt_plan(Batch.of("pots", marked={"PP": 60})).verdict
    assert not any("only with every precaution" in why for why in pots.limits)


@pytest.mark.slow
def test_a_piece_of_a_housing_is_as_suspect_as_the_remark() -> None:
    """Housings may hold brominated flame retardants (hazards of the table): copper wire first."""
    piece = [{"test": "density", "density": "1.044 g/cm3"}, {"test": "article", "outcome": "housing"}]
    clean = [*piece, {"test": "copper_wire", "outcome": "no green"}]

    def said(*pieces: Piece) -> str:
        bag = Batch.of("housings", pieces=list(pieces), marked={"ABS": 20}, allow=["copper wire"])
        part = mix_part(bag, default_reference())
        return " ".join(sorted(forbidding_reasons(part)))

    assert "electrical housing" in said(piece, piece)
    assert "electrical housing" in said(clean, clean, piece)
    assert said(clean, clean) == ""
    suspect = Batch.of("housings", pieces=[piece], marked={"ABS": 200})
    assert "electrical housing" in melt_plan(suspect).verdict.deciding


def test_what_was_found_comes_first_and_a_clash_names_the_worse_of_two() -> None:
    """PVC beside PET is hydrogen chloride from about 100 °C (hazards.csv), not what PET gives off at 280 °C."""
    bag = Batch.of("clear bottles", marked={"PET": 200, "PVC-U": 1})
    found = melt_together(bag, Batch.of("bottles", marked={"PET": 200}))
    assert "a piece marked PVC-U is by itself most likely PVC-U" in found.deciding
    together = next(note for note in found.hazards if set(note.resins) == {"PVC-U", "PET"})
    assert "hydrogen chloride" in together.hazard
    assert "do not heat" in together.caution
    assert not any(gain.test.startswith("hot_plate") and gain.batch == "clear bottles" for gain in found.tests)


def test_a_danger_seen_in_what_was_measured_alone_says_so() -> None:
    """Marks lift no danger that measuring leaves open; the number is then not the share that is expected."""
    piece = [
        {"test": "mark", "reads": "1"},
        {"test": "density", "density": "1.36 g/cm3"},
        {"test": "article", "outcome": "drinks bottle"},
    ]
    found = melt_plan(Batch.of("bottles", pieces=[piece] * 20)).verdict
    assert found.verdict == DO_NOT_HEAT
    assert "by what was measured alone" in found.deciding


def test_baths_that_may_be_lit_are_suggested_with_their_caution() -> None:
    bag = Batch.of("caps", marked={"PE-HD": 10, "PP": 10})
    gains = melt_together(bag, Batch.of("tubs", marked={"PET": 200})).tests
    lit = [gain for gain in gains if "ethanol" in gain.test]
    assert lit
    assert all("may be lit" in gain.caution and "local codes" in gain.caution for gain in lit)
