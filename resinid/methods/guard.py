"""Between the engine and a plug-in: whatever a plug-in does, no other answer suffers from it.

Tests of this package are taken at their word. Everything that comes from elsewhere is
run in a thread of its own with a time limit, on arrays that cannot be written to, and
what it returns is checked and copied. What fails is named in a :class:`PlugInError`.
"""

from __future__ import annotations

import threading
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any, Final, TypeVar, cast

import numpy as np

from resinid.errors import PlugInError
from resinid.scoring.observed import CORE, name_of
from resinid.scoring.term import Normals, Shared, Term

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from numpy.typing import NDArray

    from resinid.methods.contract import Observation
    from resinid.scoring.term import Likelihood

    Array = NDArray[np.float64]

T = TypeVar("T")

__all__ = ["LEAST_MISHAP", "LIMIT", "MOST_TELLING", "calling", "checked_term", "is_own", "normals_of", "term_of"]

LIMIT: Final = 5.0
"""[s] What a plug-in does not do in this time it does not do."""

LEAST_MISHAP: Final = 1e-4
"""Smallest chance of a botched test that is believed; every bench test can go wrong."""

MOST_MISHAP: Final = 0.5
"""A test that is more often botched than not is none."""

MOST_TELLING: Final = 1e6
"""Largest ratio of a likelihood to that of a botched test which is believed. A density to
1e-6 of its value has about that much against any plastic; nothing at a bench has more."""


def is_own(kind: type) -> bool:
    """Return whether a test's class belongs to this package."""
    return kind.__module__.partition(".")[0] == "resinid"


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
    who = f"test {getattr(kind, 'test', kind.__name__)!r} ({kind.__module__})"
    term = calling(observation.term, who, kind=kind)
    for problem in _problems(term, observation):
        raise PlugInError(f"{who}: {problem}", kind)
    return replace(term, likelihood=_Checked(term.likelihood, who, kind, term.if_mishap * MOST_TELLING))


def normals_of(kind: type[Observation], readings: Mapping[str, tuple[Array, Array]]) -> Normals:
    """Return many readings of a test as whole tables are scored; a plug-in's only after checking them.

    Raises
    ------
    PlugInError
        The plug-in failed, took too long or returned what cannot be.
    """
    many = cast("Callable[..., Normals]", getattr(kind, "many"))  # noqa: B009 - because it is optional
    if is_own(kind):
        return many(readings)
    who = f"many() of test {kind.test!r} ({kind.__module__})"
    shown = {name: (_read_only(values), _read_only(u)) for name, (values, u) in readings.items()}
    found: object = calling(many, who, shown, kind=kind)
    if not isinstance(found, Normals):
        raise PlugInError(f"{who}: returned a {type(found).__name__}, not Normals", kind)
    shape = next(iter(readings.values()))[0].shape
    centre, sd, if_mishap = (np.array(part) for part in (found.centre, found.sd, found.if_mishap))
    if any(part.shape != shape or part.dtype != np.float64 for part in (centre, sd, if_mishap)):
        raise PlugInError(f"{who}: expected arrays of floats with an entry a piece", kind)
    there = ~np.isnan(centre)
    if not all(((part > 0) & np.isfinite(part))[there].all() for part in (sd, if_mishap)):
        raise PlugInError(f"{who}: sd and if_mishap must be above zero and finite", kind)
    if not LEAST_MISHAP <= found.mishap <= MOST_MISHAP:
        raise PlugInError(f"{who}: mishap is {found.mishap!r:.50}; expected {LEAST_MISHAP:g} to {MOST_MISHAP}", kind)
    return replace(found, centre=centre, sd=sd, if_mishap=if_mishap)


def calling(function: Callable[..., T], who: str, *arguments: object, kind: type | None = None) -> T:
    """Call what a plug-in offers, in a thread of its own and no longer than :data:`LIMIT`.

    Raises
    ------
    PlugInError
        It raised an error or did not return in time; ``who`` is named.
    """
    done: list[T] = []
    failed: list[BaseException] = []

    def run() -> None:
        try:
            done.append(function(*arguments))
        except BaseException as error:  # noqa: BLE001 - because a plug-in may fail in any way and must not take us along
            failed.append(error)

    thread = threading.Thread(target=run, daemon=True, name=f"resinid plug-in: {who}")
    thread.start()
    thread.join(LIMIT)
    if failed:
        raise PlugInError(f"{who}: {type(failed[0]).__name__}: {failed[0]}", kind) from failed[0]
    if not done:
        raise PlugInError(f"{who}: did not return within {LIMIT:g} s", kind)
    return done[0]


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
        found = calling(self.of, self.who, shown, given, kind=self.kind)
        shape = values.shape if error is None else np.broadcast_shapes(values.shape, error.shape)
        try:
            out = np.array(np.broadcast_to(np.asarray(found, dtype=np.float64), shape))
        except (TypeError, ValueError):
            what = f"returned {np.shape(cast('Any', found))} where {shape} was asked for"
            raise PlugInError(f"{self.who}: its likelihood {what}", self.kind) from None
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


def _problems(term: object, observation: Observation) -> list[str]:
    """Return what is wrong with a plug-in's term, the likelihood aside."""
    if not isinstance(term, Term):
        return [f"term() returned a {type(term).__name__}, not a resinid.Term"]
    found: list[str] = []
    what = observation.observes
    if term.observes is not what and term.observes != what:
        found.append("its term observes something else than the test states")
    if not isinstance(what, str) and name_of(what) in CORE:
        found.append(f"it brings along its own {name_of(what)!r}, which is a core property; observe that by its name")
    if not callable(term.likelihood):
        found.append("its likelihood cannot be called")
    for name, low, high in (("mishap", LEAST_MISHAP, MOST_MISHAP), ("if_mishap", 1e-12, 1e12)):
        value = getattr(term, name)
        if not (_is_number(value) and low <= value <= high):
            found.append(f"its {name} is {value!r:.50}; expected a number from {low:g} to {high:g}")
    shared: object = term.shared
    if shared is not None and not _is_shared(shared):
        found.append("its shared error is no resinid.Shared with a hashable key and a sharpness above zero")
    if term.feature is not None and not _is_feature(term.feature):
        found.append(f"its feature is {term.feature!r:.50}; expected a value and a width above zero")
    return found


def _is_shared(given: object) -> bool:
    if not isinstance(given, Shared) or not _is_number(given.sharpness) or not given.sharpness > 0:
        return False
    try:
        hash(given.key)
    except Exception:  # noqa: BLE001 - because a plug-in's key may fail in any way
        return False
    return True


def _is_number(given: object) -> bool:
    return isinstance(given, (int, float)) and not isinstance(given, bool)


def _is_feature(given: object) -> bool:
    try:
        value, width = cast("tuple[float, float]", given)
        return bool(np.isfinite(value) and np.isfinite(width) and width > 0)
    except (TypeError, ValueError):
        return False
