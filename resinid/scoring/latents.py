"""Latent properties: what a resin's pieces are like, as weights on nodes.

For every variant of every resin, and for "none of these", a latent holds the
probability mass on each node of its grid, so that the probability of some
readings is one dot product. A qualitative aspect is the same thing with its
outcomes as nodes.
"""

from __future__ import annotations

import functools
import math
from collections import defaultdict
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import Fault, TableError
from resinid.quantities import QUANTITIES
from resinid.reference.mixture import Mixture, mixture
from resinid.reference.rules import TRUST, UNSOURCED
from resinid.scoring.grid import Axis, graded_grid, panel_grid, standing_grid, zone, zone_grid
from resinid.scoring.normal import normal_density

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from resinid.arrays import Array
    from resinid.reference.entries import Behaviour
    from resinid.reference.rules import SpreadRule
    from resinid.reference.table import ReferenceTable

__all__ = ["AXES", "FREQUENCY", "STEP", "Latent", "aspect_latent", "scalar_latent"]

AXES: Final = MappingProxyType(
    {
        "density": Axis(
            math.log(QUANTITIES["density"].low),
            math.log(QUANTITIES["density"].high),
            centre=0.1,
            below=0.5,
            above=3.0,
            step=0.0012,
            logarithmic=True,
        ),
        "softening_temperature": Axis(
            -100.0,
            480.0,
            centre=180.0,
            below=600.0,
            above=600.0,
            step=2.1,
            logarithmic=False,
        ),
        "flexural_modulus": Axis(
            math.log(0.05),
            math.log(60000.0),
            centre=7.0,
            below=15.0,
            above=15.0,
            step=0.1,
            logarithmic=True,
        ),
    }
)
"""Coordinate and standing grid of each measured property."""

FREQUENCY: Final = MappingProxyType({"always": 0.97, "usual": 0.8, "sometimes": 0.4, "rare": 0.1, "never": 0.02})
"""Chance that the words of the behaviour table stand for (common practice, no source)."""

SMOOTHING: Final = 0.15
"""Share of every aspect's distribution that is spread evenly: words are not measurements."""

UNSOURCED_SMOOTHING: Final = 0.30
"""The same where nobody published the rows: what is recalled says less (common practice, no source)."""

FAR: Final = 12.0
"""Standard deviations beyond which a normal holds nothing (1e-32)."""

TINY: Final = 1e-300
"""Sum of the masses of a mixture that has none."""

NEGLIGIBLE: Final = 1e-40
"""Probability mass that is taken as none."""

STEP: Final = 32
"""Sums of the masses from either end are kept at every so many nodes."""

BROAD: Final = 0.2
"""Share of "none of these" that is what any plastic may be; the rest is the listed resins, widened."""


@dataclass(frozen=True)
class Latent:
    """What the pieces of each variant are like in one property.

    Parameters
    ----------
    name : str
        Property or aspect.
    values : numpy.ndarray
        Value at each node, shape (nodes,) [canonical unit]; the last is infinite
        for a property that some pieces do not have (softening). For an aspect,
        the index of the outcome.
    mass : numpy.ndarray
        Probability mass on each node, shape (variants + 1, nodes); the last row is
        "none of these". Rows add up to one. A model's latents have a row a grade
        instead (:mod:`resinid.scoring.grades`).
    stated : tuple of bool
        Per variant, whether the table states anything; where not, the row is
        that of "none of these".
    sources : tuple of frozenset of str
        Per variant, the sources behind its row.
    stray : numpy.ndarray, optional
        The part of ``mass`` that is of pieces which stray from what is published of their
        variant, same shape; None where none do.
    """

    name: str
    values: Array
    mass: Array
    stated: tuple[bool, ...]
    sources: tuple[frozenset[str], ...]
    stray: Array | None = None

    @functools.cached_property
    def ends(self) -> tuple[Array, Array]:
        """Sums of the masses before every :data:`STEP` nodes, and from there on, each of shape (blocks + 1, rows)."""
        sums = np.add.reduceat(self.mass, np.arange(0, self.values.size, STEP), axis=1).T
        nothing = np.zeros((1, len(self.mass)))
        before, after = np.cumsum(sums, axis=0), np.cumsum(sums[::-1], axis=0)[::-1]
        return np.vstack([nothing, before]), np.vstack([after, nothing])


def scalar_latent(
    reference: ReferenceTable, name: str, axis: Axis, rule: SpreadRule, features: Iterable[tuple[float, float]] = ()
) -> Latent:
    """Return the latent of a measured property on its standing grid, or on one that resolves narrow features.

    Parameters
    ----------
    reference : ReferenceTable
        Holds the statements of that property.
    name : str
        The property, as the table's statements name it.
    axis : Axis
    rule : SpreadRule
        How statements become a distribution.
    features : iterable of (float, float), optional
        Coordinate and width of each narrow feature; one alone shares a grid with its neighbours.
    """
    narrow = tuple(features)
    if len(narrow) == 1:
        centre, width = zone(*narrow[0])
        grid, finer = zone_grid(axis, float(centre), float(width))
        even = _even_densities(reference, name, axis, rule)
        inside = slice(finer.start, grid.coordinates.size - (even.shape[-1] - finer.stop))
        own = _densities(reference, name, rule, grid.coordinates[inside])
        densities = np.concatenate([even[..., : finer.start], own, even[..., finer.stop :]], axis=-1)
    else:
        grid = graded_grid(axis, narrow) if narrow else standing_grid(axis)
        densities = _densities(reference, name, rule, grid.coordinates)
    mixtures = _mixtures(reference, name, rule)
    shares = np.array(_resin_shares(reference))
    nevers = np.array([found.never for found in mixtures])
    has = np.array([bool(found.normals or found.never) for found in mixtures])
    straying = rule.stray[0]
    # What a normal holds outside the range is given back to the range.
    usual, strays, wider = densities * grid.weights
    parts = [each * ((1.0 - nevers) / np.maximum(each.sum(axis=1), TINY))[:, None] for each in (usual, strays, wider)]
    stray = np.vstack([straying * parts[1], np.zeros(grid.coordinates.size)])
    known = float(shares @ has)
    never = float(shares @ nevers) / known if known else 0.0
    anything = normal_density(grid.coordinates - rule.any_plastic[0], rule.any_plastic[1]) * grid.weights
    anything /= anything.sum()
    widened = shares @ parts[2]
    widened_sum = widened.sum()
    unlisted = BROAD * anything
    unlisted += (1 - BROAD) * (widened / widened_sum if widened_sum else anything)
    unlisted *= 1 - never
    mass = stray + np.vstack([np.where(has[:, None], (1.0 - straying) * parts[0], unlisted), unlisted])
    values = grid.values
    if name == "softening_temperature":
        mass = np.column_stack([mass, [*np.where(has, nevers, never), never]])
        stray = np.column_stack([stray, np.zeros(len(stray))])
        values = np.append(values, math.inf)
    sources = tuple(frozenset(normal.source for normal in found.normals) for found in mixtures)
    made = _frozen(name, values, mass, tuple(has.tolist()), sources)
    return replace(made, stray=stray) if straying else made


@functools.lru_cache(maxsize=64)
def _mixtures(reference: ReferenceTable, name: str, rule: SpreadRule) -> tuple[Mixture, ...]:
    return tuple(mixture(reference, variant, name, rule) for variant in reference.variants)


def _resin_shares(reference: ReferenceTable) -> list[float]:
    """Weight of each variant where every resin counts the same."""
    count = len(reference.resins)
    return [variant.weight / count for variant in reference.variants]


def _densities(reference: ReferenceTable, name: str, rule: SpreadRule, coordinates: Array) -> Array:
    """Return the density of each variant's mixture, as it is, for what strays and for the unlisted.

    Up to a factor a mixture; shape (3, variants, coordinates).
    """
    mixtures = _mixtures(reference, name, rule)
    widening = np.array([0.0, rule.stray[1], rule.unlisted])[:, None]
    out = np.zeros((3, len(mixtures), coordinates.size))
    low, high = coordinates.min(initial=np.inf), coordinates.max(initial=-np.inf)
    for row, found in enumerate(mixtures):
        if found.normals:
            weight, mean, own = np.array([(n.weight, n.mean, n.sd) for n in found.normals]).T
            sd = np.hypot(own, widening)
            kind, which = np.nonzero((mean + FAR * sd > low) & (mean - FAR * sd < high))
            near = sd[kind, which]
            share = np.zeros((3, which.size))
            share[kind, np.arange(which.size)] = weight[which]
            out[:, row] = share @ normal_density(coordinates - mean[which, None], near[:, None])
    return out


@functools.lru_cache(maxsize=16)
def _even_densities(reference: ReferenceTable, name: str, axis: Axis, rule: SpreadRule) -> Array:
    return _densities(reference, name, rule, panel_grid(axis).coordinates)


def aspect_latent(
    reference: ReferenceTable, name: str, outcomes: tuple[str, ...], rows: Iterable[Behaviour] = ()
) -> Latent:
    """Return the latent of a qualitative aspect; its nodes are the outcomes.

    Parameters
    ----------
    reference : ReferenceTable
    name : str
        The aspect, as the behaviour table names it.
    outcomes : tuple of str
        All that may be seen.
    rows : iterable of Behaviour, optional
        What else is known of it, besides the table's own rows.

    Raises
    ------
    TableError
        A row states an outcome that the aspect does not have.
    """
    by_resin: dict[str, list[Behaviour]] = defaultdict(list)
    for row in (*reference.behaviours, *rows):
        if row.aspect == name:
            if row.outcome not in outcomes:
                what = f"{row.outcome!r} is no outcome of {name}; expected one of: {', '.join(outcomes)}"
                raise TableError([Fault(f"behaviour of {row.resin}", what)])
            by_resin[row.resin].append(row)
    chances = {resin: _chances(rows, outcomes) for resin, rows in by_resin.items()}
    average = np.mean(list(chances.values()), axis=0) if chances else np.full(len(outcomes), 1.0 / len(outcomes))
    even = np.full(len(outcomes), 1.0 / len(outcomes))
    unlisted = 0.5 * average + 0.5 * even
    stated = tuple(variant.resin in chances for variant in reference.variants)
    mass = np.array([chances.get(variant.resin, unlisted) for variant in reference.variants] + [unlisted])
    sources = tuple(
        frozenset(key for row in by_resin[variant.resin] for key in row.source.split())
        for variant in reference.variants
    )
    return _frozen(name, np.arange(len(outcomes), dtype=np.float64), mass, stated, sources)


def _chances(rows: Sequence[Behaviour], outcomes: tuple[str, ...]) -> Array:
    said: dict[str, list[float]] = defaultdict(list)
    trust: dict[str, list[float]] = defaultdict(list)
    for row in rows:
        said[row.outcome].append(FREQUENCY[row.frequency])
        trust[row.outcome].append(TRUST[row.obtained])
    chance = np.array(
        [np.average(said[outcome], weights=trust[outcome]) if outcome in said else np.nan for outcome in outcomes]
    )
    unsaid = np.isnan(chance)
    if unsaid.any():
        chance[unsaid] = max(1.0 - float(np.nansum(chance)), 0.0) / float(unsaid.sum())
    total = chance.sum()
    even = np.full(len(outcomes), 1.0 / len(outcomes))
    recalled = sum(row.obtained in UNSOURCED for row in rows) / len(rows)
    smoothing = SMOOTHING + recalled * (UNSOURCED_SMOOTHING - SMOOTHING)
    spread: Array = (1 - smoothing) * chance / total + smoothing * even if total else even
    return spread


def _frozen(
    name: str, values: Array, mass: Array, stated: tuple[bool, ...], sources: tuple[frozenset[str], ...]
) -> Latent:
    # Tails this small count for nothing, and arithmetic on denormal numbers is many times slower.
    values, mass = np.ascontiguousarray(values), np.where(mass < NEGLIGIBLE, 0.0, mass)
    values.flags.writeable = False
    mass.flags.writeable = False
    return Latent(name, values, mass, stated, sources)
