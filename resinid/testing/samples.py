"""Observations of a test made from what its fields declare, to try a method out on."""

from __future__ import annotations

import itertools
from typing import TYPE_CHECKING, Final

from resinid.errors import InputError
from resinid.io.fields import field_rules, options_of, quantity_of
from resinid.io.liquid_parser import parse_liquid
from resinid.methods._guard import build_observation
from resinid.methods.bench import Bench

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.methods.contract import Method, Observation
    from resinid.methods.test_plan import TestPlan

__all__ = ["everything", "sample_plans", "samples"]

MOST: Final = 64
"""Combinations of words tried of one test."""


def everything(method: Method) -> Bench:
    """Return a bench that has all a method may ask for."""
    return Bench(
        liquids=(parse_liquid("ethanol 40 %v/v"),), scale=0.01, cylinder=1.0, hot_plate=300.0, tools=method.tools
    )


def sample_plans(test: type[Observation], bench: Bench) -> tuple[TestPlan, ...]:
    """Return what a test offers at a bench; nothing for one that is not planned."""
    ways = getattr(test, "plans", None)
    return tuple(ways(bench)) if ways else ()


def samples(test: type[Observation], given: tuple[Mapping[str, object], ...] = ()) -> list[Observation]:
    """Return observations of a test.

    Parameters
    ----------
    test : type
        The test's class.
    given : tuple of mapping, optional
        Readings to make them from. Not given: each word of each choice, and for each
        measured field the vocabulary's example.
    """
    entries = list(given) or [*_combinations(test, every=False), *_combinations(test, every=True)]
    out: list[Observation] = []
    for entry in entries:
        try:
            out.append(build_observation(test, entry))
        except InputError:
            if given:
                raise
    return out


def _combinations(test: type[Observation], *, every: bool) -> list[dict[str, object]]:
    from resinid.io.fields import required_fields

    names = tuple(field_rules(test)) if every else required_fields(test)
    choices: dict[str, list[object]] = {}
    for name in names:
        rule = field_rules(test)[name]
        quantity, options = quantity_of(rule), options_of(rule)
        if quantity is not None:
            choices[name] = [quantity.example]
        elif options:
            choices[name] = list(options)
        elif name == "liquid":
            choices[name] = ["water"]
    found = itertools.islice(itertools.product(*choices.values()), MOST)
    return [dict(zip(choices, values, strict=True)) for values in found]
