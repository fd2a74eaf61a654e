"""Whole tables: dangerous tests need allowing, failing plug-ins are left out and named, marks alone clear nothing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar

import pandas as pd
import pytest

from resinid import InputError, Method, MethodWarning, Term, identify, identify_table
from resinid.door.fields import choice
from resinid.methods.aspects import AspectSeen
from resinid.safety import DO_NOT_HEAT, MARKED, NOT_MEASURED

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Array = NDArray[np.float64]


def frame(**columns: list[object]) -> pd.DataFrame:
    return pd.DataFrame({"float.liquid": ["water"] * 3, "float.outcome": ["floats", "sinks", None], **columns})


def test_a_dangerous_test_is_off_in_tables_too() -> None:
    smells: dict[str, list[object]] = {"burn_smell.outcome": ["candle", None, "styrene"]}
    burnt = frame(**smells)
    with pytest.raises(InputError, match=r"burn_smell\.outcome.*is off"):
        identify_table(burnt)
    allowed = identify_table(burnt, allow=["burn"])
    one = identify([{"test": "burn_smell", "outcome": "styrene"}], allow=["burn"])
    assert allowed.iloc[2]["PS"] == pytest.approx(one["PS"], abs=1e-9)


@dataclass(frozen=True, slots=True)
class Broken(AspectSeen):
    """Fails where its likelihood is asked for."""

    test: ClassVar[str] = "broken"
    observes: ClassVar[str] = "snap"
    outcome: str = choice(("snaps", "creases", "springs back"))

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because it is wrong on purpose
        raise ZeroDivisionError


@dataclass(frozen=True, slots=True)
class Unborn(Broken):
    """Fails before that."""

    test: ClassVar[str] = "unborn"

    def term(self) -> Term:
        raise ZeroDivisionError


@pytest.mark.parametrize("kind", [Broken, Unborn], ids=lambda kind: kind.test)
def test_a_failing_plug_in_is_left_out_and_named(kind: type[Broken]) -> None:
    """The rest of the answer is that without its column, to the last bit."""
    method = Method("broken", "1", "Fails.", "", ("invented for this test",), (kind,))
    column: dict[str, list[object]] = {f"{kind.test}.outcome": ["snaps", "creases", None]}
    with pytest.warns(MethodWarning, match=f"{kind.test}.*ZeroDivisionError"):
        answer = identify_table(frame(**column), methods=[method])
    assert "ZeroDivisionError" in answer.attrs["left_out"][kind.test]
    pd.testing.assert_frame_equal(answer, identify_table(frame()), check_flags=False)


def test_a_mark_lifts_no_ban() -> None:
    """What was measured leaves PVC possible, so a mark that says otherwise clears nothing, alone or in a table."""
    prior = {"PP": 9.0, "PVC-U": 1.0}
    seen = [{"test": "mark", "reads": "PP"}, {"test": "surface_feel", "outcome": "dry"}]
    answer = identify(seen, prior=prior)
    assert answer["PVC-U"] < 0.01
    assert answer.heat.verdict == DO_NOT_HEAT
    assert any(MARKED in reason for reason in answer.heat.reasons)
    rows = pd.DataFrame({"mark.reads": ["PP"], "surface_feel.outcome": ["dry"]})
    assert identify_table(rows, prior=prior)["do_not_heat"].tolist() == [True]
    settled = identify([*seen, {"test": "density", "density": "0.905 ± 0.002 g/cm3"}], prior=prior)
    assert not any(MARKED in reason for reason in settled.heat.reasons)


def test_a_mark_alone_clears_no_row() -> None:
    """As for one piece: where nothing was measured, the answer is not to heat."""
    prior = {"PP": 1.0, "PE-HD": 0.001}
    marked = pd.DataFrame({"mark.reads": ["PP", "PP"], "snap.outcome": [None, "creases"]})
    assert identify_table(marked, prior=prior)["do_not_heat"].tolist() == [True, False]
    alone = identify([{"test": "mark", "reads": "PP"}], prior=prior)
    assert alone["PP"] > 0.99
    assert not alone.heat.allowed
    assert NOT_MEASURED in alone.heat.reasons
