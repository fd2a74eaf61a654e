"""Leave to heat that must not be given: priors, warnings, contradictions, acetal.

Densities and softening temperatures are of polypropylene (0.905 g/cm3, 163 degC) and of PET, PVC and
acetal (1.38 to 1.42 g/cm3), as the sources of the reference table print them.
"""

from __future__ import annotations

from itertools import permutations
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from resinid import default_reference, identify, identify_table, next_tests
from resinid.heating.verdict import DO_NOT_HEAT
from resinid.identification.score import heat_rule_of, model_of
from resinid.scoring.contradiction import ODDS, contradicting
from resinid.scoring.prior import NONE_OF_THESE, cautious_prior, prior_of

if TYPE_CHECKING:
    from collections.abc import Mapping

LIGHT: Final = {"test": "density", "density": "0.905 ± 0.001 g/cm3"}
MELTS: Final = {"test": "softening", "temperature": "163 ± 1 degC"}
HEAVY: Final = {"test": "density", "density": "1.40 ± 0.01 g/cm3"}
LIGHT_AGAIN: Final = {"test": "density", "density": "0.906 ± 0.001 g/cm3"}

CANDIDATES: Final = (*default_reference().symbols, NONE_OF_THESE)


def test_ordinary_polypropylene_gets_leave() -> None:
    assert identify([LIGHT, MELTS]).heat.allowed


@pytest.mark.parametrize(
    ("seen", "prior"),
    [
        ([{"test": "density", "density": "1.38 ± 0.005 g/cm3"}], {"PET": 1}),
        ([{"test": "feel", "outcome": "flexible"}], {"PP": 1, "none of these": 0}),
        ([{"test": "float", "liquid": "water", "outcome": "floats"}], {"PE-HD": 1}),
    ],
)
def test_no_prior_lifts_a_hazard(seen: list[dict[str, str]], prior: dict[str, float]) -> None:
    """Neither of one piece, nor of a table, nor of advice on the next test."""
    answer = identify(seen, prior=prior)
    assert not answer.heat.allowed
    assert any("cautious prior" in reason for reason in answer.heat.reasons)
    frame = pd.DataFrame([{f"{each['test']}.{key}": value for each in seen for key, value in each.items()}])
    frame = frame.drop(columns=[column for column in frame.columns if column.endswith(".test")])
    if "density.density" in frame.columns:
        frame = pd.DataFrame({"density.density [g/cm3]": [1.38], "density.density_u [g/cm3]": [0.005]})
    assert identify_table(frame, prior=prior)["do_not_heat"].all()
    # No hot plate either while the piece may be something that must not be heated.
    by_prior = next_tests(seen, prior=prior)
    assert not any(found.plan.hazard == "hot plate" for found in by_prior.suggestions)


@settings(deadline=None, max_examples=25)
@given(st.dictionaries(st.sampled_from(CANDIDATES[:-1]), st.floats(0.01, 100.0), min_size=1, max_size=4))
def test_prior_never_lowers_hazard(prior: Mapping[str, float]) -> None:
    """Law: what is forbidden under the cautious prior is forbidden under every prior."""
    for seen in (
        [{"test": "density", "density": "1.38 ± 0.005 g/cm3"}],
        [LIGHT, HEAVY],
        [{"test": "snap", "outcome": "snaps"}],
    ):
        assert not identify(seen, prior=prior).heat.allowed


def test_cautious_prior_is_the_largest_share_of_what_is_hazardous() -> None:
    reference = default_reference()
    barred = heat_rule_of(reference).barred
    cautious = cautious_prior(reference, barred)
    names = ("default", *dict.fromkeys(stream.name for stream in reference.streams))
    each = np.array([prior_of(reference, name) for name in names])
    assert cautious.sum() == pytest.approx(1.0)
    ratio = cautious / prior_of(reference)
    # The rest keeps the default's proportions; nothing hazardous is below its share there.
    assert np.ptp(ratio[barred == 0]) < 1e-12
    largest = each.max(axis=0)[barred == 1]
    assert cautious[barred == 1] == pytest.approx(largest * ratio[barred == 0][0])


def test_acetal_counts_in_the_hazard() -> None:
    """Acetal, at no temperature: its share is in the sum, and it is named."""
    barred = dict(zip(CANDIDATES, heat_rule_of(default_reference()).barred, strict=True))
    assert barred["POM"] == 1.0
    told = [{"test": "density", "density": "1.41 ± 0.004 g/cm3"}, {"test": "softening", "temperature": "165 ± 2 degC"}]
    answer = identify(told)
    assert answer.leader == "POM"
    assert answer.heat.verdict == DO_NOT_HEAT
    assert "POM" in answer.heat.reasons[0]


@pytest.mark.parametrize("order", list(permutations([LIGHT, MELTS, HEAVY])))
def test_contradicting_reading_is_not_outvoted(order: tuple[Mapping[str, str], ...]) -> None:
    """The verdict is the worse of trusting either, whatever other tests say and in whatever order they come."""
    answer = identify(order)
    assert answer.leader == "PP"
    assert answer.heat.verdict == DO_NOT_HEAT
    assert any("density 1.4" in reason and "measure again" in reason for reason in answer.heat.reasons)


def test_repeat_that_agrees_restores_leave() -> None:
    assert identify([LIGHT, MELTS, HEAVY, LIGHT_AGAIN]).heat.allowed
    assert not identify([LIGHT, MELTS, HEAVY, {"test": "density", "density": "1.405 ± 0.01 g/cm3"}]).heat.allowed


def test_readings_contradict_by_their_odds() -> None:
    """Two densities two standard deviations apart do not contradict; far apart both are in doubt until one agrees."""
    from resinid import observe

    reference = default_reference()
    model, prior = model_of(reference), heat_rule_of(reference).cautious

    def told(*texts: str) -> tuple[int, ...]:
        return contradicting(model, [observe("density", density=text).term() for text in texts], prior)

    assert told("0.905 ± 0.002 g/cm3", "0.909 ± 0.002 g/cm3") == ()
    assert told("0.905 ± 0.002 g/cm3", "1.05 ± 0.002 g/cm3") == (0, 1)
    assert told("0.905 ± 0.002 g/cm3", "1.05 ± 0.002 g/cm3", "0.906 ± 0.002 g/cm3") == (0, 2)
    # No plastic weighs 2.9 g/cm3: that reading alone is the outlier.
    assert told("0.905 ± 0.002 g/cm3", "2.9 ± 0.01 g/cm3") in {(0,), ()}
    assert ODDS == 20.0


def row(seen: list[dict[str, Any]]) -> dict[str, Any]:
    """Return one row of a table that says the same."""
    out: dict[str, Any] = {}
    for number, each in enumerate(seen, start=1):
        test = each["test"] + (f"#{number}" if sum(other["test"] == each["test"] for other in seen) > 1 else "")
        for field, value in each.items():
            if isinstance(value, tuple):
                reading, u, unit = value
                out |= {f"{test}.{field} [{unit}]": reading, f"{test}.{field}_u [{unit}]": u}
            elif field != "test":
                out[f"{test}.{field}"] = value
    return out


def piece(seen: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Return the same with readings as one piece has them."""
    return [
        {key: {"value": v[0], "u": v[1], "unit": v[2]} if isinstance(v, tuple) else v for key, v in each.items()}
        for each in seen
    ]


def test_table_judges_contradictions_as_one_piece_does() -> None:
    """Readings, words and both at once, some of which contradict each other."""
    rng = np.random.default_rng(5)
    density = [(float(rng.choice([0.905, 0.95, 1.05, 1.38]) + rng.normal(0, 0.004)), 0.004, "g/cm3") for _ in range(60)]
    pieces: list[list[dict[str, Any]]] = [
        [
            {"test": "density", "density": each},
            {"test": "float", "liquid": "water", "outcome": str(rng.choice(["floats", "sinks"]))},
            {"test": "softening", "temperature": (float(rng.choice([131.0, 163.0])), 2.0, "degC")},
        ]
        for each in density
    ]
    rows = identify_table(pd.DataFrame([row(seen) for seen in pieces]))["do_not_heat"].to_list()
    single = [not identify(piece(seen)).heat.allowed for seen in pieces]
    assert rows == single
    assert 0 < sum(single) < len(single)
    doubles: list[list[dict[str, Any]]] = [
        [
            {"test": "density", "density": (0.905, 0.002, "g/cm3")},
            {"test": "density", "density": (other, 0.002, "g/cm3")},
            {"test": "softening", "temperature": (163.0, 2.0, "degC")},
        ]
        for other in (0.906, 1.40)
    ]
    assert identify_table(pd.DataFrame([row(seen) for seen in doubles]))["do_not_heat"].to_list() == [False, True]


@pytest.mark.parametrize("reads", [">PP< UL94 V-0", ">PP< V-0", ">PP< FR", "UL94 V-0 >PP<", ">PP<FR"])
def test_a_flame_retardant_beside_the_brackets_forbids(reads: str) -> None:
    """Who writes the whole of a moulded mark must not be sent away to write less of it."""
    heat = identify([LIGHT, MELTS, {"test": "mark", "reads": reads}]).heat
    assert heat.verdict == DO_NOT_HEAT
    assert any("flame retarded" in reason for reason in heat.reasons)


def test_what_goes_out_by_itself_is_not_heated() -> None:
    """A flame that goes out is the plainest sign of a flame retardant that a bench has (common practice, no source)."""
    out, on = (
        identify([LIGHT, MELTS, {"test": "burn_self_extinguishing", "outcome": seen}], allow=["burn"]).heat
        for seen in ("yes", "no")
    )
    assert out.verdict == DO_NOT_HEAT
    assert on.allowed


def test_a_mark_does_not_lift_what_an_article_raised() -> None:
    """Of a housing that density leaves in doubt: a mark says the resin, and nothing of what was added to it."""
    seen = [
        {"test": "density", "density": "1.085 ± 0.003 g/cm3"},
        {"test": "softening", "temperature": "105 ± 3 degC"},
        {"test": "transparency", "outcome": "opaque"},
        {"test": "article", "outcome": "housing"},
    ]
    before, after = (identify([*seen, *more]).heat for more in ([], [{"test": "mark", "reads": ">ABS<"}]))
    assert not before.allowed
    assert not after.allowed
    assert any("'article: housing'" in reason for reason in after.reasons)
    frame = pd.DataFrame(
        {
            "density.density [g/cm3]": [1.085],
            "density.density_u [g/cm3]": [0.003],
            "softening.temperature [degC]": [105.0],
            "softening.temperature_u [degC]": [3.0],
            "transparency.outcome": ["opaque"],
            "article.outcome": ["housing"],
            "mark.reads": [">ABS<"],
        }
    )
    assert identify_table(frame)["do_not_heat"].tolist() == [True]


def test_of_readings_that_contradict_each_other_advice_asks_for_another() -> None:
    """No look at the piece lifts it: only a further reading of the same property does, and then leave is given."""
    seen = [LIGHT, {"test": "density", "density": "1.40 ± 0.01 g/cm3"}, MELTS]
    advice = next_tests(seen, question="heat")
    assert advice.best is not None
    assert advice.best.plan.observes == "density"
    assert all(found.plan.observes == "density" for found in advice.suggestions if found.settles > 0.05)
    assert identify([*seen, LIGHT_AGAIN]).heat.allowed


def test_a_mark_or_an_article_opens_no_hot_plate() -> None:
    """A clear bottle of 1.37 g/cm3 may be PVC by what was measured; that it is marked PET offers it no plate."""
    seen = [
        {"test": "weighing", "in_air": "2.90 g", "in_liquid": "0.79 g", "liquid": "water"},
        {"test": "transparency", "outcome": "clear"},
    ]
    looked_at = [{"test": "mark", "reads": "1"}, {"test": "article", "outcome": "drinks bottle"}]
    for some in (seen, [*seen, *looked_at]):
        advice = next_tests(some, question="heat", bench="hot plate 280 degC, table salt")
        assert not any(found.plan.hazard == "hot plate" for found in advice.suggestions)
        assert any("do not heat while the piece may be PVC-U" in why for _, why in advice.withheld)
