"""What an answer must never leave out, and says once: cautions of heat and of baths, tests that bear on heating."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, Final

from resinid.heating.evidence import forbidding
from resinid.methods._guard import describe, liquid_of

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from resinid.heating.verdict import Heat
    from resinid.methods.contract import Observation

__all__ = ["bath_cautions", "bearing_on_heat", "reasons_beside"]

ONSET: Final = re.compile(r", from about -?[\d.e+]+ °C(?=: )")
"""Where a hazard begins stands in a caution, and not in the reason that names the same hazard."""


def reasons_beside(heat: Heat) -> tuple[str, ...]:
    """Return the reasons that the cautions do not say again; where precautions are needed they are the same.

    Examples
    --------
    >>> from resinid.heating.verdict import Heat
    >>> reasons_beside(Heat("", ("fume: air the room", "may be PVC"), ("PS: fume, from about 200 °C: air the room",)))
    ('may be PVC',)
    """
    said = [ONSET.sub("", caution) for caution in heat.cautions]
    return tuple(dict.fromkeys(r for r in heat.reasons if not any(s == r or s.endswith(f": {r}") for s in said)))


def bath_cautions(observations: Iterable[Observation]) -> tuple[str, ...]:
    """Return the cautions of the liquids that a piece was put into, each once."""
    liquids = (liquid_of(observation) for observation in observations)
    return tuple(dict.fromkeys(liquid.caution for liquid in liquids if liquid is not None and liquid.caution))


def bearing_on_heat(observations: Sequence[Observation]) -> frozenset[int]:
    """Return the places of the tests on which heating may hang: each outcome once, where it was first seen.

    They are those of which an outcome forbids heating (a copper wire, a mark that names a flame
    retardant) and those that are off until a person allows their danger, such as a burn.

    Examples
    --------
    >>> from resinid import observe
    >>> wire = observe("copper_wire", outcome="no green", allow=["copper wire"])
    >>> sorted(bearing_on_heat([observe("feel", outcome="rigid"), wire, wire]))
    [1]
    """
    first: dict[str, int] = {}
    for place, each in enumerate(observations):
        if getattr(type(each), "only_if_allowed", "") or forbidding([each]):
            first.setdefault(describe(each), place)
    return frozenset(first.values())
