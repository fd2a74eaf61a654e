"""Whatever a plug-in's property, test or likelihood gives, it is left out and named, and moves no other answer."""

from __future__ import annotations

import dataclasses
import itertools
import time
import warnings
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, ClassVar, Final

import numpy as np
import pandas as pd
import pytest
from test_conformance import Knock, method_of
from test_wrong_methods import BACKWARDS, Known, Unhashable, depending, leave

from resinid import (
    Batch,
    InputError,
    MethodError,
    MethodWarning,
    Result,
    Shared,
    Term,
    batch_composition,
    identify,
    identify_table,
    next_tests,
    observe,
)
from resinid.door.reading import Reading
from resinid.errors import Fault
from resinid.methods import outside
from resinid.methods.displacement.method import MeasuredDensity
from resinid.methods.look_and_feel.method import DROP_SOUND
from resinid.scoring.observed import CORE, Aspect
from resinid.testing import check_method

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from numpy.typing import NDArray

    from resinid.scoring.latents import Latent
    from resinid.table.table import Table

    Array = NDArray[np.float64]

SEEN: Final = (
    {"test": "float", "liquid": "water", "outcome": "floats"},
    {"test": "softening", "temperature": "131 ± 2 degC"},
)
MARK: Final = {"test": "mark", "reads": "PE-HD"}
"""Says nothing of the piece itself, so that all else is scored a second time without it."""


def snap(table: Table) -> Latent:
    return CORE["snap"].latent(table)


def less(name: str, change: Callable[[Any], object]) -> Callable[[Table], Latent]:
    """What is known of snapping, one part of it changed."""

    def latent(table: Table) -> Latent:
        found = snap(table)
        changed: Any = {name: change(getattr(found, name))}
        return dataclasses.replace(found, **changed)

    return latent


def fails(*_: object) -> Any:  # noqa: ANN401 - never returns
    raise ZeroDivisionError("out of order")


def sleeps(*_: object) -> Any:  # noqa: ANN401 - as above, in time
    time.sleep(1.0)


class NoComparing(Known):
    """Cannot be compared with another."""

    __hash__ = Known.__hash__

    def __eq__(self, other: object) -> bool:
        raise ZeroDivisionError


class Awkward:
    """An array that cannot be made one."""

    def __array__(self, *_: object, **__: object) -> Array:
        raise SystemExit(3)


def bad(*_: object) -> np.ma.MaskedArray[Any, Any]:
    return np.ma.masked_greater(np.arange(3.0), 1.0)


@dataclass(frozen=True)
class Tick(Knock):
    """What is right in all but one thing."""

    test: ClassVar[str] = "tick"
    observes: ClassVar[Any] = Known(latent=snap)
    value: ClassVar[Any] = None
    feature: ClassVar[Any] = None
    shared: ClassVar[Any] = None

    def likelihood(self, values: Array, error: Array | None) -> Any:  # noqa: ANN401, ARG002 - wrong on purpose
        return 0.1 + 0.1 / (1.0 + values) if self.value is None else self.value(values)

    def term(self) -> Term:
        return Term(self.observes, self.likelihood, 0.1, 0.5, feature=self.feature, shared=self.shared)


def kind_of(attributes: dict[str, Any]) -> type[Tick]:
    return dataclass(frozen=True)(type("Tock", (Tick,), attributes))


def property_of(**attributes: object) -> dict[str, object]:
    return {"observes": Known(**attributes)}


WRONG: Final[dict[str, tuple[dict[str, object], str]]] = {
    "latent raises": (property_of(latent=fails), "ZeroDivisionError: out of order"),
    "latent leaves": (property_of(latent=leave), "SystemExit"),
    "latent sleeps": (property_of(latent=sleeps), "did not return"),
    "latent None": (property_of(latent=lambda _: None), "gave a NoneType"),
    "masses no number": (property_of(latent=less("mass", lambda m: m * np.nan)), "masses that are negative"),
    "masses negative": (property_of(latent=less("mass", lambda m: m - 1.0)), "masses that are negative"),
    "masses too many": (property_of(latent=less("mass", lambda m: m * 2.0)), "add up to one"),
    "masses misshapen": (property_of(latent=less("mass", lambda m: m[1:])), "masses of shape"),
    "masses complex": (property_of(latent=less("mass", lambda m: m + 1j)), "real numbers"),
    "values no number": (property_of(latent=less("values", lambda v: v * np.nan)), "no number"),
    "stated too short": (property_of(latent=less("stated", lambda s: s[1:])), "states"),
    "sources numbers": (property_of(latent=less("sources", lambda s: tuple((1,) for _ in s))), "names sources"),
    "strays too much": (property_of(latent=less("stray", lambda _: np.array(2.0))), "strays"),
    "no words": ({"observes": Aspect("tick", ())}, "Error"),
    "folder a text": ({"observes": Aspect("tick", ("a", "b"), folder="/tmp")}, "Path"),  # type: ignore[arg-type]  # noqa: S108 - because it is wrong on purpose
    "unhashable": ({"observes": Unhashable(latent=snap)}, "cannot be hashed"),
    "depends a text": (property_of(latent=snap, depends="abc"), "tuple of Dependence"),
    "share negative": ({"observes": depending(-3.0)}, "share from 0 to 1"),
    "share no number": ({"observes": depending(float("nan"))}, "share from 0 to 1"),
    "axis backwards": (property_of(latent=snap, axis=BACKWARDS), "no resinid Axis"),
    "not known": ({"observes": "loudness"}, "no core property"),
    "observes raises": ({"observes": property(leave)}, "SystemExit"),
    "feature at zero": ({"observes": "density", "feature": (0.0, 1.0)}, "feature"),
    "feature below zero": ({"observes": "density", "feature": (-1.0, 1.0)}, "feature"),
    "key unhashable": ({"shared": Shared([], 1.0)}, "hashable key"),  # type: ignore[arg-type]  # as above
    "likelihood awkward": ({"value": staticmethod(lambda _: Awkward())}, "SystemExit"),
    "likelihood complex": ({"value": staticmethod(lambda v: v + 1j)}, "real numbers"),
    "likelihood masked": ({"value": staticmethod(bad)}, "masked"),
    "likelihood texts": ({"value": staticmethod(lambda v: v.astype(str))}, "real numbers"),
    "describe raises": ({"describe": fails}, "ZeroDivisionError"),
    "describe leaves": ({"describe": leave}, "SystemExit"),
    "describe sleeps": ({"describe": sleeps}, "did not return"),
    "describe a number": ({"describe": lambda _: 3}, "describe.. returned a int"),
    "describe half a character": ({"describe": lambda _: "\ud800"}, "half a character"),
    "clears_heating raises": ({"clears_heating": property(leave)}, "SystemExit"),
}


@pytest.mark.parametrize(("attributes", "what"), WRONG.values(), ids=WRONG)
def test_it_is_left_out_and_named(attributes: dict[str, object], what: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """The answer is the one without it, to the last digit, and can be written and shown."""
    monkeypatch.setattr(outside, "LIMIT", 0.2)
    kind = kind_of(attributes)
    with pytest.warns(MethodWarning, match=f"'tick'.*{what}"):
        answer = identify([SEEN[0], kind("high"), SEEN[1], MARK])
    honest = identify([*SEEN, MARK])
    assert answer.probability == honest.probability
    assert answer.heat == honest.heat
    assert [test for test, _ in answer.left_out] == ["tick"]
    assert Result.from_json(answer.to_json()).left_out == answer.left_out
    assert answer._repr_html_()


def test_a_right_one_is_used() -> None:
    answer = identify([*SEEN, Tick("high")])
    assert not answer.left_out
    assert answer.probability != identify(SEEN).probability


def test_two_that_cannot_be_compared() -> None:
    """They are taken for two, and nobody else is asked to wait for them."""
    one, other = (kind_of({"observes": NoComparing(latent=snap)})("high") for _ in range(2))
    answer = identify([one, other, Tick("high")])
    assert [name for name, _ in answer.unstated] == ["note", "note", "note"]
    assert not answer.left_out


def test_a_property_of_ours_is_one_with_the_plug_ins() -> None:
    """A plug-in's test of a built-in's property shares its latent value: said twice, it tells less than two would."""
    heard = observe("drop_sound", outcome=DROP_SOUND.outcomes[0])
    twin = kind_of({"observes": DROP_SOUND, "value": lambda _, v: np.where(v == 0.0, 1.0, 0.0)})
    alone = identify([heard], prior="uniform")
    both = identify([heard, twin("high")], prior="uniform")
    assert len(both.unstated) == 1
    assert both[alone.leader] < 1.2 * alone[alone.leader]


def test_one_that_fails_now_and_then() -> None:
    """However often it worked before, an answer comes, and is the one without it where it is left out."""
    for good in range(1, 12):
        calls = itertools.count()
        value = lambda values, calls=calls, good=good: np.ones(values.size) if next(calls) < good else fails()  # noqa: E731 - as it is a class attribute
        kind = kind_of({"value": staticmethod(value), "observes": "snap"})
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", MethodWarning)
            answer = identify([*SEEN, MARK, kind("high")])
        if answer.left_out:
            assert answer.probability == identify([*SEEN, MARK]).probability
        else:
            break
    assert good > 1
    assert not answer.left_out


def test_what_forbids_heating_stands() -> None:
    """Left out of the ranking, it is not left out of the safety: in doubt, do not heat."""
    kind = kind_of({"describe": fails, "forbids_heating": lambda _: "chlorine was found"})
    with pytest.warns(MethodWarning, match="left out"):
        answer = identify([*SEEN, kind("high")])
    assert not answer.heat.allowed
    assert any("chlorine was found" in reason for reason in answer.heat.reasons)
    rows = pd.DataFrame({"snap.outcome": ["creases"] * 2, "tick.note": ["high", None]})
    prior = {"PP": 1.0, "PE-HD": 0.001}
    with pytest.warns(MethodWarning, match="left out"):
        found = identify_table(rows, prior=prior, methods=[method_of(kind)])
    assert found["do_not_heat"].tolist() == [True, False]


@pytest.mark.parametrize("forbids", [fails, leave, lambda _: 7, property(fails)])
def test_one_that_cannot_say_forbids_heating(forbids: object) -> None:
    """In doubt, do not heat; and the conformance check names it."""
    kind = kind_of({"forbids_heating": forbids})
    answer = identify([*SEEN, kind("high")])
    assert "tick cannot say whether it forbids heating" in answer.heat.reasons
    with pytest.raises(MethodError, match=r"forbids_heating|ZeroDivisionError|SystemExit"):
        check_method(method_of(kind))


def test_a_bag_leaves_it_out(monkeypatch: pytest.MonkeyPatch) -> None:
    """As one piece does: the shares are those of the bag without it, to what two streams of draws differ by."""
    monkeypatch.setattr(outside, "LIMIT", 0.2)
    kind = kind_of({"value": fails})
    bags = [Batch.of("lot 7", pieces=[[*SEEN, *more]] * 3) for more in ([], [kind("high")])]
    with pytest.warns(MethodWarning, match="left out"):
        found = [batch_composition(bag) for bag in bags]
    for share in found[0].shares:
        assert found[1][share.resin].mean == pytest.approx(share.mean, abs=0.01)


def heard_once() -> Callable[[object], str]:
    """Say it the first time, when it is looked into, and fail from then on."""
    times = itertools.count()
    return lambda _: "high note" if next(times) == 0 else fails()


def test_one_that_fails_later_spoils_no_answer() -> None:
    """What it read is shown as unsaid; what it cannot write down is our own error, which names it."""
    answer = identify([*SEEN, kind_of({"describe": heard_once()})("high")])
    assert not answer.left_out
    assert "cannot say what was read" in answer.to_json()
    assert "cannot say what was read" in answer._repr_html_()


def test_a_liquid_that_fails_is_none() -> None:
    kind = kind_of({"liquid": property(fails)})
    assert identify([*SEEN, kind("high")]).probability == identify([*SEEN, Tick("high")]).probability
    assert next_tests([kind("high")], have="strip").suggestions


def refuse(_self: object) -> list[Fault]:
    return [Fault("note", "is too high for this room")]


UNMADE: Final[dict[str, tuple[dict[str, object], str]]] = {
    "post_init raises": ({"__post_init__": fails}, "ZeroDivisionError"),
    "post_init leaves": ({"__post_init__": leave}, "SystemExit"),
    "faults raises": ({"faults": fails}, "ZeroDivisionError"),
    "faults None": ({"faults": lambda _: None}, "TypeError"),
}


@pytest.mark.parametrize(("attributes", "what"), UNMADE.values(), ids=UNMADE)
def test_one_that_cannot_be_made_is_left_out(attributes: dict[str, object], what: str) -> None:
    """Of one piece and of a table."""
    method = method_of(kind_of(attributes))
    with pytest.warns(MethodWarning, match=what):
        answer = identify([*SEEN, {"test": "tick", "note": "high"}], methods=[method])
    assert answer.probability == identify(SEEN).probability
    assert [test for test, _ in answer.left_out] == ["tick"]
    frame = pd.DataFrame({"feel.outcome": ["limp", "rigid"], "tick.note": ["high", None]})
    with pytest.warns(MethodWarning, match=what):
        found = identify_table(frame, methods=[method])
    pd.testing.assert_frame_equal(found, identify_table(frame[["feel.outcome"]]), check_flags=False)
    with pytest.raises(TypeError, match=what):
        observe("tick", methods=[method], note="high")


def test_what_it_refuses_is_a_fault_of_the_input() -> None:
    method = method_of(kind_of({"faults": refuse}))
    with pytest.raises(InputError, match=r"observation\[1\].note: is too high"):
        identify([{"test": "tick", "note": "high"}], methods=[method])


@pytest.mark.parametrize("reading", [Reading(-5.0, 0.01), Reading("a", 1), Reading(0.95, None), Reading(0.95, -1.0)])  # type: ignore[arg-type]  # because they are wrong on purpose
def test_a_ready_made_reading_is_looked_at(reading: Reading) -> None:
    with pytest.raises(InputError, match=r"observation\[1\].density"):
        identify([MeasuredDensity(reading)])


def test_a_broken_table_of_a_plug_in(tmp_path: Path) -> None:
    (tmp_path / "behaviour.csv").write_text("no,such,columns\n", encoding="utf-8")
    kind = kind_of({"observes": Aspect("tick", ("high", "low"), folder=tmp_path)})
    with pytest.warns(MethodWarning, match="TableError"):
        assert identify([*SEEN, kind("high")]).probability == identify(SEEN).probability
