"""Calls to plug-ins: one that fails is left out of the answer, and no other answer suffers from it.

Built-in tests are called as they are. A plug-in's test is called here: whatever it raises becomes a
:class:`resinid.errors.PlugInError`, and the arrays it returns are checked for their shape and for numbers that
cannot be likelihoods. This contains mistakes, not malice: a plug-in runs in this process and can hang it or
return plausible lies. So it clears nothing for heating unless the caller trusts it
(:func:`resinid.heating.evidence.clearing`). Everything stricter is in :func:`resinid.testing.check_method`.
"""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, TypeVar, cast

import numpy as np

from resinid.errors import InputError, PlugInError
from resinid.io.build import build, faults_of_readings
from resinid.liquids.liquid import Liquid
from resinid.methods.registry import is_built_in
from resinid.scoring.properties import Dependence, observed
from resinid.scoring.term import Normals, Term

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from resinid.arrays import Array
    from resinid.methods.contract import Observation
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.grid import Axis
    from resinid.scoring.latents import Latent
    from resinid.scoring.properties import Observable, ObservedProperty
    from resinid.scoring.term import Likelihood

T = TypeVar("T")

__all__ = [
    "build_observation",
    "call_guarded",
    "check_ready_made",
    "describe",
    "is_trusted",
    "kind_name",
    "liquid_of",
    "normals_of",
    "observable_of",
    "plug_in_term",
    "term_of",
]


def kind_name(kind: type) -> str:
    """Return the name of a test for a message.

    Examples
    --------
    >>> from resinid.methods.float_test.method import FloatTest
    >>> kind_name(FloatTest), kind_name(int)
    ('float', 'int')
    """
    return str(getattr(kind, "test", kind.__name__))


def is_trusted(kind: type, trusted: Iterable[type] = ()) -> bool:
    """Return whether what a test tells may clear a piece: it is built in, or the caller trusts its class."""
    return is_built_in(kind) or any(kind is each for each in trusted)


def call_guarded(kind: type, function: Callable[..., T], *arguments: object) -> T:
    """Call code of a plug-in.

    Raises
    ------
    PlugInError
        The call failed; names the test ``kind``, its module and the cause.
    """
    try:
        return function(*arguments)
    except PlugInError:
        raise
    except Exception as error:
        raise _failure(kind, error) from error


def _failure(kind: type, error: Exception) -> PlugInError:
    return PlugInError(f"test {kind_name(kind)!r} ({kind.__module__}): {type(error).__name__}: {error}", kind)


def build_observation(kind: type[T], entries: Mapping[Any, object]) -> T:
    """Make a test from what was written, as :func:`resinid.io.fields.build` does.

    Raises
    ------
    InputError
        Every fault of what was written, also by a plug-in's own rules.
    PlugInError
        The plug-in failed.
    """
    try:
        return build(kind, entries)
    except InputError:
        raise
    except Exception as error:
        if is_built_in(kind):
            raise
        raise _failure(kind, error) from error


def check_ready_made(observation: object) -> None:
    """Raise InputError for a ready-made test whose fields its rules forbid; whether a plug-in fails shows later."""
    faults = faults_of_readings(observation)
    ask: Callable[[], Iterable[Any]] | None = getattr(observation, "faults", None)
    if ask and not len(faults):
        with suppress(PlugInError):
            kind = type(observation)
            faults.extend(ask() if is_built_in(kind) else call_guarded(kind, ask))
    faults.check()


def term_of(observation: Observation) -> Term:
    """Return the likelihood of an observation for the engine, or raise PlugInError; a plug-in's checks its arrays."""
    kind = type(observation)
    return observation.term() if is_built_in(kind) else call_guarded(kind, plug_in_term, observation)


def plug_in_term(observation: Observation) -> Term:
    """Return a term whose property and likelihood are guarded, wherever the test comes from."""
    kind = type(observation)
    term: object = observation.term()
    if not isinstance(term, Term):
        raise TypeError(f"term() returned a {type(term).__name__}, not a resinid.Term")
    if not (0.0 < term.outlier < 1.0 and 0.0 < term.outlier_likelihood < np.inf):
        raise ValueError(
            f"its outlier is {term.outlier!r:.50} and its outlier_likelihood {term.outlier_likelihood!r:.50}"
        )
    if term.feature is not None and not (np.isfinite(term.feature).all() and term.feature[1] > 0.0):
        raise ValueError(f"its feature is {term.feature!r:.50}; expected a value and a width above zero")
    if term.shared is not None and not 0.0 < term.shared.sharpness < np.inf:
        raise ValueError(f"its shared error has the sharpness {term.shared.sharpness!r:.50}; expected one above zero")
    hash(term.shared)
    return replace(term, observes=_guarded(term.observes, kind), likelihood=_Likelihood(kind, term.likelihood))


@dataclass(frozen=True, slots=True)
class _Likelihood:
    """A plug-in's likelihood whose array is checked at each call."""

    kind: type
    of: Likelihood

    def __call__(self, values: Array, error: Array | None) -> Array:
        shape = values.shape if error is None else np.broadcast_shapes(values.shape, error.shape)
        return call_guarded(self.kind, lambda: _checked("its likelihood", self.of(values, error), shape))


def _checked(what: str, given: object, shape: tuple[int, ...]) -> Array:
    """Return an array of likelihoods or masses in a shape."""
    array = _floats(given)
    if array.shape != shape:
        try:
            array = np.array(np.broadcast_to(array, shape))
        except ValueError:
            raise ValueError(f"{what} has the shape {array.shape} where {shape} was asked for") from None
    if not (np.isfinite(array) & (array >= 0.0)).all():
        raise ValueError(f"{what} is negative or not finite somewhere")
    return array


def _floats(given: object) -> Array:
    """Return an array of floats; complex numbers and texts are refused."""
    return np.asarray(given).astype(np.float64, casting="same_kind", copy=False)


def normals_of(kind: type[Observation], readings: Mapping[str, tuple[Array, Array]]) -> Normals:
    """Return many readings of a test as whole tables are scored, or raise PlugInError; a plug-in's are checked."""
    many = cast("Callable[..., Normals]", getattr(kind, "many"))  # noqa: B009 - because it is optional
    return many(readings) if is_built_in(kind) else call_guarded(kind, _plug_in_normals, many, readings)


def _plug_in_normals(many: Callable[..., Normals], readings: Mapping[str, tuple[Array, Array]]) -> Normals:
    made: object = many(readings)
    if not isinstance(made, Normals):
        raise TypeError(f"many() returned a {type(made).__name__}, not Normals")
    measured = ~np.isnan([values for values, _ in readings.values()]).any(axis=0)
    arrays = {name: _floats(getattr(made, name)) for name in ("centre", "sd", "outlier_likelihood")}
    for name, array in arrays.items():
        least = -np.inf if name == "centre" else 0.0
        if array.shape != measured.shape or not (np.isfinite(array) & (array > least))[measured].all():
            raise ValueError(f"many() must return as {name} one finite number above {least:g} for each reading")
    if not np.isnan(arrays["centre"][~measured]).all() or not 0.0 < made.outlier < 1.0:
        raise ValueError("many() must return NaN as centre where there is no reading, and an outlier between 0 and 1")
    hash(made.shared)
    return replace(made, centre=arrays["centre"], sd=arrays["sd"], outlier_likelihood=arrays["outlier_likelihood"])


@dataclass(frozen=True, slots=True, eq=False)
class _Property:
    """A plug-in's own property, whose latent is checked; equal to another one of the same property."""

    of: ObservedProperty
    kind: type
    name: str
    depends: tuple[Dependence, ...]
    axis: Axis | None

    def __hash__(self) -> int:
        return hash(self.of)

    def __eq__(self, other: object) -> bool:
        return bool(self.of == (other.of if isinstance(other, _Property) else other))

    def latent(self, reference: ReferenceTable, features: Iterable[tuple[float, float]] = ()) -> Latent:
        """Return what is known of each variant of a table."""
        return call_guarded(self.kind, self._latent, reference, tuple(features))

    def _latent(self, reference: ReferenceTable, features: tuple[tuple[float, float], ...]) -> Latent:
        ask: Callable[..., Latent] = self.of.latent
        found = ask(reference, features) if features else ask(reference)
        _checked(
            f"the mass of its property {self.name!r}", found.mass, (len(reference.variants) + 1, found.values.size)
        )
        return found


def _guarded(what: Observable, kind: type) -> Observable:
    if isinstance(what, str):
        observed(what)
        return what
    hash(what)
    depends = tuple(Dependence(link.on, float(link.share), link.why) for link in what.depends)
    return _Property(what, kind, what.name, depends, getattr(what, "axis", None))


def observable_of(test: Observation | type[Observation]) -> Observable:
    """Return what a test observes, or raise PlugInError; a property that a plug-in brings along comes guarded.

    Examples
    --------
    >>> from resinid.methods.float_test.method import FloatTest
    >>> observable_of(FloatTest)
    'density'
    """
    kind = test if isinstance(test, type) else type(test)
    what = cast("Observable", test.observes)
    return what if is_built_in(kind) else call_guarded(kind, _guarded, what, kind)


def describe(observation: Observation) -> str:
    """Return the readings in one line; of a plug-in that fails, that it cannot say them."""
    kind = type(observation)
    if is_built_in(kind):
        return observation.describe()
    try:
        return str(call_guarded(kind, observation.describe))
    except PlugInError:
        return f"{kind_name(kind)} cannot say what was read"


def liquid_of(observation: Observation) -> Liquid | None:
    """Return the liquid of a test; None where it has none."""
    liquid: object = getattr(observation, "liquid", None)
    return liquid if isinstance(liquid, Liquid) else None
