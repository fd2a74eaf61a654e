"""What the methods in use offer to do with what is at hand."""

from __future__ import annotations

import warnings
from typing import TYPE_CHECKING, cast

import numpy as np

from resinid.errors import MethodError, MethodWarning, PlugInError
from resinid.methods._guard import call_guarded, term_of
from resinid.methods.registry import is_built_in, listed
from resinid.methods.test_plan import TestPlan
from resinid.reference.table import default_reference
from resinid.scoring.integrals import TINY
from resinid.scoring.properties import observed

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from resinid.arrays import Array
    from resinid.methods.bench import Bench
    from resinid.methods.contract import InBath, Method

__all__ = ["bath_tests", "kernel", "plans_of"]


def plans_of(bench: Bench, methods: tuple[Method, ...] = ()) -> tuple[TestPlan, ...]:
    """Return what every method offers with what is at hand; a plug-in that fails is left out with a warning."""
    plans: list[TestPlan] = []
    for entry in listed(methods):
        for test in entry.method.tests:
            ways = getattr(test, "plans", None)
            if ways is None:
                continue
            if is_built_in(test):
                plans += ways(bench)
                continue
            try:
                plans += call_guarded(test, _sound, ways, bench, test.test)
            except PlugInError as error:
                warnings.warn(f"is not offered: {error}", MethodWarning, stacklevel=2)
    return tuple(plans)


def bath_tests(methods: tuple[Method, ...] = ()) -> tuple[type[InBath], ...]:
    """Return the tests that can be done in a bath of any density that is mixed for them."""
    tests = [test for entry in listed(methods) for test in entry.method.tests]
    return tuple(cast("type[InBath]", test) for test in tests if hasattr(test, "in_bath"))


def _sound(ways: Callable[[Bench], Iterable[TestPlan]], bench: Bench, test: str) -> list[TestPlan]:
    """Return a plug-in's plans if each is one and all its outcomes can be scored."""
    out = list(ways(bench))
    for plan in out:
        if not isinstance(plan, TestPlan):
            raise MethodError(f"plans() of {test!r} gave a {type(plan).__name__}, not a resinid.TestPlan")
        latent = observed(plan.observes).latent(default_reference())
        kernel(plan, latent.values)
    return out


def kernel(plan: TestPlan, values: Array) -> Array:
    """Return the chance of each outcome of a plan at values of the property, shape (outcomes, nodes).

    At every node the chances add up to one: readings that stand for an interval, and
    outliers that the outcomes do not exhaust, are made to.
    """
    out = np.empty((len(plan.outcomes), values.size))
    for row, outcome, width in zip(out, plan.outcomes, plan.widths, strict=True):
        term = term_of(outcome)
        row[:] = width * ((1.0 - term.outlier) * term.likelihood(values, None) + term.outlier * term.outlier_likelihood)
    out /= np.maximum(out.sum(axis=0), TINY)
    return out
