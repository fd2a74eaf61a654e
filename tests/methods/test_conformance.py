"""Every built-in method passes the conformance check that is shipped for plug-ins, and the check finds faults."""

from __future__ import annotations

import shutil
import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pytest
from hypothesis import given
from plug_ins import KNOCK, Knock, Note, changed_latent, fails, kind_of, method_of
from strategies import SETTINGS

import resinid
from resinid import Method, MethodError, SharedError, Term, TestPlan
from resinid.io.fields import measured
from resinid.methods._guard import term_of
from resinid.methods.registry import built_in, find_test
from resinid.scoring.grid import Axis
from resinid.scoring.properties import CategoricalProperty, Dependence
from resinid.scoring.term import Normals
from resinid.testing import check_method, observations
from resinid.testing._rows import row_faults

if TYPE_CHECKING:
    from collections.abc import Mapping

    from hypothesis import strategies as st
    from numpy.typing import NDArray

    from resinid import Observation
    from resinid.io.reading import Reading

    Array = NDArray[np.float64]

STRIP: Final = {"width": "10 mm", "thickness": "2 mm"}
READINGS: Final = {
    "three_point_bend": [{"load": "2 N", "span": "60 mm", "deflection": "1.1 mm", **STRIP}],
    "cantilever_bend": [{"load": "20 g", "length": "60 mm", "deflection": "6 mm", **STRIP}],
    "infrared": [
        {"bands": "2916, 2848, 1472, 1462, 730, 717 1/cm", "strong": "2916, 2848"},
        {"bands": "1714, 1242", "how": "through"},
    ],
}
"""Readings that belong together, for tests whose fields do not go with each other's examples."""


@pytest.mark.parametrize("method", built_in(), ids=lambda method: method.name)
def test_every_built_in_method_conforms(method: Method) -> None:
    assert len(check_method(method, readings=READINGS)) >= 2


def of(**attributes: object) -> Method:
    """The invented method, its test wrong in some attributes."""
    return method_of(kind_of(**attributes))


def likely(function: Any) -> Method:  # noqa: ANN401 - any function of the values
    return of(likelihood=lambda _self, values, _error: function(values))


def known(**attributes: Any) -> Method:  # noqa: ANN401 - some are wrong on purpose
    return of(observes=Note(**attributes))


def latent(**changes: Any) -> Method:  # noqa: ANN401 - as above
    return of(observes=changed_latent(**changes))


def planning(made: Any) -> Method:  # noqa: ANN401 - as above
    return of(plans=classmethod(lambda cls, _have: [made(cls) if callable(made) else made]))


def plan(kind: type[Any], test: str = "knock") -> TestPlan:
    return TestPlan(test, "knock twice", (kind("high"), kind("low")), 1.0, ("knock", "knock"))


def told(**changes: Any) -> Method:  # noqa: ANN401 - as above
    """The invented method, its term wrong in some parts."""
    return of(term=lambda self: replace(Term(self.observes, self.likelihood, 0.1, 0.5), **changes))


def written_over(values: Array) -> Array:
    values[:] = 0.5
    return values


class Unhashable(Note):
    """As a plain dataclass is."""

    __hash__ = None  # type: ignore[assignment]  # because it is wrong on purpose


@dataclass(frozen=True)
class Ring(Knock):
    """A stiffness rung out of a piece, a whole column at once."""

    note: Reading = measured("flexural_modulus")  # type: ignore[assignment]  # because it is a test of another kind

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        z = (values - self.note.value) / self.note.u
        density: Array = np.exp(-0.5 * z * z)
        return density

    def describe(self) -> str:
        return "it rings"

    @classmethod
    def many(cls, readings: Mapping[str, tuple[Array, Array]]) -> Normals:
        values, u = readings["note"]
        return Normals(values, u, 0.5 / (u * np.sqrt(2.0 * np.pi)), 0.1, logarithmic=False, shared=None)


@dataclass(frozen=True)
class Tick(Knock):
    """A property of its own."""

    observes = Note()

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        return 1.0 / (1.0 + values)


def column(**wrong: Any) -> Method:  # noqa: ANN401 - as above
    """A method whose columns are wrong in some parts."""
    many = classmethod(lambda _cls, readings: replace(Ring.many(readings), **wrong))
    return method_of(kind_of(Ring, many=many))


BAD: Final[list[tuple[Any, str]]] = [
    # The method and what it declares.
    (object(), "lacks name, version"),
    (method_of(tests=3), "a tuple of classes"),
    (method_of(tests=()), "offers no test"),
    (method_of(tests=(Knock("high"),)), "is no test"),
    (method_of(tests=(Knock, Knock)), "two tests named 'knock'"),
    (method_of(tests=(object,)), "lacks test, observes"),
    (method_of(name="displacement"), "its name is that of method 'displacement'"),
    (of(test="float"), "its test 'float' has the name of one of method 'float test'"),
    (method_of(summary=""), "summary of method 'knocking' is ''"),
    (method_of(caution=None), "caution of method 'knocking' is None"),
    (method_of(sources=()), "names no source"),
    (method_of(sources="abc"), "sources of method 'knocking' is 'abc'"),
    (method_of(tools=(1,)), "expected a tuple of texts"),
    (method_of(name="kn\x1b[2Jock"), "signs that cannot be shown"),
    (method_of(summary="\ud800"), "signs that cannot be shown"),
    (of(test=3), "a text as the name test"),
    (of(test="kn ock.x#2"), "letters, digits and underscores"),
    (of(term=3), "a term that cannot be called"),
    (of(only_if_allowed=3), "3 as only_if_allowed"),
    (of(clears_heating="no"), "'no' as clears_heating"),
    (method_of(type("Bare", (), dict.fromkeys(("test", "observes", "term", "describe"), "snap"))), "frozen dataclass"),
    (method_of(dataclass(frozen=True)(type("Undocumented", (Knock,), {"note": "high"}))), "has no docstring"),
    # The property.
    (of(observes=3), "lacks name, depends, latent"),
    (of(observes="loudness"), "no core property"),
    (known(name=3), "has the name 3"),
    (known(latent=3), "cannot be called"),
    (of(observes=Unhashable()), "cannot be hashed"),
    (known(depends="abc"), "expected a tuple of Dependence"),
    (known(depends=("abc",)), "expected a Dependence"),
    (known(depends=(Dependence("snap", -3.0, "invented"),)), "a share from 0 to 1"),
    (known(depends=(Dependence("snap", float("nan"), "invented"),)), "a share from 0 to 1"),
    (known(depends=(Dependence("snap", 0.5, ""),)), "without a reason"),
    (known(axis=Axis(1.0, 0.0, 0.5, 1.0, 1.0, 0.1, logarithmic=False)), "no resinid Axis"),
    (of(observes=CategoricalProperty("note", ("high",), folder="/tmp")), "pathlib.Path"),  # type: ignore[arg-type]  # noqa: S108 - because it is wrong on purpose
    (known(latent=fails), "ZeroDivisionError"),
    (known(latent=lambda _: None), "expected a Latent"),
    (latent(mass=lambda m: m * np.nan), "masses that are negative"),
    (latent(mass=lambda m: m * 2.0), "add up to one"),
    (latent(mass=lambda m: m[1:]), "masses of shape"),
    (latent(mass=lambda m: m + 1j), "real numbers"),
    (latent(values=lambda v: v * np.nan), "no number"),
    (latent(stated=lambda s: s[1:]), "true or false for"),
    (latent(sources=lambda s: tuple((1,) for _ in s)), "names sources"),
    (latent(stray=lambda _: np.array(2.0)), "strays"),
    # The term and its likelihood.
    (of(term=fails), "ZeroDivisionError: out of order"),
    (of(term=lambda _: 3), "not a resinid.Term"),
    (told(observes="density"), "observes something else"),
    (told(outlier=0.0), "its outlier is 0.0"),
    (told(outlier_likelihood=0.0), "its outlier_likelihood is 0.0"),
    (told(shared=SharedError([], 1.0)), "hashable key"),  # type: ignore[arg-type]  # as above
    (told(feature=(-1.0, 1.0)), "its feature is"),
    (likely(lambda v: v - 1000.0), "negative or not finite"),
    (likely(lambda v: np.ones(v.size + 1)), "was asked for"),
    (likely(lambda v: np.where(v > 1000.0, 1e9, 1.0)), "state its uncertainty honestly"),
    (likely(lambda v: np.full(v.shape, time.perf_counter() % 1.0)), "differs from one call to the next"),
    (likely(lambda v: np.full(v.size, 1.0 / v.size)), "not to be normalised"),
    (likely(written_over), "writes into the values"),
    (likely(lambda v: v + 1j), "real numbers"),
    (likely(lambda v: v.astype(str)), "real numbers"),
    (likely(lambda v: np.ma.masked_greater(v, 1.0)), "masked"),
    (likely(lambda v: v * 0.0), "no value of the property can show this"),
    # What else it says of a reading.
    (of(describe=fails), "ZeroDivisionError"),
    (of(describe=lambda _: 3), "expected one short line"),
    (of(describe=lambda _: "\x1b[2J"), "expected one short line"),
    (of(forbids_heating=fails), "ZeroDivisionError"),
    (of(forbids_heating=lambda _: 7), "forbids_heating.. gave 7"),
    (of(__post_init__=fails), "ZeroDivisionError"),
    (of(faults=lambda _: None), "TypeError"),
    # Plans and columns.
    (of(plans=classmethod(fails)), "ZeroDivisionError"),
    (planning(3), "plans.. gave a int"),
    (planning(plan(Knock)), "is no plan of this test"),
    (planning(lambda kind: plan(kind, "float")), "is no plan of this test"),
    (method_of(kind_of(Ring, many=classmethod(fails))), "ZeroDivisionError"),
    (method_of(kind_of(Ring, many=classmethod(lambda _cls, _readings: 3))), "not Normals"),
    (column(sd=np.ones(7)), "an entry a piece"),
    (column(sd=np.ones(2) + 1j), "real numbers"),
    (column(sd=np.zeros(2)), "its sd must be"),
    (column(centre=np.ones(2)), "its centre must be"),
    (column(outlier_likelihood=np.full(2, 1e-30)), "its outlier_likelihood must be"),
    (column(outlier="a"), "its outlier is 'a'"),
    (column(logarithmic=None), "its logarithmic is None"),
    (column(shared=[]), "cannot be hashed"),
    (column(sd=np.full(2, 1e3)), "says something else"),
]


def test_bad_methods_are_told_what_is_wrong() -> None:
    for method, what in BAD:
        with pytest.raises(MethodError, match=what):
            check_method(method)


def test_good_ones_pass() -> None:
    assert {made.describe() for made in check_method(KNOCK)} == {"high note", "low note"}
    assert check_method(method_of(Tick))
    assert check_method(method_of(Ring))


def test_every_fault_is_listed() -> None:
    wrong = kind_of(describe=fails, plans=classmethod(lambda _cls, _have: [3]))
    with pytest.raises(MethodError) as caught:
        check_method(method_of(wrong))
    assert all(word in str(caught.value) for word in ("plans()", "ZeroDivisionError"))
    with pytest.raises(MethodError) as caught:
        check_method(method_of(kind_of(test="a b"), sources=None, tools=None))
    assert all(word in str(caught.value) for word in ("sources", "tools", "'a b'"))


def drawn(name: str) -> st.SearchStrategy[Observation]:
    return observations(find_test(name))


@SETTINGS
@given(drawn("float") | drawn("hot_plate") | drawn("charring") | drawn("density") | drawn("feel"))
def test_likelihoods_are_chances(made: Observation) -> None:
    """Whatever is read, the likelihood is finite and not negative at every value of the property."""
    term = term_of(made)
    values = np.geomspace(0.02, 2.9, 50) if term.observes == "density" else np.linspace(1.0, 450.0, 50)
    found = term.likelihood(values, None)
    assert found.shape == values.shape
    assert np.isfinite(found).all()
    assert (found >= 0).all()


ROWS = "resin,variant,property,low,typical,high,unit,condition,specimen,source,locator,obtained,note\n"
SOURCES = "key,citation,year,kind,url,read,note\nown,Own notes,2026,common practice,,memory,\n"


@pytest.mark.parametrize(
    ("row", "says"),
    [
        (
            "PP,natural,static_friction,0.3,,0.4,,,,own,,common practice,",
            "PP has no variant 'natural'; it has homopolymer",
        ),
        ("PPP,natural,static_friction,0.3,,0.4,,,,own,,common practice,", "no resin is called 'PPP'; did you mean"),
        ("PTFE,natural,static_friction,0.1,,0.2,,,,nosuch,,common practice,", "no source has the key 'nosuch'"),
    ],
)
def test_rows_of_unknown_resins_variants_and_sources_are_refused(row: str, says: str, tmp_path: Path) -> None:
    """They would be left out of the scores without a word."""
    good = "PTFE,natural,static_friction,0.1,,0.2,,,,own,,common practice,\n"
    (tmp_path / "properties.csv").write_text(ROWS + good + row + "\n", encoding="utf-8")
    (tmp_path / "sources.csv").write_text(SOURCES, encoding="utf-8")
    friction = resinid.ContinuousProperty.logarithmic(
        resinid.Quantity("static_friction", "", 0.02, 4.0, "0.35", "Static friction."), tmp_path
    )
    assert any(says in fault for fault in row_faults(friction)), [*row_faults(friction)]
    (tmp_path / "properties.csv").write_text(ROWS + good, encoding="utf-8")
    assert not [*row_faults(replace(friction, folder=Path(shutil.copytree(tmp_path, tmp_path / "copy"))))]


def test_a_density_far_from_all_plastics_is_no_false_alarm() -> None:
    """A likelihood with a shared error that is far below an outlier's may differ from its average by rounding."""
    method = next(each for each in built_in() if any(test.test == "weighing" for test in each.tests))
    far = {"in_air": "9.00 g", "in_liquid": "6.00 g", "liquid": "water"}
    check_method(method, readings={"weighing": [far]})
