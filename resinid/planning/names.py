"""Whether tests that a person names are known, so that a misspelt one is not passed over."""

from __future__ import annotations

from typing import TYPE_CHECKING

from resinid.errors import Faults, safe_repr
from resinid.io.close_words import did_you_mean
from resinid.methods.registry import listed
from resinid.planning.candidates import candidate_tests

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.methods.bench import Bench

__all__ = ["check_tests"]


def check_tests(names: Iterable[str], bench: Bench) -> None:
    """Refuse names that are neither tests nor what is offered with what is at hand."""
    offered = candidate_tests(bench, (), ())
    known = {test.test for entry in listed() for test in entry.method.tests}
    known |= {plan.key for plan in offered.plans} | {f"float in {source}" for source in bench.reagents}
    faults = Faults()
    for name in names:
        if name not in known:
            what = (
                f"{safe_repr(name)} is no test known here; known: {', '.join(sorted(known))}{did_you_mean(name, known)}"
            )
            faults.add("without", what)
    faults.check()
