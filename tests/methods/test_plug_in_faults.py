"""A plug-in that lies, crashes, is slow or misshapen is named, left out, and moves no other answer."""

from __future__ import annotations

import time
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np
import pytest
from test_conformance import Crashing, Elsewhere, Knock, Meddling, Misshapen, Negative, Shouting, Sure, method_of

from resinid import Method, MethodError, MethodWarning, NotAllowedError, Result, identify, next_tests, observe
from resinid.door.fields import choice
from resinid.methods import outside, registry
from resinid.methods.aspects import AspectSeen
from resinid.scoring.observed import Aspect

if TYPE_CHECKING:
    from collections.abc import Iterator

    from numpy.typing import NDArray

    from resinid import Have, Plan

    Array = NDArray[np.float64]

SEEN: Final = (
    {"test": "float", "liquid": "water", "outcome": "floats"},
    {"test": "softening", "temperature": "131 ± 2 degC"},
)


class Sleeping(Knock):
    """Does not come back in time."""

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        time.sleep(1.0)
        return np.ones(values.shape)


class Leaving(Knock):
    """Tries to end the program."""

    def term(self) -> object:  # type: ignore[override]  # because it is wrong on purpose
        raise SystemExit(3)


class Unlike(Knock):
    """Returns no term."""

    def term(self) -> object:  # type: ignore[override]  # as above
        return {"mishap": 0.1}


@pytest.mark.parametrize(
    "kind",
    [Crashing, Elsewhere, Leaving, Meddling, Misshapen, Negative, Shouting, Sleeping, Sure, Unlike],
    ids=lambda kind: kind.__name__,
)
def test_it_is_left_out_and_named(kind: type[Knock], monkeypatch: pytest.MonkeyPatch) -> None:
    """The answer is the one without it, to the last digit, and says what was left out and why."""
    monkeypatch.setattr(outside, "LIMIT", 0.2)
    honest = identify(SEEN)
    with pytest.warns(MethodWarning, match="'knock'"):
        answer = identify([SEEN[0], kind("high"), SEEN[1]])
    assert answer.probability == honest.probability
    assert answer.observations == honest.observations
    ((test, why),) = answer.left_out
    assert test == "knock"
    assert kind.__module__ in why
    assert Result.from_json(answer.to_json()).left_out == answer.left_out
    assert identify(SEEN) == honest


def test_an_honest_one_is_used() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        answer = identify([*SEEN, Knock("high")])
    assert not answer.left_out
    assert answer.probability != identify(SEEN).probability


@dataclass(frozen=True, slots=True)
class FalseFloat(AspectSeen):
    """Has the name of a built-in test."""

    test: ClassVar[str] = "float"
    observes: ClassVar[str] = "snap"
    outcome: str = choice(("snaps", "creases", "springs back"))


@dataclass(frozen=True, slots=True)
class FalseDensity(AspectSeen):
    """Brings along a core property of its own making."""

    test: ClassVar[str] = "false_density"
    observes: ClassVar[Aspect] = Aspect("density", ("snaps", "creases"))
    outcome: str = choice(("snaps", "creases"))


@pytest.mark.parametrize(("kind", "what"), [(FalseFloat, "'float'"), (FalseDensity, "knows 'density' otherwise")])
def test_it_cannot_take_the_place_of_another(kind: type[AspectSeen], what: str) -> None:
    with pytest.raises(MethodError, match=what):
        registry.listed([method_of(kind)])
    assert observe("float", liquid="water", outcome="sinks").test == "float"


@dataclass(frozen=True, slots=True)
class Lure(AspectSeen):
    """Offers a plan that cannot be scored."""

    test: ClassVar[str] = "lure"
    observes: ClassVar[Aspect] = Aspect("lure", ("yes", "no"))
    outcome: str = choice(("yes", "no"))

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because it is wrong on purpose
        raise ZeroDivisionError

    @classmethod
    def plans(cls, have: Have) -> Iterator[Plan]:  # noqa: ARG003 - because nothing is needed
        yield cls.plan("lure", 1.0, ("one", "two"), needs=(), caution="")


def test_its_plans_are_tried_before_they_are_offered() -> None:
    lure = method_of(Lure)
    with pytest.warns(MethodWarning, match="'lure'.*ZeroDivisionError"):
        advice = next_tests(SEEN, methods=[lure])
    assert [found.plan.key for found in advice.suggestions] == [
        found.plan.key for found in next_tests(SEEN).suggestions
    ]


@dataclass(frozen=True, slots=True)
class Torch(AspectSeen):
    """A dangerous test."""

    test: ClassVar[str] = "torch"
    observes: ClassVar[str] = "snap"
    only_if_allowed: ClassVar[str] = "burn"
    outcome: str = choice(("snaps", "creases", "springs back"))


def test_a_dangerous_test_is_off_until_allowed() -> None:
    torch: Method = method_of(Torch)
    reading = {"test": "torch", "outcome": "snaps"}
    with pytest.raises(NotAllowedError, match=r"allow = \['burn'\]"):
        observe("torch", methods=[torch], outcome="snaps")
    with pytest.raises(ValueError, match="is off"):
        identify([reading], methods=[torch])
    assert identify([reading], methods=[torch], allow=["burn"]).observations
