"""How much evidence counts where two properties tell in part the same.

Given the resin, the engine takes different properties as independent and multiplies
what they say. Where a method states that its property is not independent of another
one, and no joint distribution is published, both count for less: with ``k`` properties
that share the part ``s`` of their evidence, each enters with the power

    1 / (1 + (k - 1) s),

the effective number of independent observations in a cluster over their number (Kish
1965, Survey Sampling, section 5.4, design effect). With ``s = 1`` two properties count
as one; with ``s = 0`` as two. The other choice, a common latent with a stated relation,
is better where there is one: a test of hardness observes the modulus itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from resinid.scoring.properties import property_name

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.scoring.properties import Observable

__all__ = ["dependent", "powers"]


def dependent(first: Observable, second: Observable) -> float:
    """Return the share of evidence that two properties have in common: the larger of what either states.

    Examples
    --------
    >>> dependent("density", "snap")
    0.0
    """
    one, other = property_name(first), property_name(second)
    stated = [
        link.share
        for what, name in ((first, other), (second, one))
        if not isinstance(what, str)
        for link in what.depends
        if link.on == name
    ]
    return max(stated, default=0.0)


def powers(observables: Iterable[Observable]) -> dict[Observable, float]:
    """Return the power with which what is known of each property enters.

    Examples
    --------
    >>> powers(["density", "snap"])
    {'density': 1.0, 'snap': 1.0}
    """
    every = list(dict.fromkeys(observables))
    if all(isinstance(what, str) for what in every):
        return dict.fromkeys(every, 1.0)
    return {what: 1.0 / (1.0 + sum(dependent(what, other) for other in every if other is not what)) for what in every}
