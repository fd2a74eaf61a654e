"""Whole tables: dangerous tests need allowing, failing plug-ins are left out and named, marks alone clear nothing."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, ClassVar, Final

import numpy as np
import pandas as pd
import pytest

from resinid import InputError, Method, MethodWarning, Term, identify, identify_table
from resinid.heating.verdict import MARKED, NOT_MEASURED
from resinid.io.fields import choice, measured
from resinid.io.reading import Reading
from resinid.methods.aspects import AspectSeen
from resinid.scoring.term import Normals

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    Array = NDArray[np.float64]


def frame(**columns: list[object]) -> pd.DataFrame:
    return pd.DataFrame({"float.liquid": ["water"] * 3, "float.outcome": ["floats", "sinks", None], **columns})


def test_a_dangerous_test_is_off_in_tables_too() -> None:
    smells: dict[str, list[object]] = {"burn_smell.outcome": ["candle", None, "styrene"]}
    burnt = frame(**smells)
    with pytest.raises(InputError, match=r"burn_smell\.outcome.*is off"):
        identify_table(burnt)
    allowed = identify_table(burnt, allow=["burn"]).to_frame()
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
        answer = identify_table(frame(**column), methods=[method]).to_frame()
    assert "ZeroDivisionError" in answer.attrs["left_out"][kind.test]
    pd.testing.assert_frame_equal(answer, identify_table(frame()).to_frame(), check_flags=False)


def test_a_mark_lifts_no_ban() -> None:
    """What was measured leaves PVC possible, so a mark that says otherwise clears nothing, alone or in a table."""
    seen = [{"test": "mark", "reads": "PP"}, {"test": "softening", "temperature": "163 ± 1 degC"}]
    softened = {"softening.temperature [degC]": [163.0], "softening.temperature_u [degC]": [1.0]}
    answer = identify(seen)
    assert answer["PP"] > 0.9
    assert not answer.heat.allowed
    assert any(MARKED in reason for reason in answer.heat.reasons)
    rows = pd.DataFrame({"mark.reads": ["PP"], **softened})
    assert identify_table(rows)["do_not_heat"].tolist() == [True]
    settled = identify([*seen, {"test": "density", "density": "0.905 ± 0.002 g/cm3"}])
    assert settled.heat.allowed
    weighed = {"density.density [g/cm3]": [0.905], "density.density_u [g/cm3]": [0.002]}
    assert identify_table(rows.assign(**weighed))["do_not_heat"].tolist() == [False]


def test_a_mark_alone_clears_no_row() -> None:
    """As for one piece: where nothing was measured, the answer is not to heat."""
    prior = {"PP": 1.0, "PE-HD": 0.001}
    assert identify_table(pd.DataFrame({"mark.reads": ["PP"]}), prior=prior)["do_not_heat"].tolist() == [True]
    alone = identify([{"test": "mark", "reads": "PP"}], prior=prior)
    assert alone["PP"] > 0.99
    assert not alone.heat.allowed
    assert NOT_MEASURED in alone.heat.reasons


@dataclass(frozen=True, slots=True)
class Dipped:
    """A density by some other way, a whole column at once."""

    test: ClassVar[str] = "dipped"
    observes: ClassVar[str] = "density"
    density: Reading = measured("density")

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        z = (values - self.density.value) / self.density.u
        likely: Array = np.exp(-0.5 * z * z) / (self.density.u * np.sqrt(2.0 * np.pi))
        return likely

    def term(self) -> Term:
        return Term("density", self.likelihood, 0.1, 0.5, feature=(self.density.value, self.density.u))

    def describe(self) -> str:
        return f"density {self.density.value:g}"

    @classmethod
    def many(cls, readings: Mapping[str, tuple[Array, Array]]) -> Normals:
        values, u = readings["density"]
        return Normals(values, u, np.full(values.shape, 0.5), 0.1, logarithmic=False, shared=None)


COLUMNS: Final[dict[str, list[object]]] = {
    "dipped.density [g/cm3]": [0.955, 1.2, None],
    "dipped.density_u [g/cm3]": [0.01, 0.01, None],
}
WRONG: Final[list[tuple[dict[str, Any], str]]] = [
    ({"centre": np.full(3, np.nan)}, "as centre one finite number"),
    ({"centre": np.ones(3)}, "NaN as centre where there is no reading"),
    ({"sd": np.ones(2)}, "as sd one finite number"),
    ({"sd": np.zeros(3)}, "as sd one finite number above 0"),
    ({"sd": np.ones(3) + 1j}, "Cannot cast"),
    ({"outlier": 0.0}, "an outlier between 0 and 1"),
    ({"shared": []}, "unhashable"),
]


def test_a_wrong_column_is_left_out() -> None:
    """The rest of the answer is that without it."""
    honest = identify_table(frame()).to_frame()
    for wrong, what in WRONG:
        many = classmethod(lambda _cls, readings, wrong=wrong: replace(Dipped.many(readings), **wrong))
        kind = type("Dropped", (Dipped,), {"many": many})
        method = Method("dipped", "1", "Dip it.", "", ("invented for this test",), (kind,))
        with pytest.warns(MethodWarning, match=f"dipped.*{what}"):
            answer = identify_table(frame(**COLUMNS), methods=[method]).to_frame()
        pd.testing.assert_frame_equal(answer, honest, check_flags=False)


def test_an_honest_column_is_used() -> None:
    """Row by row it says what the single readings do, and an empty cell says nothing."""
    method = Method("dipped", "1", "Dip it.", "", ("invented for this test",), (Dipped,))
    answer = identify_table(frame(**COLUMNS), methods=[method]).to_frame()
    float_test = {"test": "float", "liquid": "water", "outcome": "floats"}
    one = identify([float_test, Dipped(Reading(0.955, 0.01))])
    assert answer.iloc[0][one.leader] == pytest.approx(one[one.leader], abs=1e-9)
    assert "left_out" not in answer.attrs
