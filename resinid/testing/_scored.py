"""What is wrong in the numbers that a method hands to the engine; for the conformance check."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final, cast

import numpy as np

from resinid.methods._guard import observable_of, plug_in_term
from resinid.scoring.latents import Latent
from resinid.scoring.properties import axis_of
from resinid.scoring.term import Normals, SharedError, Term
from resinid.testing._declared import is_finite, is_hashable

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.methods.contract import Observation
    from resinid.scoring.grid import Axis

__all__ = ["latent_faults", "normals_faults", "term_faults"]

LEAST_OUTLIER: Final = 1e-4
"""Smallest chance of a botched test that is believed; every bench test can go wrong."""

MOST_OUTLIER: Final = 0.5
"""A test that is more often botched than not is none."""

MOST_TELLING: Final = 1e6
"""Largest ratio of a likelihood to that of a botched test which is believed. A density to
1e-6 of its value has about that much against any plastic; nothing at a bench has more."""

SMALLEST: Final = 1e-12
LARGEST: Final = 1e12
"""Limits of the likelihood of what is read if a test was botched, in any unit."""

ROUNDING: Final = 1e-6
"""By how much the masses of a variant may miss one."""


def term_faults(observation: Observation, values: Array) -> list[str]:
    """Return what is wrong with an observation's term, evaluated at some values of its property."""
    term: object = observation.term()
    if not isinstance(term, Term):
        return [f"term() returned a {type(term).__name__}, not a resinid.Term"]
    what = observable_of(observation)
    faults: list[str] = []
    if what != term.observes:
        faults.append("its term observes something else than the test states")
    faults += _outlier_faults(term)
    if term.shared is not None and not _is_shared(term.shared):
        faults.append("its shared error is no resinid.SharedError with a hashable key and a sharpness above zero")
    if term.feature is not None and not _is_feature(term.feature, axis_of(what)):
        faults.append(f"its feature is {term.feature!r:.50}; expected a value that can be and a width above zero")
    if faults:
        return faults
    shown = values.copy()
    found = term.likelihood(shown, None)
    if not np.array_equal(shown, values):
        return ["its likelihood writes into the values that it is given"]
    faults = _plain_faults("its likelihood", found)
    if faults:
        return faults
    if plug_in_term(observation).likelihood(values, None).max(initial=0.0) > term.outlier_likelihood * MOST_TELLING:
        faults.append(
            f"its likelihood is more than {MOST_TELLING:g} times that of a botched test; state its uncertainty honestly"
        )
    return faults


def latent_faults(found: Any, variants: int) -> list[str]:  # noqa: ANN401 - because anything may come from a plug-in
    """Return what is wrong with a latent for a table of so many variants."""
    if not isinstance(found, Latent):
        return [f"is a {type(found).__name__}; expected a Latent"]
    values, mass = np.asarray(found.values), np.asarray(found.mass)
    faults = _plain_faults("its array of values", values) + _plain_faults("its array of masses", mass)
    expected = (variants + 1, values.size)
    if mass.shape != expected or values.ndim != 1 or not values.size:
        faults.append(f"has masses of shape {mass.shape} and values of shape {values.shape}; expected {expected}")
    if faults:
        return faults
    if np.isnan(values).any():
        faults.append("has a value that is no number")
    # "Not a number" fails every comparison, so these are asked so that it fails them too.
    if not (mass >= 0).all() or not np.allclose(mass.sum(axis=1), 1.0, atol=ROUNDING):
        faults.append("has masses that are negative, or do not add up to one for each variant")
    if found.stray is not None:
        stray = np.asarray(found.stray)
        if stray.shape != mass.shape or not ((stray >= 0) & (stray <= mass + ROUNDING)).all():
            faults.append("says that more strays than there is, or less than nothing")
    stated, sources = tuple(found.stated), tuple(found.sources)
    if len(stated) != variants or not all(isinstance(each, (bool, np.bool_)) for each in stated):
        faults.append(f"states {len(stated)} times whether something is known; expected true or false for {variants}")
    if len(sources) != variants or not all(isinstance(key, str) for each in sources for key in each):
        faults.append(f"names sources for {len(sources)} variants; expected texts for {variants}")
    return faults


def normals_faults(found: Any, given: NDArray[np.bool_]) -> Iterable[str]:  # noqa: ANN401 - as above
    """Yield what is wrong with many readings, of which some are given."""
    if not isinstance(found, Normals):
        yield f"many() returned a {type(found).__name__}, not Normals"
        return
    faults = [
        fault for name in ("centre", "sd", "outlier_likelihood") for fault in _plain_faults(name, getattr(found, name))
    ]
    if faults:
        yield from faults
        return
    centre, sd, outlier_likelihood = (np.asarray(part) for part in (found.centre, found.sd, found.outlier_likelihood))
    if any(part.shape != given.shape for part in (centre, sd, outlier_likelihood)):
        yield "many() must return arrays of floats with an entry a piece"
        return
    if not (np.isfinite(centre) == given).all() or not np.isnan(centre[~given]).all():
        yield "its centre must be a finite number where there is a reading, and NaN where there is none"
    if not ((sd > 0) & np.isfinite(sd))[given].all():
        yield "its sd must be above zero and finite"
    if not ((outlier_likelihood >= SMALLEST) & (outlier_likelihood <= LARGEST))[given].all():
        yield f"its outlier_likelihood must be from {SMALLEST:g} to {LARGEST:g}"
    if not (is_finite(found.outlier) and LEAST_OUTLIER <= found.outlier <= MOST_OUTLIER):
        yield f"its outlier is {found.outlier!r:.50}; expected {LEAST_OUTLIER:g} to {MOST_OUTLIER}"
    if not isinstance(found.logarithmic, bool):
        yield f"its logarithmic is {found.logarithmic!r:.50}; expected True or False"
    if not is_hashable(found.shared):
        yield "the key of its shared error cannot be hashed"


def _outlier_faults(term: Term) -> Iterable[str]:
    for name, low, high in (("outlier", LEAST_OUTLIER, MOST_OUTLIER), ("outlier_likelihood", SMALLEST, LARGEST)):
        value = getattr(term, name)
        if not (is_finite(value) and low <= value <= high):
            yield f"its {name} is {value!r:.50}; expected a number from {low:g} to {high:g}"


def _plain_faults(what: str, found: object) -> list[str]:
    """Return what is wrong with something as an array of real numbers."""
    if np.ma.isMaskedArray(found) and np.ma.getmaskarray(found).any():
        return [f"{what} has masked entries; expected an array of real numbers"]
    kind = np.asarray(found).dtype
    return [] if kind.kind in "biuf" else [f"{what} is an array of {kind}; expected an array of real numbers"]


def _is_shared(shared: object) -> bool:
    return (
        isinstance(shared, SharedError)
        and is_finite(shared.sharpness)
        and shared.sharpness > 0
        and is_hashable(shared.key)
    )


def _is_feature(feature: object, axis: Axis | None) -> bool:
    try:
        value, width = cast("tuple[float, float]", feature)
    except (TypeError, ValueError):
        return False
    possible = axis is None or not axis.logarithmic or value > 0
    return is_finite(value) and is_finite(width) and width > 0 and possible
