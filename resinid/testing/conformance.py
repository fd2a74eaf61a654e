"""The conformance check: whether a method keeps the contract, with every fault it has."""

from __future__ import annotations

import dataclasses
import pickle
import warnings
from typing import TYPE_CHECKING, Final, TypeVar

import numpy as np

from resinid.errors import Faults, MethodError, MethodWarning, ResinidError
from resinid.io.build import build, unbuild
from resinid.io.reading import Reading
from resinid.methods._guard import plug_in_term
from resinid.methods.registry import check, clash, listed, observes
from resinid.methods.test_plan import TestPlan
from resinid.reference.table import default_reference
from resinid.scoring.normal import normal_density
from resinid.scoring.properties import observed, property_name
from resinid.testing._declared import method_faults, strange_signs
from resinid.testing._rows import row_faults
from resinid.testing._scored import latent_faults, normals_faults, term_faults
from resinid.testing.samples import everything, sample_plans, samples

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Mapping

    from resinid.arrays import Array
    from resinid.methods.contract import Method, Observation
    from resinid.methods.registry import Listed
    from resinid.scoring.latents import Latent
    from resinid.scoring.term import Term

T = TypeVar("T")

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
    faults = Faults()
    asked = _Asked(faults, "the method")
    asked(check, method)
    if not len(faults):
        asked.all_of(method_faults, method)
    _raise(faults)
    asked.all_of(lambda: filter(None, [clash(method, _others())]))
    tried: list[Observation] = []
    for test in method.tests:
        place = f"{method.name}.{test.test}"
        asked = _Asked(faults, place)
        tried += asked(_check_test, method, test, tuple((readings or {}).get(test.test, ())), asked) or []
    _raise(faults)
    return tuple(tried)


def _raise(faults: Faults) -> None:
    if len(faults):
        # What is wrong with every reading is said once.
        raise ConformanceError("\n".join(dict.fromkeys(str(fault) for fault in faults)))


def _others() -> tuple[Listed, ...]:
    with warnings.catch_warnings():
        # What else is installed and broken is no fault of this method.
        warnings.simplefilter("ignore", MethodWarning)
        return listed()


@dataclasses.dataclass(frozen=True, slots=True)
class _Asked:
    """Calls what may run a plug-in's code; whatever it raises is a fault at a place."""

    faults: Faults
    place: str

    def __call__(self, function: Callable[..., T], *arguments: object, under: str = "") -> T | None:
        try:
            return function(*arguments)
        except ResinidError as error:
            self.add(str(error), under)
        except BaseException as error:  # noqa: BLE001 - because a plug-in may fail in any way, and all of them are faults
            self.add(f"{type(error).__name__}: {error}", under)
        return None

    def add(self, message: str, under: str = "") -> None:
        self.faults.add(f"{self.place}: {under}" if under else self.place, message)

    def all_of(self, find: Callable[..., Iterable[str]], *arguments: object, under: str = "") -> None:
        """Note every message that is yielded, and what is raised meanwhile."""

        def noted() -> None:
            for message in find(*arguments):
                self.add(message, under)

        self(noted, under=under)


def _check_test(
    method: Method, test: type[Observation], given: tuple[Mapping[str, object], ...], asked: _Asked
) -> list[Observation]:
    # A dataclass without a docstring is given its own signature as one.
    doc = (test.__doc__ or "").strip()
    if not doc or doc.startswith(f"{test.__name__}("):
        asked.add("has no docstring")
    asked.all_of(lambda: row_faults(observes(test)))
    latent = asked(_latent, test, asked)
    plans = asked(_plans, method, test, asked) or ()
    danger = getattr(test, "only_if_allowed", "") or any(plan.hazard for plan in plans)
    if danger and not method.caution:
        asked.add("is dangerous, but its method shows no caution")
    made = asked(samples, test, given)
    tried = [*(made or ()), *(outcome for plan in plans for outcome in plan.outcomes)]
    if made is not None and not tried:
        asked.add("could not be made from examples; hand over readings to try it with")
    if latent is None:
        return tried
    for observation in tried:
        for find in (_wording, _forbidding, _pickling, _writing, _scoring):
            asked.all_of(find, observation, latent)
    for plan in plans:
        asked.all_of(_plan_problems, plan, latent, under=plan.label)
    asked.all_of(_many_problems, test, latent)
    return tried


def _plans(method: Method, test: type[Observation], asked: _Asked) -> tuple[TestPlan, ...]:
    sound: list[TestPlan] = []
    for plan in sample_plans(test, everything(method)):
        if not isinstance(plan, TestPlan):
            asked.add(f"plans() gave a {type(plan).__name__}, not a resinid.TestPlan")
        elif plan.test != test.test or any(type(outcome) is not test for outcome in plan.outcomes):
            asked.add("is no plan of this test, by its name or its outcomes", plan.label)
        else:
            sound.append(plan)
    return tuple(sound)


def _latent(test: type[Observation], asked: _Asked) -> Latent | None:
    what = observed(observes(test))
    latent = what.latent(default_reference())
    faults = latent_faults(latent, len(default_reference().variants))
    for fault in faults:
        asked.add(f"its latent {fault}")
    if not any(latent.stated):
        asked.add(f"nothing is stated of {property_name(what)!r} for any resin, so it can tell nothing")
    return None if faults else latent


def _wording(observation: Observation, _latent: Latent) -> Iterable[str]:
    said: object = observation.describe()
    if not isinstance(said, str) or not said or "\n" in said or strange_signs(said) or len(said) > LONGEST_LINE:
        yield f"describe() gave {said!r:.80}; expected one short line"


def _forbidding(observation: Observation, _latent: Latent) -> Iterable[str]:
    ask = getattr(observation, "forbids_heating", None)
    said: object = ask() if ask else ""
    if not isinstance(said, str):
        yield f"forbids_heating() gave {said!r:.80}; expected why, or an empty text"


def _pickling(observation: Observation, _latent: Latent) -> Iterable[str]:
    if pickle.loads(pickle.dumps(observation)) != observation:  # noqa: S301 - because it was pickled in this line
        yield "does not survive pickling"


def _writing(observation: Observation, _latent: Latent) -> Iterable[str]:
    if build(type(observation), unbuild(observation)) != observation:
        yield "is not the same after it was written down and read back"


def _scoring(observation: Observation, latent: Latent) -> Iterable[str]:
    faults = term_faults(observation, latent.values)
    if faults:
        yield from faults
        return
    term = plug_in_term(observation)
    first = term.likelihood(latent.values, None)
    if not np.array_equal(first, term.likelihood(latent.values, None)):
        yield "its likelihood differs from one call to the next"
    elif not np.allclose(first[::2], term.likelihood(latent.values[::2], None), rtol=1e-9, atol=0.0):
        yield "its likelihood at a value depends on which other values are asked for; it is not to be normalised"
    if not np.any(first > 0):
        yield f"{observation.describe()}: no value of the property can show this"
    if term.shared is not None:
        yield from _shared_problems(term, latent, first)


def _shared_problems(term: Term, latent: Latent, alone: Array) -> Iterable[str]:
    # At every fifth value, for that is as telling as at all of them.
    values, alone = latent.values[::5], alone[::5]
    weight = np.exp(-0.5 * ERRORS**2)
    average = (weight * term.likelihood(values, ERRORS)).sum(axis=0) / weight.sum()
    # Sharper than a step of these errors it cannot be compared.
    fine = term.shared is not None and term.shared.sharpness > 0.1
    # What is far less likely than that the test was botched decides nothing, and is left to rounding.
    away = np.abs(average - alone) - 0.02 * alone - 0.01 * max(float(alone.max()), term.outlier_likelihood)
    worst = int(away.argmax())
    if fine and away[worst] > 0.0:
        yield (
            f"its likelihood with a shared error does not average to the one without: at {values[worst]:.4g} it is "
            f"{average[worst]:.3g} on average and {alone[worst]:.3g} without"
        )


def _plan_problems(plan: TestPlan, latent: Latent) -> Iterable[str]:
    total = np.zeros(latent.values.size)
    for outcome, width in zip(plan.outcomes, plan.widths, strict=True):
        total += width * plug_in_term(outcome).likelihood(latent.values, None)
    share = latent.mass[:-1].mean(axis=0)
    mean = float(share @ total)
    if abs(mean - 1.0) > COARSENESS:
        yield f"the chances of its outcomes add up to about {mean:.3g}; expected 1{_where(latent, total)}"
    elif float(share @ np.abs(total - mean)) > TOLERANCE:
        yield f"the chances of its outcomes do not add up to 1 everywhere{_where(latent, total)}"
    if plan.hazard and not plan.caution:
        yield "is dangerous, but shows no caution"


def _where(latent: Latent, total: Array) -> str:
    """Say where, among values that resins have, the sum of chances is least and most."""
    likely = np.flatnonzero(latent.mass.max(axis=0) > 1e-3 * latent.mass.max())
    least, most = (int(likely[place]) for place in (total[likely].argmin(), total[likely].argmax()))
    ends = "; ".join(f"{total[place]:.3g} at {latent.values[place]:.4g}" for place in (least, most))
    return f" (from least to most: {ends})"


def _many_problems(test: type[Observation], latent: Latent) -> Iterable[str]:
    many = getattr(test, "many", None)
    if many is None:
        return
    from resinid.io.fields import field_rules, quantity_of, required_fields

    name = required_fields(test)[0]
    quantity = quantity_of(field_rules(test)[name])
    if quantity is None:
        yield "offers many(), but its first field is no reading"
        return
    finite = latent.values[np.isfinite(latent.values)]
    value = float(finite[finite.size // 2])
    u = 0.01 * max(abs(value), 1.0)
    column = many({name: (np.array([value, np.nan]), np.array([u, np.nan]))})
    faults = list(normals_faults(column, np.array([True, False])))
    if faults:
        yield from faults
        return
    single = plug_in_term(build(test, {name: Reading(value, u)}))
    place = np.log(finite) if column.logarithmic else finite
    of_many = normal_density(place - column.centre[0], float(column.sd[0]))
    of_one = single.likelihood(latent.values, None)[np.isfinite(latent.values)]
    # The two may differ by the unit of their density, which is common to all resins.
    scale = single.outlier_likelihood / column.outlier_likelihood[0]
    if not np.allclose(of_many * scale, of_one, rtol=1e-6, atol=1e-9 * float(of_one.max())):
        yield "many() says something else than the single readings"
