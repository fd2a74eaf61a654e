"""The dangers a person can allow; a misspelt one is refused, not passed over."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from resinid.errors import Faults, safe_repr
from resinid.io.arguments import as_names
from resinid.io.close_words import did_you_mean
from resinid.liquids.mixing import FLASH

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.methods.contract import Method

__all__ = ["BURN", "DANGERS", "HOT_PLATE", "allowed_dangers"]

HOT_PLATE: Final = "hot plate"
BURN: Final = "burn"

DANGERS: Final = (HOT_PLATE, BURN, "copper wire", "solvent", FLASH)
"""Dangers known without asking any plug-in."""


def allowed_dangers(given: object, methods: Iterable[Method] = ()) -> tuple[str, ...]:
    """Return the dangers that are allowed.

    Raises
    ------
    InputError
        It is no list of texts, or one of them is no danger of any method in use.

    Examples
    --------
    >>> allowed_dangers(["copper wire"])
    ('copper wire',)
    >>> allowed_dangers(["burning"])  # doctest: +ELLIPSIS
    Traceback (most recent call last):
        ...
    resinid.errors.InputError: allow: 'burning' is no danger known here; known: burn, ... did you mean 'burn'?
    """
    names = as_names("allow", given, BURN)
    if set(names) <= set(DANGERS):
        return names
    # Only then are plug-ins asked what of theirs can be allowed.
    known = set(DANGERS) | _brought(tuple(methods))
    faults = Faults()
    for name in dict.fromkeys(names):
        if name not in known:
            what = f"{safe_repr(name)} is no danger known here; known: {', '.join(sorted(known))}"
            faults.add("allow", what + did_you_mean(name, known))
    faults.check()
    return names


def _brought(methods: tuple[Method, ...]) -> set[str]:
    """Return the dangers of tests, and of what methods would offer to do."""
    from resinid.methods.bench import Bench
    from resinid.methods.offered import plans_of
    from resinid.methods.registry import listed

    found = {getattr(test, "only_if_allowed", "") for entry in listed(methods) for test in entry.method.tests}
    return (found | {plan.hazard for plan in plans_of(Bench(), methods)}) - {""}
