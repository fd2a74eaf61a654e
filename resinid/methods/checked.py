"""The terms of observations, those of plug-ins checked, so that a faulty one is named and does no harm."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from resinid.errors import MethodError, ResinidError
from resinid.methods.registry import is_built_in
from resinid.scoring.latents import AXES
from resinid.scoring.term import Shared, Term
from resinid.vocabulary import ASPECTS

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.methods.contract import Observation
    from resinid.scoring.term import Likelihood

    Array = NDArray[np.float64]

__all__ = ["term_of"]


def term_of(observation: Observation) -> Term:
    """Return an observation's term; one from a plug-in is checked, now and whenever its likelihood is asked.

    Parameters
    ----------
    observation : Observation

    Raises
    ------
    MethodError
        A plug-in's test fails, or gives what is no term; its name and the fault are told.

    Examples
    --------
    >>> from resinid import observe
    >>> term_of(observe("snap", outcome="snaps")).observes
    'snap'
    """
    if is_built_in(type(observation)):
        return observation.term()
    name = str(getattr(observation, "test", type(observation).__name__))[:100]
    try:
        term, said = observation.term(), observation.describe()
        wrong = _wrong(term, said, observation.observes)
    except ResinidError:
        raise
    except Exception as error:
        raise _failed(name, error) from error
    if wrong:
        raise MethodError(f"test {name!r} gives what is no term: {wrong}; see resinid.Term")
    return replace(term, likelihood=_Watched(name, term.likelihood))


@dataclass(frozen=True, slots=True)
class _Watched:
    """A plug-in's likelihood, its answers checked."""

    name: str
    likelihood: Likelihood

    def __call__(self, values: Array, error: Array | None) -> Array:
        shape = values.shape if error is None else (error.shape[0], values.shape[0])
        try:
            found = np.asarray(self.likelihood(values, error), dtype=np.float64)
            fits = np.broadcast_shapes(found.shape, shape) == shape
        except Exception as problem:
            raise _failed(self.name, problem) from problem
        if not fits or not np.isfinite(found).all() or (found < 0).any():
            raise MethodError(
                f"test {self.name!r}: its likelihood must be finite, not negative and of shape {shape}; "
                f"found shape {found.shape}"
            )
        return np.broadcast_to(found, shape)


def _failed(name: str, error: Exception) -> MethodError:
    return MethodError(f"test {name!r} failed: {type(error).__name__}: {error!s:.200}")


def _wrong(term: object, said: object, observes: object) -> str:
    """Return what is wrong with a term, or nothing."""
    if not isinstance(term, Term):
        return f"{term!r:.100} is not a resinid.Term"
    checks = (
        (term.observes == observes and (observes in AXES or observes in ASPECTS), "observes names no property"),
        (isinstance(said, str), "describe() gives no text"),
        (callable(term.likelihood), "likelihood cannot be called"),
        (_between(term.mishap, 0.0, 1.0), "mishap is not a number between 0 and 1"),
        (_between(term.if_mishap, 0.0, math.inf), "if_mishap is not a finite number above 0"),
        (term.feature is None or _feature(term.feature), "feature is not a finite value and a width above 0"),
        (term.shared is None or _shared(term.shared), "shared is not a resinid.Shared with a sharpness above 0"),
    )
    return "; ".join(what for holds, what in checks if not holds)


def _between(value: object, low: float, high: float) -> bool:
    return isinstance(value, (int, float)) and low < value < high


def _feature(feature: object) -> bool:
    if not isinstance(feature, tuple) or len(feature) != 2:
        return False
    value, width = feature
    return _between(value, -math.inf, math.inf) and _between(width, 0.0, math.inf)


def _shared(shared: object) -> bool:
    if not isinstance(shared, Shared) or not _between(shared.sharpness, 0.0, math.inf):
        return False
    hash(shared.key)
    return True
