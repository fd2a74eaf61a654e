"""Invented plug-ins, right and wrong."""

from __future__ import annotations

from dataclasses import dataclass, replace
from importlib.metadata import EntryPoint
from typing import TYPE_CHECKING, Any, ClassVar, Final

import numpy as np

from resinid import Method, Term
from resinid.io.fields import choice
from resinid.methods import registry
from resinid.scoring.properties import CORE

if TYPE_CHECKING:
    import pytest
    from numpy.typing import NDArray

    from resinid.reference.table import ReferenceTable
    from resinid.scoring.latents import Latent

    Array = NDArray[np.float64]


@dataclass(frozen=True)
class Knock:
    """The note of a knock: stiff pieces ring high."""

    test: ClassVar[str] = "knock"
    observes: ClassVar[Any] = "flexural_modulus"
    feature: ClassVar[Any] = None
    shared: ClassVar[Any] = None

    note: str = choice(("high", "low"))

    def likelihood(self, values: Array, error: Array | None) -> Any:  # noqa: ANN401, ARG002 - some give anything; no error is shared
        high = values / (values + 1000.0)
        return high if self.note == "high" else 1.0 - high

    def term(self) -> Any:  # noqa: ANN401 - as above
        return Term(
            self.observes,
            self.likelihood,
            outlier=0.1,
            outlier_likelihood=0.5,
            feature=self.feature,
            shared=self.shared,
        )

    def describe(self) -> str:
        return f"{self.note} note"


KNOCK: Final = Method("knocking", "1", "Knock on it.", "", ("invented for this test",), (Knock,))


def weighs_as_polypropylene(values: Array, error: Array | None) -> Array:  # noqa: ARG001 - no error is shared
    """Return one at densities from 0.895 to 0.915 g/cm3, as polypropylene has, else zero."""
    return np.where((values > 0.895) & (values < 0.915), 1.0, 0.0)


def is_light(_self: object) -> Term:
    """Return the term of a test that all but measures the density of polypropylene."""
    return Term("density", weighs_as_polypropylene, 0.001, 0.5)


@dataclass(frozen=True)
class Note:
    """A property of a plug-in's own."""

    name: Any = "note"
    depends: Any = ()
    axis: Any = None
    latent: Any = CORE["snap"].latent


def fails(*_: object) -> Any:  # noqa: ANN401 - never returns
    raise ZeroDivisionError("out of order")


def kind_of(base: type = Knock, /, **attributes: object) -> type[Any]:
    """Return a test class that differs in some attributes from a right one."""
    return dataclass(frozen=True)(type(base.__name__, (base,), {"__doc__": "Differs.", **attributes}))


def method_of(*tests: type[Any], **changes: Any) -> Method:  # noqa: ANN401 - some are wrong on purpose
    """Return the method with other tests, or other changes."""
    return replace(KNOCK, **({"tests": tests} | changes if tests else changes))


def changed_latent(**changes: Any) -> Note:  # noqa: ANN401 - as above
    """Return the property with parts of what is known of it changed by functions."""

    def latent(reference: ReferenceTable) -> Latent:
        found = CORE["snap"].latent(reference)
        return replace(found, **{name: change(getattr(found, name)) for name, change in changes.items()})

    return Note(latent=latent)


def install(monkeypatch: pytest.MonkeyPatch, **points: str) -> None:
    """Let entry points be found by name: where each points to."""
    install_all(monkeypatch, *points.items())


def install_all(monkeypatch: pytest.MonkeyPatch, *points: tuple[str, str]) -> None:
    """Let entry points be found, also several of one name."""
    found = [EntryPoint(name, value, registry.GROUP) for name, value in points]
    monkeypatch.setattr("importlib.metadata.entry_points", lambda group: found if group == registry.GROUP else [])
