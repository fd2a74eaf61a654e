"""Every built-in method passes the conformance check that is shipped for plug-ins, and the check finds faults."""

from __future__ import annotations

import time
from dataclasses import dataclass
from typing import TYPE_CHECKING, ClassVar, Final

import numpy as np
import pytest
from hypothesis import given
from strategies import SETTINGS

from resinid import Method, MethodError, Term
from resinid.door.fields import choice
from resinid.methods.guard import term_of
from resinid.methods.registry import built_in, find_test
from resinid.testing import check_method, observations

if TYPE_CHECKING:
    from hypothesis import strategies as st
    from numpy.typing import NDArray

    from resinid import Observation

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


@dataclass(frozen=True, slots=True)
class Knock:
    """An invented test."""

    test: ClassVar[str] = "knock"
    observes: ClassVar[str] = "flexural_modulus"
    note: str = choice(("high", "low"))

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - because no error is shared
        high = values / (values + 1000.0)
        return high if self.note == "high" else 1.0 - high

    def term(self) -> Term:
        return Term(self.observes, self.likelihood, mishap=0.1, if_mishap=0.5)

    def describe(self) -> str:
        return f"{self.note} note"


class Negative(Knock):
    """Negative likelihoods."""

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - as above
        return values - 1000.0


class Misshapen(Knock):
    """A likelihood of the wrong length."""

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - as above
        return np.ones(values.size + 1)


class Sure(Knock):
    """No chance of being botched."""

    def term(self) -> Term:
        return Term(self.observes, self.likelihood, mishap=0.0, if_mishap=0.5)


class Shouting(Knock):
    """A likelihood far beyond what any bench test can tell."""

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - as above
        return np.where(values > 1000.0, 1e9, 1.0)


class Fickle(Knock):
    """Another likelihood at each call."""

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - as above
        return np.full(values.shape, time.perf_counter() % 1.0)


class Crashing(Knock):
    """Raises."""

    def term(self) -> Term:
        raise RuntimeError("out of order")


class Meddling(Knock):
    """Writes into what it is given."""

    def likelihood(self, values: Array, error: Array | None) -> Array:  # noqa: ARG002 - as above
        values[:] = 0.0
        return values


class Elsewhere(Knock):
    """Its term observes something else than the class states."""

    def term(self) -> Term:
        return Term("density", self.likelihood, mishap=0.1, if_mishap=0.5)


def method_of(test: type[Observation]) -> Method:
    return Method("knock", "1", "Knock on it.", "", ("invented for this test",), (test,))


BAD: Final = {
    Negative: "negative or not finite",
    Misshapen: "where .* was asked for",
    Sure: "its mishap is 0.0",
    Shouting: "state its uncertainty honestly",
    Fickle: "differs from one call to the next",
    Crashing: "RuntimeError: out of order",
    Meddling: "read-only",
    Elsewhere: "observes something else",
}


def test_a_good_one_passes() -> None:
    assert {made.describe() for made in check_method(method_of(Knock))} == {"high note", "low note"}


@pytest.mark.parametrize("kind", BAD, ids=lambda kind: kind.__name__)
def test_a_bad_one_is_told_what_is_wrong(kind: type[Knock]) -> None:
    with pytest.raises(MethodError, match=BAD[kind]):
        check_method(method_of(kind))


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
