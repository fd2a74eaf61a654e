"""Several batches put together: what shares of a mix they make up, and draws of what the mix consists of."""

from __future__ import annotations

import math
from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.batches.mixing_rules import Rules, mixing_rules
from resinid.batches.pair_conditions import Compatibiliser, with_compatibiliser
from resinid.errors import Fault, Faults, InputError, safe_repr
from resinid.io.arguments import as_float, as_tuple
from resinid.io.reading import is_real, read

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.arrays import Array
    from resinid.batches.bag import Batch
    from resinid.batches.mix_part import MixPart
    from resinid.reference.table import ReferenceTable

__all__ = ["Mix", "mix_of", "weights_of"]

MOST_SHARE: Final = 1e9
"""A larger share or mass, in whatever unit, is a slip, and a sum of such would be no number."""


@dataclass(frozen=True, slots=True)
class Mix:
    """Batches that may be melted together.

    Parameters
    ----------
    parts : tuple of MixPart
    weights : tuple of float
        Mass shares of the batches; they add up to one.
    rules : Rules
    compatibiliser : Compatibiliser or None
        What is stated to be kneaded in; ``rules`` count its effect where that is published.
    """

    parts: tuple[MixPart, ...]
    weights: tuple[float, ...]
    rules: Rules
    compatibiliser: Compatibiliser | None = None

    def shares(self, weights: Sequence[float] | None = None) -> Array:
        """Return draws of the resins' shares in the mix, shape (draws, resins + 1)."""
        chosen = self.weights if weights is None else weights
        # Sorted, so that the order in which batches are given cannot change a digit.
        terms = sorted(
            ((part.stream, weight * part.shares) for part, weight in zip(self.parts, chosen, strict=True)),
            key=lambda term: term[0],
        )
        total: Array = np.sum([term for _, term in terms], axis=0)
        return total


def mix_of(
    parts: Sequence[MixPart],
    weights: Sequence[float],
    reference: ReferenceTable,
    compatibiliser: Compatibiliser | None = None,
) -> Mix:
    """Return a mix of batches, its weights made to add up to one."""
    total = math.fsum(weights)
    rules = with_compatibiliser(mixing_rules(reference), compatibiliser)
    return Mix(tuple(parts), tuple(weight / total for weight in weights), rules, compatibiliser)


def weights_of(batches: Sequence[Batch], shares: Sequence[object] | None) -> tuple[float, ...]:
    """Return the mass shares of batches, unscaled: as given, else by their masses, else equal.

    Raises
    ------
    InputError
        They are no list, or not one positive number or mass for each batch.

    Examples
    --------
    >>> from resinid.batches.bag import Batch
    >>> weights_of([Batch("caps"), Batch("pots")], ["1.5 kg", "500 g"])
    (1500.0, 500.0)
    """
    if shares is None:
        masses = [batch.mass.value for batch in batches if batch.mass is not None]
        return tuple(masses) if len(masses) == len(batches) else (1.0,) * len(batches)
    listed = as_tuple("shares", shares, "0.7, 0.3")
    numbers = [is_real(share) for share in listed]
    what = f"give one positive number for each batch, at most {MOST_SHARE:g}"
    if isinstance(shares, AbstractSet) or len(listed) != len(batches):
        raise InputError([Fault("shares", f"{safe_repr(shares)}: {what}, in the order of the batches")])
    if any(numbers) and not all(numbers):
        raise InputError(
            [Fault("shares", f"{safe_repr(shares)}: {what}, or one mass with its unit for each, not both")]
        )
    with Faults() as faults:
        weights = tuple(_weight(share, f"shares[{index}]", faults) for index, share in enumerate(listed, start=1))
        for index, weight in enumerate(weights, start=1):
            if not len(faults) and not 0 < weight <= MOST_SHARE:
                faults.add(f"shares[{index}]", f"is {weight:g}; {what}")
    return weights


def _weight(share: object, place: str, faults: Faults) -> float:
    if is_real(share):
        return as_float(share)
    try:
        return read(share, "mass").value
    except InputError as error:
        faults.extend(error.faults, under=place)
        return math.nan
