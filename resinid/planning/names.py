"""Whether dangers and tests that a person names are known, so that a misspelt one is not passed over."""

from __future__ import annotations

from typing import TYPE_CHECKING

from resinid.door.fields import close_to
from resinid.errors import Faults
from resinid.methods.registry import listed
from resinid.planning.have import Have
from resinid.planning.next_test import HAZARDS
from resinid.planning.offers import bench

if TYPE_CHECKING:
    from collections.abc import Iterable

__all__ = ["check_dangers", "check_tests"]


def check_dangers(names: Iterable[str]) -> None:
    """Refuse names that are no danger.

    Examples
    --------
    >>> check_dangers(["hot plate"])
    >>> check_dangers(["burning"])  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    resinid.errors.InputError: allow: 'burning' is no danger known here; known: burn, ... did you mean 'burn'?
    """
    known = {*HAZARDS} | {getattr(test, "only_if_allowed", "") for entry in listed() for test in entry.method.tests}
    strange = [name for name in names if name not in known]
    if strange:  # only then is a plug-in asked what it would offer
        known |= {plan.hazard for plan in bench(Have(), (), ()).plans}
    known.discard("")
    _refuse("allow", "no danger", strange, known)


def check_tests(names: Iterable[str], have: Have) -> None:
    """Refuse names that are neither tests nor what is offered with what is at hand."""
    offered = bench(have, (), ())
    known = {test.test for entry in listed() for test in entry.method.tests}
    known |= {plan.key for plan in offered.plans} | {f"float in {source}" for source in have.reagents}
    _refuse("without", "no test", list(names), known)


def _refuse(place: str, what: str, names: Iterable[str], known: set[str]) -> None:
    faults = Faults()
    for name in names:
        if name not in known:
            faults.add(
                place, f"{name!r:.100} is {what} known here; known: {', '.join(sorted(known))}{close_to(name, known)}"
            )
    faults.check()
