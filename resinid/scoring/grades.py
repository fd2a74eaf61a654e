"""Density and melting point of one resin go together: its variants are split into grades.

Within a variant both properties follow crystallinity: what is denser holds more and
thicker crystals and melts later. Evidence is a sum over variants of products over
properties, so the link is told by splitting a variant into grades, each with its own part
of the density distribution and of the softening distribution.

Both are split by rank. With ``u`` the rank (cumulated probability) of a value within its
variant, grade ``k`` of ``n`` holds the share ``max(0, 1 - |(n - 1) u - k|)`` of what is at
that rank. These shares add up to one at every rank, so the grades together are the
published mixture again, in density as in softening, whatever the mixture is. Used alone,
either property says just what it did. Each node's mass is spread evenly over the ranks that it
covers, so the parts add up exactly, and a joint chance is good to about a hundredth.

How strong the link is, as a rank correlation, follows from the slope of the melting point
on crystallinity that the table states: the spread in softening that goes with the spread in
density, over the whole spread in softening. A resin without a stated slope has no link, nor
has a foam or a flame-retarded variant. Pieces that stray from what is published
(:data:`resinid.reference.rules.STRAY`) are in all grades alike.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.reference.crystallinity import crystallinity_per_log_density
from resinid.reference.mixture import GAS, mixture

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.reference.entries import Variant
    from resinid.reference.mixture import Mixture
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.latents import Latent

__all__ = ["COUNT", "LINKED", "Grades", "correlation", "graded", "grades"]

COUNT: Final = 3
"""Grades of a variant that is split; with four, simulated answers are no sharper."""

LINKED: Final = ("density", "softening_temperature")

STRONGEST: Final = 0.95
"""Cap on the correlation: other things than crystallinity always play a part."""


@dataclass(frozen=True, slots=True)
class Grades:
    """How variants are split into the rows of a model.

    Parameters
    ----------
    owner : numpy.ndarray of int
        Variant of each row, in table order, shape (rows,).
    share : numpy.ndarray
        Share of its variant that each row is, shape (rows,).
    strength : tuple of (int, float)
        For each variant that is split, its index and the part of its softening that
        goes with its density, from 0 to 1; the rest is independent.
    """

    owner: NDArray[np.int64]
    share: Array
    strength: tuple[tuple[int, float], ...]


def grades(reference: ReferenceTable, count: int = COUNT) -> Grades:
    """Return how the variants of a table are split.

    Parameters
    ----------
    reference : ReferenceTable
    count : int, optional
        Grades of a variant that is split, at least 2.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> found = grades(default_reference())
    >>> float(found.share.sum()) == len(default_reference().variants)
    True
    """
    strength = {
        index: min(spearman / _hats_spearman(count), 1.0)
        for index, variant in enumerate(reference.variants)
        if (spearman := 6.0 / math.pi * math.asin(correlation(reference, variant) / 2.0)) > 0.0
    }
    times = [count if index in strength else 1 for index in range(len(reference.variants))]
    shares = [_weights(count) if index in strength else np.ones(1) for index in range(len(reference.variants))]
    return Grades(np.repeat(np.arange(len(times)), times), np.concatenate(shares), tuple(strength.items()))


def correlation(reference: ReferenceTable, variant: Variant) -> float:
    """Return the correlation of the density of a variant's pieces with their melting point.

    It is ``slope (dx/d ln rho) sd(ln rho) / sd(T)``, with ``x`` the mass crystallinity and the
    slope that of crystallinity.csv. Where the variant is filled, the base resin's density
    counts, and the correlation is multiplied by the base's spread over the variant's, at most one.

    Returns
    -------
    float
        From 0 (no link) to 0.95.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> reference = default_reference()
    >>> correlation(reference, next(v for v in reference.variants if v.resin == "PS"))
    0.0
    """
    crystal = next((c for c in reference.crystals if c.resin == variant.resin and c.melting_slope), None)
    if crystal is None or variant.softens != "melting" or variant.filler == GAS or variant.flame_retarded:
        return 0.0
    base = next(v for v in reference.variants if v.resin == variant.resin)
    pure, own = _spread(mixture(reference, base, "density")), _spread(mixture(reference, variant, "density"))
    soft = _spread(mixture(reference, variant, "softening_temperature"))
    if pure is None or own is None or soft is None:
        return 0.0
    explained = (crystal.melting_slope or 0.0) * crystallinity_per_log_density(math.exp(pure[0]), crystal) * pure[1]
    return min(max(explained / soft[1] * min(pure[1] / own[1], 1.0), 0.0), STRONGEST)


def _spread(found: Mixture) -> tuple[float, float] | None:
    """Return mean and standard deviation of a mixture."""
    total = math.fsum(normal.weight for normal in found.normals)
    if not total:
        return None
    mean = math.fsum(normal.weight * normal.mean for normal in found.normals) / total
    square = math.fsum(n.weight * (n.sd**2 + (n.mean - mean) ** 2) for n in found.normals) / total
    return mean, math.sqrt(square)


def graded(latent: Latent, found: Grades) -> Latent:
    """Return a latent with a row for each grade; what it states of each variant stays.

    Parameters
    ----------
    latent : Latent
        Its rows are the table's variants, "none of these" last.
    found : Grades

    Returns
    -------
    Latent
        Its rows are those of ``found``, "none of these" last.
    """
    if not found.strength:
        return latent
    row_of = np.append(found.owner, len(latent.mass) - 1)
    mass = latent.mass[row_of]
    if latent.name in LINKED:
        for index, strength in found.strength:
            rows = np.flatnonzero(found.owner == index)
            # What strays is filled or foamed: it is no denser for its crystals.
            astray = 0.0 if latent.stray is None else latent.stray[index]
            parts = _parts(latent.mass[index] - astray, rows.size) + astray
            mixed = 1.0 if latent.name == "density" else strength
            mass[rows] = mixed * parts + (1.0 - mixed) * latent.mass[index]
    mass.flags.writeable = False
    return replace(latent, mass=mass, stray=None if latent.stray is None else latent.stray[row_of])


def _parts(mass: Array, count: int) -> Array:
    """Split the mass on the nodes by rank, each part made to add up to what the whole does."""
    edges = np.append(0.0, np.cumsum(mass))
    # Shares are averaged over what lies between two nodes, so the parts add up to the whole exactly.
    cumulated = _cumulated(edges / edges[-1], count)
    out: Array = np.maximum(np.diff(cumulated, axis=1), 0.0) * (edges[-1] / _weights(count)[:, None])
    return out


def _cumulated(rank: Array, count: int) -> Array:
    """Return the integral of each grade's share from rank 0, shape (grades, ranks)."""
    place = np.clip(rank * (count - 1) - np.arange(count)[:, None], -1.0, 1.0)
    risen = np.where(place < 0.0, 0.5 * (1.0 + place) ** 2, 1.0 - 0.5 * (1.0 - place) ** 2)
    out: Array = (risen - risen[:, :1]) / (count - 1)
    return out


def _weights(count: int) -> Array:
    """Return the share of a variant that each grade is: half as much at the ends."""
    out = np.full(count, 1.0 / (count - 1))
    out[[0, -1]] *= 0.5
    return out


def _hats_spearman(count: int) -> float:
    """Return the rank correlation of two properties both split into grades."""
    middle = np.arange(count) / (count - 1)
    middle[[0, -1]] = 1.0 / (3 * (count - 1)), 1.0 - 1.0 / (3 * (count - 1))
    return float(12.0 * _weights(count) @ (middle - 0.5) ** 2)
