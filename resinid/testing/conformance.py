"""The conformance check: whether a method keeps the contract, with every fault it has."""

from __future__ import annotations

import dataclasses
import pickle
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.door.fields import build, unbuild
from resinid.door.reading import Reading
from resinid.errors import Faults, MethodError, ResinidError
from resinid.methods.guard import checked_term
from resinid.methods.registry import check
from resinid.scoring.observed import CORE, name_of, observed
from resinid.table.table import default_table
from resinid.testing.samples import everything, plans_of, samples

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    from numpy.typing import NDArray

    from resinid.methods.contract import Method, Observation
    from resinid.planning.plan import Plan
    from resinid.scoring.latents import Latent
    from resinid.scoring.term import Term

    Array = NDArray[np.float64]

__all__ = ["check_method"]

LONGEST_LINE: Final = 200
COARSENESS: Final = 0.1
"""How far the chances of all outcomes together may be from one, as a few readings stand for all."""

TOLERANCE: Final = 0.02
"""How far they may differ on average over all resins; an outcome that is missing shows here."""

ERRORS: Final = np.linspace(-6.0, 6.0, 241)[:, None]
"""Shared errors over which a likelihood is averaged to compare it with its own average."""


class ConformanceError(MethodError):
    """A method does not keep the contract; lists everything found."""


def check_method(
    method: Method, *, readings: Mapping[str, Iterable[Mapping[str, object]]] | None = None
) -> tuple[Observation, ...]:
    """Check that a method keeps the contract; for a method's own test suite.

    Parameters
    ----------
    method : Method
    readings : mapping of str to iterable of mapping, optional
        By the name of a test, readings to try it with; not given, they are made from
        the examples of the vocabulary and the words of each choice.

    Returns
    -------
    tuple of Observation
        What it was tried with.

    Raises
    ------
    MethodError
        Lists every fault: of the method, of what its tests observe, of likelihoods
        (shape, sign, determinism, agreement with and without a shared error, agreement
        of single readings with whole columns), of planned outcomes (their chances must
        add up to one), of pickling, reading and writing, and missing cautions.

    Examples
    --------
    >>> from resinid.methods.registry import built_in
    >>> len(check_method(built_in()[1])) > 3
    True
    """
    check(method)
    faults = Faults()
    if not method.sources:
        faults.add(method.name, "names no source; write 'common practice, no source' where there is none")
    tried: list[Observation] = []
    for test in method.tests:
        place = f"{method.name}.{test.test}"
        try:
            tried += _check_test(method, test, tuple((readings or {}).get(test.test, ())), faults, place)
        except ResinidError as error:
            faults.add(place, str(error))
    if len(faults):
        raise ConformanceError("\n".join(str(fault) for fault in faults))
    return tuple(tried)


def _check_test(
    method: Method, test: type[Observation], given: tuple[Mapping[str, object], ...], faults: Faults, place: str
) -> list[Observation]:
    if not dataclasses.is_dataclass(test) or not getattr(test, "__dataclass_params__").frozen:  # noqa: B009 - because type checkers do not know it
        faults.add(place, "is not a frozen dataclass")
        return []
    if not (test.__doc__ or "").strip():
        faults.add(place, "has no docstring")
    latent = _check_observed(test, faults, place)
    plans = plans_of(test, everything(method))
    danger = getattr(test, "only_if_allowed", "") or any(plan.hazard for plan in plans)
    if danger and not method.caution:
        faults.add(place, "is dangerous, but its method shows no caution")
    tried = [*samples(test, given), *(outcome for plan in plans for outcome in plan.outcomes)]
    if not tried:
        faults.add(place, "could not be made from examples; hand over readings to try it with")
    for observation in tried:
        for message in _problems(observation, latent):
            faults.add(place, message)
    for plan in plans:
        for message in _plan_problems(plan, latent):
            faults.add(f"{place}: {plan.label}", message)
    for message in _many_problems(test, latent):
        faults.add(place, message)
    return tried


def _check_observed(test: type[Observation], faults: Faults, place: str) -> Latent:
    what = observed(test.observes)  # type: ignore[arg-type]  # because mypy sees a property where the class has a value
    latent = what.latent(default_table())
    rows = len(default_table().variants) + 1
    if latent.mass.shape != (rows, latent.values.size):
        faults.add(place, f"its latent has masses of shape {latent.mass.shape}; expected {(rows, latent.values.size)}")
    elif not np.allclose(latent.mass.sum(axis=1), 1.0, atol=1e-6) or latent.mass.min() < 0:
        faults.add(place, "the masses of its latent are negative or do not add up to one")
    if not any(latent.stated):
        faults.add(place, f"nothing is stated of {name_of(what)!r} for any resin, so it can tell nothing")
    if name_of(what) not in CORE or what is not CORE[what.name]:
        for link in what.depends:
            if not 0 <= link.share <= 1 or not link.why:
                faults.add(place, f"its dependence on {link.on!r} needs a share from 0 to 1 and a reason")
    return latent


def _problems(observation: Observation, latent: Latent) -> Iterable[str]:
    said = observation.describe()
    if not said or "\n" in said or len(said) > LONGEST_LINE:
        yield f"describe() gave {said!r:.80}; expected one short line"
    if pickle.loads(pickle.dumps(observation)) != observation:  # noqa: S301 - because it was pickled in this line
        yield "does not survive pickling"
    if build(type(observation), unbuild(observation)) != observation:
        yield "is not the same after it was written down and read back"
    term = checked_term(observation)
    first = term.likelihood(latent.values, None)
    if not np.array_equal(first, term.likelihood(latent.values, None)):
        yield "its likelihood differs from one call to the next"
    if not np.any(first > 0):
        yield f"{said}: no value of the property can show this"
    if term.shared is not None:
        yield from _shared_problems(term, latent, first)


def _shared_problems(term: Term, latent: Latent, alone: Array) -> Iterable[str]:
    weight = np.exp(-0.5 * ERRORS**2)
    average = (weight * term.likelihood(latent.values, ERRORS)).sum(axis=0) / weight.sum()
    # Sharper than a step of these errors it cannot be compared.
    fine = term.shared is not None and term.shared.sharpness > 0.1
    if fine and not np.allclose(average, alone, rtol=0.02, atol=0.01 * max(float(alone.max()), 1e-12)):
        yield "its likelihood with a shared error does not average to the one without"


def _plan_problems(plan: Plan, latent: Latent) -> Iterable[str]:
    total = np.zeros(latent.values.size)
    for outcome, width in zip(plan.outcomes, plan.widths, strict=True):
        total += width * checked_term(outcome).likelihood(latent.values, None)
    share = latent.mass[:-1].mean(axis=0)
    mean = float(share @ total)
    if abs(mean - 1.0) > COARSENESS:
        yield f"the chances of its outcomes add up to about {mean:.3g}; expected 1"
    elif float(share @ np.abs(total - mean)) > TOLERANCE:
        yield f"the chances of its outcomes add up to {total.min():.3g} to {total.max():.3g}; expected 1 everywhere"
    if plan.hazard and not plan.caution:
        yield "is dangerous, but shows no caution"


def _many_problems(test: type[Observation], latent: Latent) -> Iterable[str]:
    many = getattr(test, "many", None)
    if many is None:
        return
    from resinid.door.fields import needed_of, quantity_of, rules_of

    name = needed_of(test)[0]
    quantity = quantity_of(rules_of(test)[name])
    if quantity is None:
        yield "offers many(), but its first field is no reading"
        return
    finite = latent.values[np.isfinite(latent.values)]
    value = float(finite[finite.size // 2])
    u = 0.01 * max(abs(value), 1.0)
    column = many({name: (np.array([value]), np.array([u]))})
    single = checked_term(build(test, {name: Reading(value, u)}))
    place = np.log(finite) if column.logarithmic else finite
    z = (place - column.centre[0]) / column.sd[0]
    of_many = np.exp(-0.5 * z * z) / (column.sd[0] * np.sqrt(2 * np.pi))
    of_one = single.likelihood(latent.values, None)[np.isfinite(latent.values)]
    # The two may differ by the unit of their density, which is common to all resins.
    scale = single.if_mishap / column.if_mishap[0]
    if not np.allclose(of_many * scale, of_one, rtol=1e-6, atol=1e-9 * float(of_one.max())):
        yield "many() says something else than the single readings"
