"""A ready-made observation whose fields were changed is looked at as if it was written, of a piece and in a bag."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, ClassVar, Final

import pytest

import resinid
from resinid import Batch, InputError, Reading, observe
from resinid.io.fields import choice
from resinid.liquids import Liquid
from resinid.methods._guard import check_ready_made
from resinid.methods.float_test.method import FloatTest
from resinid.methods.registry import built_in
from resinid.testing.samples import everything, sample_plans, samples

if TYPE_CHECKING:
    from resinid.methods.contract import Method

FLOAT: Final = observe("float", liquid="water", outcome="floats")
WEIGHED: Final = observe("weighing", in_air="5.02 g", in_liquid="0.3 g", liquid="water")
DENSITY: Final = observe("density", density="0.952 ± 0.003 g/cm3")
MARK: Final = observe("mark", reads=">PP-T20<")
BANDS: Final = observe("infrared", bands="2916, 2848, 1472 1/cm")
WRONG: Final[list[tuple[Any, dict[str, object]]]] = [
    (FLOAT, {"outlier": 1.5}),
    (FLOAT, {"outlier": "0.1"}),
    (FLOAT, {"outcome": "Floats"}),
    (FLOAT, {"outcome": None}),
    (FLOAT, {"liquid": "water"}),
    (FLOAT, {"liquid": None}),
    (DENSITY, {"density": Reading(952.0, 3.0)}),
    (DENSITY, {"density": None}),
    (DENSITY, {"density": "0.95 g/cm3"}),
    (WEIGHED, {"in_liquid": Reading(6.0, 0.01)}),
    (MARK, {"reads": "PP"}),
    (MARK, {"reads": replace(MARK.reads, names=("PS",))}),  # type: ignore[attr-defined]  # because a protocol has no such field
    (BANDS, {"bands": [2916.0, 2848.0]}),
    (BANDS, {"strong": (1000.0,)}),
    (BANDS, {"low": 5000.0}),
]


@pytest.mark.parametrize(("made", "change"), WRONG, ids=range(len(WRONG)))
def test_it_is_refused_of_a_piece_and_in_a_bag(made: Any, change: dict[str, object]) -> None:  # noqa: ANN401 - as above
    changed = replace(made, **change)
    name = next(iter(change))
    with pytest.raises(InputError, match=rf"observation\[2\]\.{name}"):
        resinid.identify([DENSITY, changed])
    with pytest.raises(InputError, match=rf"piece\[1\]\.observation\[2\]\.{name}"):
        Batch.of("b", pieces=[[DENSITY, changed]])


@pytest.mark.parametrize("wrong", [FloatTest, object(), None, 5])
def test_what_is_no_observation_is_refused(wrong: Any) -> None:  # noqa: ANN401 - because it is wrong on purpose
    with pytest.raises(InputError, match=r"observation\[1\]: .*neither an observation nor a mapping"):
        resinid.identify([wrong])
    with pytest.raises(InputError, match=r"observation\[1\]: .*neither an observation nor a mapping"):
        Batch.of("b", pieces=[[wrong]])


@pytest.mark.parametrize("method", built_in(), ids=lambda method: method.name)
def test_what_was_made_is_taken(method: Method) -> None:
    """Neither what was made of examples nor what an advice names as an outcome is refused afterwards."""
    bench = everything(method)
    for test in method.tests:
        for made in (*samples(test), *(outcome for plan in sample_plans(test, bench) for outcome in plan.outcomes)):
            check_ready_made(made)
    for made in (FLOAT, WEIGHED, DENSITY, MARK, BANDS):
        check_ready_made(made)


def test_numbers_of_another_type_are_taken() -> None:
    assert resinid.identify([replace(BANDS, low=700)]).leader  # type: ignore[type-var]  # because a protocol is no dataclass
    jug = Liquid(1.07, 0.001, 20.0, "brine")
    assert resinid.identify([FloatTest(jug, "sinks")]).leader


@dataclass(frozen=True)
class Failing:
    """An invented plug-in that cannot say what is wrong with it."""

    test: ClassVar[str] = "failing"
    observes: ClassVar[str] = "density"
    outcome: str = choice(("high", "low"))

    def term(self) -> object:
        raise ZeroDivisionError

    def describe(self) -> str:
        return "a failing test"

    def faults(self) -> object:
        raise ZeroDivisionError


def test_a_plug_in_that_fails_is_left_out_as_before_and_its_own_rules_hold() -> None:
    with pytest.warns(resinid.MethodWarning, match="failing"):
        assert resinid.identify([DENSITY, Failing("high")]).left_out  # type: ignore[list-item]  # because it is wrong on purpose
    with pytest.raises(InputError, match=r"observation\[1\]\.outcome"):
        resinid.identify([Failing("loud")])  # type: ignore[list-item]  # as above
