"""Between the engine and a plug-in: whatever a plug-in does, no other answer suffers from it.

Tests of this package are taken at their word. Everything that comes from elsewhere is
run in a thread of its own with a time limit, on arrays that cannot be written to, and
what it returns is checked and copied. What fails is named in a :class:`PlugInError`.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Final, TypeVar, cast

import numpy as np

from resinid.door.fields import build, faults_of_readings
from resinid.errors import Fault, Faults, InputError, PlugInError
from resinid.methods.brought import observable_of
from resinid.methods.outside import array_of, calling, is_finite, is_own, is_writable, test_of
from resinid.scoring.observed import axis_of
from resinid.scoring.term import Normals, Shared, Term

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from numpy.typing import NDArray

    from resinid.methods.contract import Observation
    from resinid.scoring.grid import Axis
    from resinid.scoring.observed import Observable
    from resinid.scoring.term import Likelihood

    Array = NDArray[np.float64]

T = TypeVar("T")

__all__ = [
    "LEAST_MISHAP",
    "MOST_TELLING",
    "check_made",
    "checked_normals",
    "checked_term",
    "made_of",
    "normals_of",
    "term_of",
]

LEAST_MISHAP: Final = 1e-4
"""Smallest chance of a botched test that is believed; every bench test can go wrong."""

MOST_MISHAP: Final = 0.5
"""A test that is more often botched than not is none."""

MOST_TELLING: Final = 1e6
"""Largest ratio of a likelihood to that of a botched test which is believed. A density to
1e-6 of its value has about that much against any plastic; nothing at a bench has more."""

SMALLEST: Final = 1e-12
LARGEST: Final = 1e12
"""Limits of the likelihood of what is read if a test was botched, in any unit."""


def made_of(kind: type[T], entries: Mapping[Any, object]) -> T:
    """Make a test from what was written, as :func:`resinid.door.fields.build` does.

    Raises
    ------
    InputError
        Every fault of what was written, a plug-in's own rules included.
    PlugInError
        The plug-in failed, took too long or returned what cannot be.
    """
    if is_own(kind):
        return build(kind, entries)
    who = f"test {test_of(kind)!r} ({kind.__module__})"
    made: T | InputError = calling(_built, who, kind, entries, kind=kind)
    # That an input is refused is no failure of the plug-in.
    if isinstance(made, InputError):
        raise made
    return made


def _built(kind: type[T], entries: Mapping[Any, object]) -> T | InputError:
    try:
        return build(kind, entries)
    except InputError as error:
        if not all(isinstance(fault, Fault) for fault in error.faults):
            raise
        return InputError(error.faults)


def check_made(observation: object) -> None:
    """Refuse a ready-made test whose fields hold what its own rules forbid.

    Where a plug-in fails at this, nothing is said: it is named, and left out, where it is scored.

    Raises
    ------
    InputError
        Every fault of its fields, or of all of them together.
    """
    kind = type(observation)
    if is_own(kind):
        found = _wrong(observation)
    else:
        try:
            found = calling(_wrong, f"test {test_of(kind)!r} ({kind.__module__})", observation, kind=kind)
        except PlugInError:
            return
    if found:
        raise InputError(found)


def _wrong(observation: object) -> tuple[Fault, ...]:
    faults = Faults()
    faults.extend(faults_of_readings(observation))
    ask: Callable[[], Iterable[Fault]] | None = getattr(observation, "faults", None)
    if ask and not len(faults):
        faults.extend(ask())
    return tuple(faults)


def term_of(observation: Observation) -> Term:
    """Return the likelihood of an observation; of a plug-in's only after checking it.

    Raises
    ------
    PlugInError
        The plug-in failed, took too long or returned what cannot be.
    """
    return observation.term() if is_own(type(observation)) else checked_term(observation)


def checked_term(observation: Observation) -> Term:
    """Return the likelihood of an observation after checking it, wherever it comes from.

    Raises
    ------
    PlugInError
        It failed, took too long or returned what cannot be.
    """
    kind = type(observation)
    who = f"test {test_of(kind)!r} ({kind.__module__})"
    what = observable_of(observation)
    found = calling(_asked, who, observation, what, kind=kind)
    if isinstance(found, list):
        raise PlugInError(f"{who}: {'; '.join(found)}", kind)
    checked = _Checked(found.likelihood, who, kind, found.if_mishap * MOST_TELLING)
    return Term(what, checked, found.mishap, found.if_mishap, found.feature, found.shared)


def normals_of(kind: type[Observation], readings: Mapping[str, tuple[Array, Array]]) -> Normals:
    """Return many readings of a test as whole tables are scored; a plug-in's only after checking them.

    Raises
    ------
    PlugInError
        The plug-in failed, took too long or returned what cannot be.
    """
    return _many(kind)(readings) if is_own(kind) else checked_normals(kind, readings)


def checked_normals(kind: type[Observation], readings: Mapping[str, tuple[Array, Array]]) -> Normals:
    """Return many readings of a test after checking them, wherever it comes from.

    Raises
    ------
    PlugInError
        It failed, took too long or returned what cannot be.
    """
    many = _many(kind)
    who = f"many() of test {test_of(kind)!r} ({kind.__module__})"
    shown = {name: (_read_only(values), _read_only(u)) for name, (values, u) in readings.items()}
    given = ~np.isnan(np.array([values for values, _ in shown.values()])).any(axis=0)
    found = calling(lambda: _normals(many(shown), given), who, kind=kind)
    if isinstance(found, list):
        raise PlugInError(f"{who}: {'; '.join(found)}", kind)
    return found


def _many(kind: type[Observation]) -> Callable[..., Normals]:
    return cast("Callable[..., Normals]", getattr(kind, "many"))  # noqa: B009 - because it is optional


@dataclass(frozen=True, slots=True)
class _Checked:
    """A plug-in's likelihood, checked each time it is asked."""

    of: Likelihood
    who: str
    kind: type
    most: float

    def __call__(self, values: Array, error: Array | None) -> Array:
        shown = _read_only(values)
        given = None if error is None else _read_only(error)
        shape = values.shape if error is None else np.broadcast_shapes(values.shape, error.shape)
        out = calling(lambda: _spread(self.of(shown, given), shape), self.who, kind=self.kind)
        if isinstance(out, str):
            raise PlugInError(f"{self.who}: its likelihood {out}", self.kind)
        if not (np.isfinite(out).all() and (out >= 0).all()):
            raise PlugInError(f"{self.who}: its likelihood is negative or not finite somewhere", self.kind)
        if out.max(initial=0.0) > self.most:
            what = f"is more than {MOST_TELLING:g} times that of a botched test; state its uncertainty honestly"
            raise PlugInError(f"{self.who}: its likelihood {what}", self.kind)
        return out


def _read_only(array: Array) -> Array:
    out = array.copy()
    out.flags.writeable = False
    return out


def _spread(found: object, shape: tuple[int, ...]) -> Array | str:
    """Return a likelihood as an array of a shape, or what is wrong with it."""
    try:
        plain = array_of(found)
    except (TypeError, ValueError) as error:
        return str(error)
    try:
        return np.array(np.broadcast_to(plain, shape))
    except ValueError:
        return f"returned {plain.shape} where {shape} was asked for"


def _asked(observation: Observation, what: Observable) -> Term | list[str]:
    """Return a plug-in's term, made of plain values, or what is wrong with it; runs code of the plug-in's."""
    term: object = observation.term()
    if not isinstance(term, Term):
        return [f"term() returned a {type(term).__name__}, not a resinid.Term"]
    faults = [*_problems(term, what), *_sayings(observation)]
    if faults:
        return faults
    feature = None if term.feature is None else (float(term.feature[0]), float(term.feature[1]))
    shared = None if term.shared is None else Shared(term.shared.key, float(term.shared.sharpness))
    return Term(what, term.likelihood, float(term.mishap), float(term.if_mishap), feature, shared)


def _problems(term: Term, what: Observable) -> list[str]:
    """Return what is wrong with a plug-in's term, the likelihood aside."""
    found: list[str] = []
    if what != term.observes:
        found.append("its term observes something else than the test states")
    if not callable(term.likelihood):
        found.append("its likelihood cannot be called")
    for name, low, high in (("mishap", LEAST_MISHAP, MOST_MISHAP), ("if_mishap", SMALLEST, LARGEST)):
        value = getattr(term, name)
        if not (is_finite(value) and low <= value <= high):
            found.append(f"its {name} is {value!r:.50}; expected a number from {low:g} to {high:g}")
    if term.shared is not None and not _is_shared(term.shared):
        found.append("its shared error is no resinid.Shared with a hashable key and a sharpness above zero")
    if term.feature is not None and not _is_feature(term.feature, axis_of(what)):
        found.append(f"its feature is {term.feature!r:.50}; expected a value that can be and a width above zero")
    return found


def _sayings(observation: Observation) -> list[str]:
    """Return what is wrong with what a plug-in's test says of itself beside its likelihood."""
    said: object = observation.describe()
    found: list[str] = []
    if not isinstance(said, str):
        found.append(f"describe() returned a {type(said).__name__}, not a text")
    elif not is_writable(said):
        found.append("describe() returned a text that cannot be written, for it holds half a character")
    clears: object = getattr(observation, "clears_heating", True)
    if not isinstance(clears, bool):
        found.append(f"its clears_heating is {clears!r:.50}; expected True or False")
    return found


def _is_shared(given: object) -> bool:
    return isinstance(given, Shared) and is_finite(given.sharpness) and given.sharpness > 0 and _is_hashable(given.key)


def _is_hashable(key: object) -> bool:
    try:
        hash(key)
    except Exception:  # noqa: BLE001 - because a plug-in's key may fail in any way
        return False
    return True


def _is_feature(given: object, axis: Axis | None) -> bool:
    try:
        value, width = cast("tuple[float, float]", given)
    except (TypeError, ValueError):
        return False
    possible = axis is None or not axis.logarithmic or value > 0
    return is_finite(value) and is_finite(width) and width > 0 and possible


def _normals(found: object, given: NDArray[np.bool_]) -> Normals | list[str]:
    """Return many readings, made of plain values, or what is wrong with them; runs code of the plug-in's."""
    if not isinstance(found, Normals):
        return [f"returned a {type(found).__name__}, not Normals"]
    parts = {name: array_of(getattr(found, name)) for name in ("centre", "sd", "if_mishap")}
    if any(part.shape != given.shape for part in parts.values()):
        return ["expected arrays of floats with an entry a piece"]
    faults: list[str] = []
    centre, sd, if_mishap = parts.values()
    if not (np.isfinite(centre) == given).all() or not np.isnan(centre[~given]).all():
        faults.append("its centre must be a finite number where there is a reading, and NaN where there is none")
    if not ((sd > 0) & np.isfinite(sd))[given].all():
        faults.append("its sd must be above zero and finite")
    if not ((if_mishap >= SMALLEST) & (if_mishap <= LARGEST))[given].all():
        faults.append(f"its if_mishap must be from {SMALLEST:g} to {LARGEST:g}")
    if not (is_finite(found.mishap) and LEAST_MISHAP <= found.mishap <= MOST_MISHAP):
        faults.append(f"mishap is {found.mishap!r:.50}; expected {LEAST_MISHAP:g} to {MOST_MISHAP}")
    if not isinstance(found.logarithmic, bool):
        faults.append(f"logarithmic is {found.logarithmic!r:.50}; expected True or False")
    if not _is_hashable(found.shared):
        faults.append("the key of its shared error cannot be hashed")
    return faults or Normals(centre, sd, if_mishap, float(found.mishap), found.logarithmic, found.shared)
