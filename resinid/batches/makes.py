"""What a bag's main kind may be like if its items are of one make: cells of properties, and what they show.

Items of one make share what that make is like and scatter little about it, so how wide a resin's properties
are published counts once, not once an item. A make is a row of the model (a variant, or a grade of one) and a
cell of each property that was read: a stretch as wide as one make scatters, or an outcome in words. An item's
likelihood in a cell is averaged over the cell. An error that readings of several items share, such as that of
one jug, is a coordinate of the cell, too, so it is integrated out once for the bag.

There are far too many cells to go through them all. They are added property by property; those from which
nothing can come are dropped: no item's likelihood can be above the larger of what the make, with the best
cells of the properties still to come, and a stranger would give it.
"""

from __future__ import annotations

import itertools
from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.scoring.dependence import powers
from resinid.scoring.integrals import log_product
from resinid.scoring.properties import axis_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.batches.item_evidence import ItemGroup
    from resinid.scoring.engine import Model
    from resinid.scoring.properties import Observable
    from resinid.scoring.term import Term

__all__ = ["Makes", "makes_of"]

WIDTH: Final = 3.0
"""Width of a cell in steps of a property's standing grid: 0.4 % of a density, 6 K of a softening temperature, 0.3 in
the log of a modulus, about what items of one make scatter (this project's choice)."""

ALIKE: Final = 0.5
"""Cells whose log likelihoods of all items of a group differ by less than this may be taken together."""

HOPELESS: Final = -14.0
"""Log likelihood of all items of a group, relative to the best cell, below which cells are alike, too."""

NEGLIGIBLE: Final = 1e-7
"""Makes that can have no more than this share of the whole are dropped."""

MOST: Final = 2000
"""At most so many makes are kept after each property, those that may come to most."""

NODES: Final = {1: 7, 2: 5, 3: 3}
"""Nodes of a shared error by how many are integrated together."""

TINY: Final = 1e-300


@dataclass(frozen=True, slots=True, eq=False)
class Makes:
    """Makes that the items of a bag may be of.

    Parameters
    ----------
    row : numpy.ndarray
        Row of the model of each make, shape (makes,).
    log_weight : numpy.ndarray
        Natural log of its share in its row, shape (makes,).
    log : numpy.ndarray
        Natural log of the likelihood of one item of each group, shape (makes, groups).
    """

    row: NDArray[np.intp]
    log_weight: Array
    log: Array


def makes_of(
    groups: Sequence[ItemGroup],
    model: Model,
    counts: Array,
    *,
    log_prior: Array,
    log_stranger: Array,
    log_floor: float,
) -> Makes:
    """Return the makes from which something can come.

    Parameters
    ----------
    groups : sequence of ItemGroup
    model : Model
    counts : numpy.ndarray
        How many items of each group count, shape (groups,).
    log_prior : numpy.ndarray
        Natural log of the weight of each row, shape (rows + 1,).
    log_stranger : numpy.ndarray
        Natural log of the likelihood of one item of each group if it does not belong, shape (groups,).
    log_floor : float
        Natural log of a bound from below of the probability of all that was read.
    """
    log = np.log(np.maximum(np.array([group.rows for group in groups]).T.reshape(-1, len(groups)), TINY))
    row = np.arange(log_prior.size)
    weight = np.zeros(row.size)
    properties = sorted(
        (_cells(name, groups, model, counts) for name in _names(groups)), key=lambda cells: -cells.share.shape[1]
    )
    # The most that each property, and all still to come, can lift an item of a group.
    lifts = [cells.ratio.max(axis=2) for cells in properties]
    for place, cells in enumerate(properties):
        rest = np.sum(lifts[place + 1 :], axis=0) if place + 1 < len(properties) else np.zeros(())
        # Makes with each cell of this property: (makes, cells).
        grown = weight[:, None] + cells.share[row]
        bound = grown + log_prior[row][:, None]
        for group, count in enumerate(counts):
            best = log[:, group][:, None] + cells.ratio[group, row]
            if rest.ndim:
                best = best + rest[group, row][:, None]
            bound = bound + count * np.maximum(best, log_stranger[group])
        first, second = _kept(bound, log_floor)
        weight = grown[first, second]
        log = log[first] + cells.ratio[:, row[first], second].T
        row = row[first]
    return Makes(row, weight, log)


def _kept(bound: Array, log_floor: float) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    least = log_floor + np.log(NEGLIGIBLE)
    flat = bound.ravel()
    if np.count_nonzero(flat > least) > MOST:
        least = max(least, float(np.partition(flat, -MOST)[-MOST]))
    first, second = np.nonzero(bound >= least)
    return first, second


@dataclass(frozen=True, slots=True, eq=False)
class _Cells:
    """Cells of one property: log share of each row's pieces in each, and what being in it lifts an item by.

    ``share`` has the shape (rows + 1, cells) and ``ratio``, a log, (groups, rows + 1, cells).
    """

    share: Array
    ratio: Array


def _names(groups: Sequence[ItemGroup]) -> list[Observable]:
    return list(dict.fromkeys(term.observes for group in groups for term in group.terms))


def _cells(name: Observable, groups: Sequence[ItemGroup], model: Model, counts: Array) -> _Cells:
    """Return the cells of one property that the groups' readings tell apart."""
    terms = [[term for term in group.terms if term.observes == name] for group in groups]
    latent = model.resolving(name, [term for each in terms for term in each])
    values, mass = latent.values, latent.mass
    errors = _errors(terms, counts.tolist())
    # Likelihood of one item of each group at each value under each of the shared errors.
    seen = [_likelihood(each, values, errors) for each in terms]
    axis = axis_of(name)
    if axis is None:
        bins = np.arange(values.size)
    else:
        with np.errstate(divide="ignore"):
            coordinate = np.log(values) if axis.logarithmic else values
        finite = np.isfinite(coordinate)
        bins = np.floor(np.where(finite, coordinate - axis.low, 0.0) / (WIDTH * axis.step)).astype(np.int64)
        bins[~finite] = bins.max() + 1
    _, bins = np.unique(bins, return_inverse=True)
    size = int(bins.max()) + 1
    total = np.bincount(bins, minlength=size)
    labels = np.zeros(errors.weight.size * size, dtype=np.uint64)
    factors = np.random.default_rng(0).integers(1, 2**62, len(groups), dtype=np.uint64)
    for each, own, count, factor in zip(seen, terms, counts.tolist(), factors, strict=True):
        if own:
            mean = np.array([np.bincount(bins, weights=line, minlength=size) for line in each]) / total
            level = count * np.log(np.maximum(mean, TINY) / max(float(mean.max()), TINY))
            labels += np.round(np.maximum(level, HOPELESS) / -ALIKE).astype(np.uint64).ravel() * factor
    # Cells of value and error that no group tells apart are one; a random number for each label tells their sums apart.
    _, merged = np.unique(labels, return_inverse=True)
    cells = int(merged.max()) + 1
    places = (np.arange(values.size) * cells + merged.reshape(-1, size)[:, bins]).ravel()

    def gathered(weights: Array) -> Array:
        at = np.bincount(places, weights=weights.ravel(), minlength=values.size * cells)
        out: Array = mass @ at.reshape(values.size, cells)
        return out

    part = np.repeat(errors.weight[:, None], values.size, axis=1)
    share = gathered(part)
    joint = np.array([gathered(part * each) if own else share for each, own in zip(seen, terms, strict=True)])
    log_share = np.log(np.maximum(share, TINY))
    ratio = np.zeros(joint.shape)
    for group, own in enumerate(terms):
        if own:
            # By the engine's own integral, so that what is taken out of an item's evidence is what went into it.
            whole = (mass @ np.exp(log_product(own, values)))[:, None]
            # What depends on other properties that were read counts with a power, here as in the item's evidence.
            power = powers(dict.fromkeys(term.observes for term in groups[group].terms))[name]
            ratio[group] = power * (np.log(np.maximum(joint[group], TINY) / np.maximum(whole, TINY)) - log_share)
    ratio[:, share <= 0.0] = 0.0
    return _Cells(np.where(share > 0.0, log_share, -np.inf), ratio)


@dataclass(frozen=True, slots=True, eq=False)
class _Errors:
    """Nodes of the errors that several items share, (nodes, keys), and their weights."""

    keys: tuple[object, ...]
    nodes: Array
    weight: Array


def _errors(terms: Sequence[Sequence[Term]], counts: Sequence[float]) -> _Errors:
    used: Counter[object] = Counter()
    for each, count in zip(terms, counts, strict=True):
        for key in {term.shared.key for term in each if term.shared is not None}:
            used[key] += round(count)
    ranked = sorted((key for key, number in used.items() if number > 1), key=lambda key: (-used[key], repr(key)))
    keys = tuple(ranked[: max(NODES)])
    if not keys:
        return _Errors((), np.zeros((1, 0)), np.ones(1))
    from numpy.polynomial.hermite_e import hermegauss

    at, weight = hermegauss(NODES[len(keys)])
    weight = weight / weight.sum()
    nodes = np.array(list(itertools.product(at, repeat=len(keys))))
    return _Errors(keys, nodes, np.array(list(itertools.product(weight, repeat=len(keys)))).prod(axis=1))


def _likelihood(terms: Sequence[Term], values: Array, errors: _Errors) -> Array:
    """Return the likelihood of one item's readings of a property, shape (errors, values)."""
    keys = [term.shared.key for term in terms if term.shared is not None]
    if len(set(keys)) < len(keys):
        # Readings of one item that share an error share mishaps, too, which the engine knows how to weigh.
        return np.repeat(np.exp(log_product(terms, values))[None], errors.weight.size, axis=0)
    out = np.ones((errors.weight.size, values.size))
    for term in terms:
        key = term.shared.key if term.shared is not None else None
        if key is not None and key in errors.keys:
            good = term.likelihood(values, errors.nodes[:, [errors.keys.index(key)]])
        else:
            good = term.likelihood(values, None)
        out *= (1.0 - term.outlier) * good + term.outlier * term.outlier_likelihood
    return out
