"""Where pieces end in a row of baths: the fraction each is skimmed off in, oils last."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    from resinid.arrays import Array
    from resinid.liquids.liquid import Liquid
    from resinid.liquids.mixing import Recipe


__all__ = ["Bath", "Rung", "fraction_chances"]


@dataclass(frozen=True, slots=True)
class Rung:
    """One bath of a ladder.

    Parameters
    ----------
    liquid : Liquid
        The bath.
    recipe : Recipe or None
        How to mix it; None for a jug that stands ready.
    """

    liquid: Liquid
    recipe: Recipe | None


@dataclass(frozen=True, slots=True, eq=False)
class Bath:
    """A bath that may be taken into a ladder.

    Parameters
    ----------
    density : float
        Its density [g/cm3].
    floats : numpy.ndarray
        Chance to float or hover in it at each node of the density.
    make : callable
        Makes the rung.
    risky : bool, optional
        Whether it can be lit and such baths were not allowed: it must tell more to be taken.
    oily : bool, optional
        Whether it leaves a film and comes last.
    """

    density: float
    floats: Array
    make: Callable[[], Rung]
    risky: bool = False
    oily: bool = False


def fraction_chances(baths: Sequence[Bath]) -> Array:
    """Return the chance of each fraction at each node, shape (baths + 1, nodes), oils last."""
    sinks = np.ones_like(baths[0].floats)
    rows: list[Array] = []
    oils: list[Bath] = []
    for bath in sorted(baths, key=lambda one: one.density):
        if bath.oily:
            oils.append(bath)
            continue
        rows += _oiled(sinks * bath.floats, oils)
        sinks = sinks * (1.0 - bath.floats)
        oils = []
    return np.array([*rows, *_oiled(sinks, oils)])


def _oiled(fraction: Array, oils: Sequence[Bath]) -> list[Array]:
    """Return what floats in each oil of the pieces of one fraction, and last what sinks in all."""
    rows: list[Array] = []
    for oil in oils:
        rows.append(fraction * oil.floats)
        fraction = fraction * (1.0 - oil.floats)
    return [*rows, fraction]
