"""What is offered, what is not, when to stop, and what the advice holds."""

from __future__ import annotations

import json
from dataclasses import dataclass, replace
from itertools import combinations
from typing import TYPE_CHECKING, Any, ClassVar

import pytest
from cli_kit import BY_EYE

import resinid
from resinid import (
    InputError,
    Method,
    MethodError,
    MethodWarning,
    UnknownNameError,
    identify,
    mix_bath,
    next_tests,
    observe,
)
from resinid.io.fields import choice
from resinid.io.liquid_parser import ROOM
from resinid.liquids.mixing import FLASH, MARGIN
from resinid.methods.aspects import AspectSeen
from resinid.methods.bench import Bench
from resinid.methods.bench_parser import parse_bench
from resinid.methods.dangers import DANGERS
from resinid.methods.test_plan import TestPlan
from resinid.planning.candidates import WORTH, candidate_tests
from resinid.planning.question import question_of
from resinid.quantities import ASPECTS

if TYPE_CHECKING:
    from collections.abc import Iterator

Seen = dict[str, object]

FLOATS: Seen = {"test": "float", "liquid": "water", "outcome": "floats"}
SINKS: Seen = {"test": "float", "liquid": "water", "outcome": "sinks"}
LIGHT: list[Seen] = [
    FLOATS,
    {"test": "density", "density": "0.955 ± 0.004 g/cm3"},
    {"test": "snap", "outcome": "creases"},
]
"""A polyethylene by cold tests, so that PVC, acetal and celluloid are unlikely."""
NOTHING_OR_WATER: tuple[list[Seen], ...] = ([], [FLOATS], [SINKS])
ALL: str = "table salt, CaCl2.2H2O, ethanol 96 %v/v, isopropanol 70 %v/v, scale 0.01 g, cylinder 1 mL, sinker, strip"


def keys(advice: resinid.Advice) -> set[str]:
    return {found.plan.key for found in advice.suggestions}


@dataclass(frozen=True, slots=True)
class Burn(AspectSeen):
    """A third party's test by a flame; stands on an aspect of the table."""

    test: ClassVar[str] = "burn"
    observes: ClassVar[str] = "melt_pull"
    outcome: str = choice(ASPECTS["melt_pull"])

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        assert bench.temperature == 20.0
        steps = ("Hold a sliver in a small flame under extraction.", "See what it does.")
        yield cls.plan("burn a sliver", 3.0, steps, needs=("flame",), caution="toxic smoke; local codes", hazard="burn")


@dataclass(frozen=True, slots=True)
class Declines(AspectSeen):
    """A third party's test that does not say what outcomes it may give."""

    test: ClassVar[str] = "declines"
    observes: ClassVar[str] = "snap"
    outcome: str = choice(ASPECTS["snap"])


@dataclass(frozen=True, slots=True)
class Fails(Declines):
    """A third party's test whose plans fail."""

    test: ClassVar[str] = "fails"

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        raise RuntimeError(f"no plans with {bench.scale}")


def plug_in(*tests: Any) -> Method:  # noqa: ANN401 - any test class
    return Method("third party", "1", "For a test.", "", ("none",), tests)


def test_third_party_tests_are_offered_or_decline() -> None:
    advice = next_tests(LIGHT, methods=[plug_in(Burn, Declines)], allow=["burn"])
    assert "burn" in keys(advice)
    assert "declines" not in keys(advice)
    burn = next(found for found in advice.suggestions if found.plan.key == "burn")
    assert 0 < burn.bits < 1
    assert {seen.says for seen in burn.outcomes} == {f"melt pull: {word}" for word in ASPECTS["melt_pull"]}


def test_a_plug_in_whose_plans_fail_is_left_out_with_a_warning() -> None:
    with pytest.warns(MethodWarning, match="'fails' .*RuntimeError: no plans with 0.1"):
        advice = next_tests(methods=[plug_in(Fails)])
    assert "feel" in keys(advice)
    assert "fails" not in keys(advice)


def test_dangerous_tests_are_never_offered_unless_allowed_and_come_with_their_caution() -> None:
    for made in NOTHING_OR_WATER:
        advice = next_tests(made, bench=f"{ALL}, hot plate", methods=[plug_in(Burn)])
        assert all(not found.plan.hazard for found in advice.suggestions)
        assert any("burn is dangerous and was not allowed" in why for _, why in advice.withheld)
    unsure = next_tests([SINKS], bench=f"{ALL}, hot plate", methods=[plug_in(Burn)], allow=["burn", "hot plate"])
    assert "hot_plate" in keys(unsure)
    assert "burn" not in keys(unsure), "a burn waits for cold tests even where it is allowed"
    every = ["burn", "hot plate", "flammable bath"]
    allowed = next_tests(LIGHT, bench=f"{ALL}, hot plate", methods=[plug_in(Burn)], allow=every)
    dangerous = [found.plan for found in allowed.suggestions if found.plan.hazard]
    assert {plan.hazard for plan in dangerous} == {"burn", "hot plate"}
    assert all(plan.caution and "local codes" in plan.caution for plan in dangerous)
    assert not allowed.withheld


@pytest.mark.parametrize(
    ("densities", "more", "risk"),
    [
        # Densities as printed of PTFE (2.13 to 2.20 g/cm3) and PVDF (1.76 to 1.79), data sheets in the table. Both are
        # so rare that one reading may rather be a botched one, or a filled thermoset: they are weighed twice.
        (["2.17 ± 0.003", "2.16 ± 0.01"], [{"test": "feel", "outcome": "semi-rigid"}], "PTFE"),
        (["1.77 ± 0.002", "1.78 ± 0.01"], [{"test": "softening", "temperature": "170 ± 2 degC"}], "PVDF"),
    ],
)
def test_no_hot_plate_for_what_must_not_be_heated_though_it_is_no_pvc(
    densities: list[str], more: list[dict[str, str]], risk: str
) -> None:
    """Fluoropolymers give off hydrogen fluoride: the advice and the verdict on heating must not contradict."""
    seen = [*({"test": "density", "density": f"{density} g/cm3"} for density in densities), *more]
    advice = next_tests(seen, bench=f"{ALL}, hot plate 350 degC")
    assert advice.result.leader == risk
    assert not {found.plan.hazard for found in advice.suggestions} & {"hot plate", "burn"}
    assert any(f"do not heat while the piece may be {risk}" in why for _, why in advice.withheld)
    allowed = next_tests(seen, bench=f"{ALL}, hot plate 350 degC", allow=["hot plate", "burn"])
    assert not {found.plan.hazard for found in allowed.suggestions} & {"hot plate", "burn"}


def test_no_leave_heats_what_was_found_to_hold_halogen() -> None:
    green = {"test": "copper_wire", "outcome": "green"}
    allow = ["copper wire", "hot plate"]
    advice = next_tests([*LIGHT, green], bench=f"{ALL}, hot plate", allow=allow)
    assert "hot plate" not in {found.plan.hazard for found in advice.suggestions}
    assert "hot plate" in {found.plan.hazard for found in next_tests(LIGHT, bench=ALL + ", hot plate").suggestions}


def test_no_plate_is_stepped_up_to_where_fluoropolymers_fume() -> None:
    """Hydrogen fluoride is given off from about 300 °C (hazards.csv): however hot the plate can be."""
    advice = next_tests(LIGHT, bench=f"{ALL}, hot plate 400 degC")
    plate = next(found.plan for found in advice.suggestions if found.plan.key == "hot_plate")
    assert "up to 280 °C" in plate.label


def test_baths_that_may_be_lit_are_named_with_the_reason_unless_allowed_or_declined() -> None:
    """As the ladder does; a brine is never among them, nor is a small jug at room temperature."""
    label = "lighter baths of ethanol 96 %v/v"
    warm = "table salt, ethanol 96 %v/v, bath 30 degC"
    why = dict(next_tests(bench=warm).withheld)[label]
    assert "may be lit at 30 °C" in why
    assert "local codes" in why
    silent: list[dict[str, Any]] = [
        {"allow": ["flammable bath"]},
        {"without": ["float"]},
        {"without": ["float in ethanol 96 %v/v"]},
    ]
    for options in silent:
        assert label not in dict(next_tests(bench=warm, **options).withheld)
    for bench in ("table salt, bath 30 degC", "table salt, ethanol 96 %v/v"):
        assert not any("may be lit" in why for _, why in next_tests(bench=bench).withheld)


def test_a_hot_plate_waits_until_cold_tests_make_pvc_and_acetal_unlikely() -> None:
    bench = f"{ALL}, hot plate 250 degC"
    first = next_tests([SINKS], bench=bench)
    assert not keys(first) & {"hot_plate", "melt_onset"}
    assert any("do not heat while the piece may be PVC" in why for _, why in first.withheld)
    later = next_tests(LIGHT, bench=bench)
    assert {"hot_plate", "melt_onset"} <= keys(later)
    risk = sum(later.result[name] for name in ("PVC-U", "PVC-P", "POM", "CN"))
    assert risk < 0.01
    assert next_tests(LIGHT, bench=bench, danger_limit=risk / 2).withheld
    plate = next(found.plan for found in later.suggestions if found.plan.key == "hot_plate")
    assert "do not heat" in plate.caution


def test_only_what_is_at_hand_is_offered() -> None:
    assert keys(next_tests(bench="strip", without=BY_EYE)) == {"float in water", "feel", "snap", "whitening"}
    assert keys(next_tests(bench="table salt", without=BY_EYE)) == {"float in water", "float in table salt"}
    assert "weighing" not in keys(next_tests(bench="scale 0.1 g"))
    assert "weighing" in keys(next_tests(bench="scale 0.1 g, sinker"))
    assert keys(next_tests(bench="jug ethanol 40 %v/v at 20 degC", without=BY_EYE, allow=[FLASH])) == {
        "float in water",
        "float in ethanol 40 %v/v",
    }
    assert "feel" not in keys(next_tests(bench="strip", without=["feel"]))
    assert not keys(next_tests(bench="ethanol 96 %v/v", without=["float", *BY_EYE]))


@pytest.mark.parametrize(("warm", "allow"), [("20", ()), ("30", ()), ("30", (FLASH,))])
def test_a_flammable_bath_is_offered_small_and_cool_or_where_allowed(warm: str, allow: tuple[str, ...]) -> None:
    """A 70 %v/v bath of isopropanol is above its flash point at 20 degC; 250 mL of it are given with a loud caution."""
    made: list[Seen] = [FLOATS, {"test": "float", "liquid": "ethanol 55 %v/v", "outcome": "floats"}]
    advice = next_tests(made, bench=f"isopropanol 70 %v/v, bath {warm} degC", by="bits", allow=allow)
    recipe = next(found.plan.recipe for found in advice.suggestions if found.plan.recipe)
    assert recipe is not None
    assert recipe.volume == 250.0
    caution = recipe.liquid.caution
    if warm == "30" and not allow:
        assert recipe.flash > 30.0 + 2 * ROOM.u + MARGIN
        assert "Flammable" in caution
        return
    assert recipe.flash < 24.0
    assert caution.startswith("FLAMMABLE: its vapour can be lit from about")
    for words in ("No flame, switch or hot plate near", "no hot plate on in the same room", "local codes", "Cover it"):
        assert words in caution
    assert ("no more than 500 mL" in caution) == (not allow)


def test_the_usual_bath_of_40_per_cent_is_offered_with_ethanol_at_hand() -> None:
    """Once only 0.953 to 0.956 g/cm3 were, inside the range of PE-HD; the usual bath of 0.948 was withheld."""
    low = candidate_tests(parse_bench("ethanol 96 %v/v"), (), ()).families[0].densities[0]
    assert low < 0.82
    assert mix_bath("0.948 g/cm3", "250 mL", "ethanol").flash == pytest.approx(26.0, abs=0.1)


def test_oil_comes_after_the_floats_it_would_spoil() -> None:
    """While water or alcohol still tells anything, a float in oil stands behind it, however much it tells."""
    bench = "table salt, ethanol 96 %v/v, sunflower oil"
    for by in ("bits", "bits per minute"):
        first = next_tests(bench=bench, by=by, without=BY_EYE).suggestions
        places = {found.plan.key: place for place, found in enumerate(first)}
        for place, found in enumerate(first):
            if found.plan.test == "float" and found.bits >= WORTH and found.plan.key != "float in sunflower oil":
                assert place < places["float in sunflower oil"]
    floated: list[Seen] = [FLOATS, {"test": "float", "liquid": "ethanol 40 %v/v", "outcome": "floats"}]
    later = next_tests(floated, bench="sunflower oil", by="bits", without=BY_EYE)
    assert later.best is not None
    plan = later.best.plan
    assert plan.key == "float in sunflower oil"
    assert not plan.hazard
    assert "Last of all floats" in plan.steps[0]
    assert "washing-up liquid" in plan.steps[1]
    assert "hot plate" in plan.caution
    assert "oil" not in " ".join(keys(next_tests(floated, bench="table salt", without=BY_EYE)))


def test_sunflower_oil_is_at_hand_in_a_kitchen() -> None:
    assert "float in sunflower oil" in keys(next_tests([FLOATS]))
    assert [jug.label for jug in parse_bench("canola oil, bath 22 degC").jugs] == ["water", "rapeseed oil"]
    assert parse_bench("canola oil, bath 22 degC").jugs[1].temperature == 22.0
    with pytest.raises(InputError, match="outside 5 to 40"):
        Bench(oils=("sunflower oil",), reagents=(), temperature=2.0)
    with pytest.raises(InputError, match="no oil known here"):
        Bench(oils=("whale oil",))


def test_settled() -> None:
    made: list[Seen] = [
        FLOATS,
        {"test": "density", "density": "0.957 ± 0.002 g/cm3"},
        {"test": "feel", "outcome": "rigid"},
    ]
    advice = next_tests(made, question="melt group")
    assert advice.verdict == "settled"
    assert advice.stop
    assert "polyethylene has" in advice.reason
    assert next_tests(made, question="melt group", enough=0.9999).verdict != "settled"


def test_not_pvc_asks_for_more_than_pvc() -> None:
    """ "Not PVC" is 92 % before any test, yet that is not enough to heat it."""
    assert next_tests(question="pvc").verdict == "go on"
    light: list[Seen] = [FLOATS, {"test": "density", "density": "0.955 ± 0.004 g/cm3"}]
    sure = next_tests(light, question="pvc")
    assert sure.verdict == "settled"
    assert sure.answers[0][1] >= 0.99


def test_no_available_test_can_settle_it() -> None:
    """Water alone cannot tell two kinds of light polyethylene apart, and says so."""
    prior = {"PE-LD": 1.0, "PE-LLD": 1.0, "none of these": 0.0}
    advice = next_tests([FLOATS], bench="", prior=prior, without=BY_EYE)
    assert advice.verdict == "cannot settle"
    bare = next_tests([FLOATS], bench="strip", prior=prior, without=["feel", *BY_EYE])
    assert bare.verdict == "cannot settle"
    assert bare.bits_left < 0.75
    assert bare.settleable < 0.05
    assert "even if every property" in bare.reason


def test_not_worth_it() -> None:
    """Where exact knowledge would settle it but no single test tells anything, more tests are not worth it."""
    prior = {"PS": 1.0, "PET": 1.0, "none of these": 0.0}
    advice = next_tests(bench="", prior=prior, question={"a": ["PS"], "b": ["PET"]}, without=BY_EYE)
    assert advice.verdict == "not worth it"
    assert advice.settleable > 0.9
    assert advice.best is not None
    assert advice.best.bits < 0.02


def test_what_is_left_is_a_bound() -> None:
    """No test, and so no one outcome on average, tells more than what is left to tell."""
    for made in NOTHING_OR_WATER:
        advice = next_tests(made, bench=ALL)
        sampling = 0.15
        assert max(found.bits for found in advice.suggestions) < advice.bits_left + sampling
        assert advice.bits_left <= advice.unknown + 1e-9


def test_what_was_done_is_not_offered_again_unless_asked() -> None:
    made: list[Seen] = [FLOATS, {"test": "feel", "outcome": "rigid"}]
    assert not keys(next_tests(made)) & {"float in water", "feel"}
    assert {"float in water", "feel"} <= keys(next_tests(made, repeats=True))


def test_ranked_by_bits_or_by_the_minute() -> None:
    quick, telling = next_tests(bench=ALL), next_tests(bench=ALL, by="bits")
    rates = [found.bits_per_minute for found in quick.suggestions]
    bits = [found.bits for found in telling.suggestions]
    assert rates == sorted(rates, reverse=True)
    assert bits == sorted(bits, reverse=True)
    for found in telling.suggestions:
        assert found.bits_per_minute == pytest.approx(found.bits / found.plan.minutes)
        assert sum(seen.probability for seen in found.outcomes) == pytest.approx(1.0)


def test_the_advice_is_json_and_a_frame() -> None:
    advice = next_tests([FLOATS], bench=ALL)
    data = json.loads(advice.to_json())
    assert data["verdict"] == "go on"
    entered = next(row for row in data["suggestions"] if row["test"] == "float")["enter"][0]
    assert resinid.identify([FLOATS, entered]).leader
    frame = advice.to_frame()
    assert list(frame["bits"]) == [found.bits for found in advice.suggestions]


def test_questions() -> None:
    reference = resinid.default_reference()
    groups = question_of(reference, "melt group")
    assert len(set(groups.answer_of.tolist())) == len(groups.answers)
    own = next_tests([FLOATS], question={"polyolefin": ["HDPE", "LDPE", "PE-LLD", "PE-MD", "PP"], "PVC": "PVC-U"})
    assert {name for name, _ in own.answers} == {"polyolefin", "PVC", "other", "none of these"}
    with pytest.raises(InputError) as caught:
        next_tests(question={"a": ["PP", "XX"], "b": ["PP"]})
    assert len(caught.value.faults) == 2
    with pytest.raises(UnknownNameError, match="did you mean 'melt group'"):
        next_tests(question="melt groups")


def test_melt_groups_are_pairs_that_the_table_calls_compatible() -> None:
    """Every pair within a group that melts is miscible or compatible in the table's blends, where it is rated."""
    reference = resinid.default_reference()
    rated = {frozenset((blend.first, blend.second)): blend.rating for blend in reference.blends}
    assert {group.name for group in reference.melt_groups} == {"polyethylene", "polystyrene", "polyamide 6 and 66"}
    for group in reference.melt_groups:
        for first, second in combinations(group.members, 2):
            rating = rated.get(frozenset((first, second)), "compatible")
            assert rating in {"miscible", "compatible"}, (first, second)


def test_the_melt_question_has_the_groups_of_the_table() -> None:
    """Each group is one answer; so are PVC and the cross-linked resins; without groups every other stands alone."""
    reference = resinid.default_reference()
    groups = question_of(reference, "melt group")
    answer = dict(zip(reference.symbols, (groups.answers[i] for i in groups.answer_of), strict=False))
    for group in reference.melt_groups:
        assert {symbol for symbol, name in answer.items() if name == group.name} == set(group.members)
    cured = {symbol for symbol, name in answer.items() if name == "does not melt"}
    assert cured == {"NR", "VMQ", "PUR", "UP", "EP", "MF", "PF"}
    assert answer["PVC-U"] == answer["PVC-P"] == "PVC"
    for symbol in ("PP", "PET", "PETG", "ABS", "SAN", "PC", "PC+ABS"):
        assert answer[symbol] == symbol
    bare = question_of(replace(reference, melt_groups=(), digest="no groups"), "melt group")
    assert {"PE-HD", "PE-LD", "PS", "PA6", "PVC", "does not melt"} < set(bare.answers)


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"bench": "tabel salt, scale 3 mL"}, "Did you mean 'table salt'.*\n.*scale 3 mL: unit 'mL'"),
        ({"bench": Bench, "by": "luck"}, "'luck' is not one of"),
        ({"allow": ["burning"]}, "did you mean 'burn'"),
        ({"enough": 0.3}, "between 0.5 and 1"),
    ],
)
def test_faults_are_told_with_their_fix(options: dict[str, Any], says: str) -> None:
    chosen = {**options, "bench": Bench()} if options.get("bench") is Bench else options
    with pytest.raises(InputError, match=r"(?s)" + says):
        next_tests(**chosen)


def test_have_gathers_every_fault() -> None:
    with pytest.raises(InputError) as caught:
        Bench(scale=-1.0, volume=0.0, temperature=90.0)
    assert len(caught.value.faults) >= 3
    assert parse_bench(" water ,strip,, hot plate 200 degC, bath 18 degC, piece 2 mL").hot_plate == 200.0
    assert DANGERS[0] == "hot plate"


def test_a_plan_must_be_a_test() -> None:
    one = observe("snap", outcome="snaps")
    for wrong in (
        {"outcomes": (one,)},
        {"outcomes": (one, observe("feel", outcome="limp"))},
        {"outcomes": (one, one), "widths": (1.0,)},
        {"outcomes": (one, one), "minutes": 0.0},
    ):
        fields: dict[str, Any] = {"test": "snap", "label": "snap", "minutes": 1.0, "steps": ("", ""), **wrong}
        with pytest.raises(MethodError):
            TestPlan(**fields)


NYLON: list[Seen] = [
    {"test": "density", "density": "1.148 ± 0.003 g/cm3"},
    {"test": "feel", "outcome": "rigid"},
    {"test": "transparency", "outcome": "opaque"},
    {"test": "hot_plate", "not_melted_at": "240 degC", "melted_at": "260 degC"},
]
"""A polyamide whose verdict rests on one hot plate: a retarded styrenic is as dense, and plates are botched."""


def test_a_verdict_that_rests_on_one_reading_asks_for_it_again() -> None:
    """For the question "heat" what was done is offered again, and says so; for the others only where asked."""
    advice = next_tests(NYLON, question="heat")
    assert not advice.result.heat.allowed
    plate = next(found for found in advice.suggestions if found.plan.test == "hot_plate")
    assert plate.plan.label.startswith("again, with a fresh chip: ")
    assert plate.settles > 0.5
    assert "hot_plate" not in {found.plan.test for found in next_tests(NYLON).suggestions}
    again = identify([*NYLON, NYLON[-1]])
    assert again.heat.allowed


def test_a_likely_false_alarm_settles_nothing() -> None:
    """Camphor smelt on what cold tests call PET would be a slip: the smell brings no sure verdict."""
    seen: list[Seen] = [{"test": "density", "density": "1.38 ± 0.003 g/cm3"}, {"test": "feel", "outcome": "rigid"}]
    advice = next_tests(seen, question="heat")
    smell = next(found for found in advice.suggestions if found.plan.test == "rub_smell")
    assert smell.settles < 0.05
