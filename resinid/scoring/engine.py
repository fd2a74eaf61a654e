"""The scoring engine: from terms to the evidence for every resin.

For resin ``r`` with variants ``v`` of weight ``w_v``, and observations grouped by
the property they observe, the evidence is

    E_r = sum_v w_v prod_properties  (integral p(x | v) prod_i L_i(x) dx) ** power,

    L_i(x) = (1 - outlier_i) likelihood_i(x) + outlier_i outlier_likelihood_i.

The power is one, but for properties that say in part the same, as signs of one melt do
(:mod:`resinid.scoring.dependence`). Observations of one property share one latent value ``x``; observations that
share an error (one jug of liquid, one thermometer) are multiplied before that
error is integrated out (:mod:`resinid.scoring.integrals`). No observation can rule a
resin out, since each may have been botched. Where density and melting point go
together, a variant stands for its grades (:mod:`resinid.scoring.grades`).
"""

from __future__ import annotations

import functools
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final, cast

import numpy as np

from resinid.scoring.dependence import powers
from resinid.scoring.grades import graded, grades
from resinid.scoring.grid import zone
from resinid.scoring.integrals import TINY, integrate
from resinid.scoring.prior import NONE_OF_THESE
from resinid.scoring.properties import axis_of, observed, refined

if TYPE_CHECKING:
    from collections.abc import Hashable, Iterable, Sequence

    from numpy.typing import NDArray

    from resinid.reference.entries import Variant
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.grades import Grades
    from resinid.scoring.integrals import Integrals
    from resinid.scoring.latents import Latent
    from resinid.scoring.properties import Observable
    from resinid.scoring.term import Term

    Array = NDArray[np.float64]

__all__ = ["Evidence", "Model"]

KEPT: Final = 32
"""Latents of narrow features that are kept; each is some 5 MB and takes 40 ms to make. Precise densities of all kinds
of plastics lie in 25 zones (:data:`resinid.scoring.grid.ZONE`): with 8, each table of them made all anew, in 1.1 s."""


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the observations say of each resin; the last entry is "none of these".

    Parameters
    ----------
    log : numpy.ndarray
        Natural log of the evidence, shape (resins + 1,).
    without : numpy.ndarray
        The same with one observation left out, shape (observations, resins + 1).
    outlier : numpy.ndarray
        Chance that an observation was botched if the piece is that resin, given
        all of them, itself included; shape (observations, resins + 1).
    rows : numpy.ndarray
        Evidence of each row (a variant or a grade of one) times its weight, up to a common
        factor, shape (rows,).
    kinds, kind_outlier : numpy.ndarray
        As ``log`` and ``outlier``, by kind: a resin's flame-retarded variants are a kind of
        their own; shape (kinds,) and (observations, kinds).
    alone : numpy.ndarray
        As ``log``, by each observation as if it were the only one, shape (observations, resins + 1); no rows
        where not asked for.
    """

    log: Array
    without: Array
    outlier: Array
    rows: Array
    kinds: Array
    kind_outlier: Array
    alone: Array


class Model:
    """A table made ready for scoring. Immutable after construction but for caches.

    Parameters
    ----------
    reference : ReferenceTable
        What to score with.

    Attributes
    ----------
    reference : ReferenceTable
        The same, its variants in the order of their resins.
    candidates : tuple of str
        Symbols of the resins, and last "none of these".
    grades : Grades
        How variants are split into rows, because density and melting point go together.
    rows : tuple of Variant
        Variant of each row but the last, which is "none of these"; a variant that is
        split into grades has several rows.
    gathering : numpy.ndarray
        Weight of each row in its candidate, shape (rows + 1, candidates).
    kind_gathering : numpy.ndarray
        Weight of each row in its kind, shape (rows + 1, kinds).
    kind_owner : numpy.ndarray
        Candidate of each kind, ascending, shape (kinds,). The last is "none of these".
    retarded : numpy.ndarray
        Whether a kind is flame-retarded, shape (kinds,).
    """

    def __init__(self, reference: ReferenceTable) -> None:
        symbols = reference.symbols
        # In order of their resins, so that a sum over a resin's variants is a run.
        ordered = tuple(sorted(reference.variants, key=lambda v: (symbols.index(v.resin), v.flame_retarded)))
        self.reference: ReferenceTable = replace(reference, variants=ordered, digest=f"{reference.digest} by resin")
        self.candidates: tuple[str, ...] = (*symbols, NONE_OF_THESE)
        self.grades: Grades = grades(self.reference)
        self.rows: tuple[Variant, ...] = tuple(self.reference.variants[index] for index in self.grades.owner)
        kinds = [(symbols.index(variant.resin), variant.flame_retarded) for variant in self.rows]
        different = sorted(set(kinds))
        self.kind_owner: NDArray[np.int64] = np.array([*(owner for owner, _ in different), len(symbols)])
        self.retarded: NDArray[np.bool_] = np.array([*(flame for _, flame in different), False])
        # Rows of a kind are a run, as are kinds of a candidate.
        self._kind_starts = np.array([*(kinds.index(kind) for kind in different), len(kinds)])
        self._starts = np.searchsorted(self.kind_owner, np.arange(len(self.candidates)))
        further = np.setdiff1d(np.arange(self.kind_owner.size), self._starts).tolist()
        self._further = tuple((kind, int(self.kind_owner[kind])) for kind in further)
        self._row_starts = self._kind_starts[self._starts]
        shares = zip(self.rows, self.grades.share.tolist(), strict=True)
        self._weights = np.array([*(variant.weight * share for variant, share in shares), 1.0])
        kind = np.repeat(np.arange(self.kind_owner.size), np.diff(np.append(self._kind_starts, self._weights.size)))
        self.kind_gathering: Array = np.zeros((self._weights.size, self.kind_owner.size))
        self.kind_gathering[np.arange(self._weights.size), kind] = self._weights
        self.gathering: Array = self.by_candidate(self.kind_gathering)
        self._latents: dict[Observable, Latent] = {}
        self._unstated: dict[Observable, tuple[str, ...]] = {}
        self._sources: dict[tuple[Observable, int], frozenset[str]] = {}

    def by_candidate(self, by_kind: Array) -> Array:
        """Return sums over the kinds of each candidate; kinds in the last axis."""
        # Three times as fast as numpy's reduceat, for few candidates have more than one kind.
        out: Array = np.take(by_kind, self._starts, axis=-1)
        for kind, owner in self._further:
            out[..., owner] += by_kind[..., kind]
        return out

    def latent(self, name: Observable) -> Latent:
        """Return the latent of a property or aspect, its rows in table order.

        Raises
        ------
        UnknownNameError
            The table holds nothing by that name.
        """
        found = self._latents.get(name)
        if found is None:
            found = self._latents[name] = graded(observed(name).latent(self.reference), self.grades)
        return found

    def no_data(self, name: Observable) -> tuple[str, ...]:
        """Return the resins of which the table says nothing about a property or aspect."""
        found = self._unstated.get(name)
        if found is None:
            stated = {
                variant.resin
                for variant, has in zip(self.reference.variants, self.latent(name).stated, strict=True)
                if has
            }
            found = tuple(symbol for symbol in self.reference.symbols if symbol not in stated)
            self._unstated[name] = found
        return found

    def sources(self, name: Observable, resin: int) -> frozenset[str]:
        """Return the sources behind a resin's scores in a property or aspect."""
        key = (name, resin)
        found = self._sources.get(key)
        if found is None:
            symbol = self.reference.symbols[resin] if resin < len(self.reference.symbols) else ""
            rows = zip(self.reference.variants, self.latent(name).sources, strict=True)
            found = frozenset().union(*(sources for variant, sources in rows if variant.resin == symbol))
            self._sources[key] = found
        return found

    def variants_of(self, resin: int, evidence: Evidence) -> tuple[tuple[str, float], ...]:
        """Return the variants of a resin with their shares, most probable first."""
        if resin == len(self.candidates) - 1:
            return ()
        rows = slice(self._row_starts[resin], self._row_starts[resin + 1])
        parts = evidence.rows[rows]
        shares: dict[str, float] = {}
        for variant, share in zip(self.rows[rows], (parts / parts.sum()).tolist(), strict=True):
            shares[variant.name] = shares.get(variant.name, 0.0) + share
        return tuple(sorted(shares.items(), key=lambda pair: -pair[1]))

    def evidence(self, terms: Sequence[Term], *, alone: bool = False) -> Evidence:
        """Return the evidence of some observations for every resin, and of each by itself where asked for."""
        by_latent: dict[Observable, list[int]] = {}
        for index, term in enumerate(terms):
            by_latent.setdefault(term.observes, []).append(index)
        count = len(terms)
        power = powers(by_latent)
        every: dict[Observable, Integrals] = {}
        # Row 0: all observations. Then, for each observation: all but it; all, with it botched; it alone.
        rows = np.empty((1 + (2 + alone) * count, self._weights.size))
        rows[0] = self._weights
        offset = np.zeros(1 + count)
        for name, members in by_latent.items():
            chosen = [terms[index] for index in members]
            found = self._integrals(name, chosen, alone=alone)
            tempered = found if power[name] == 1.0 else _tempered(found, power[name])
            every[name] = found
            rows[0] *= tempered.whole
            offset += tempered.offset
            for place, index in enumerate(members):
                rows[1 + index] = tempered.without[place]
                rows[1 + count + index] = tempered.botched[place]
            for index, row in zip(members, found.alone, strict=False):
                rows[1 + 2 * count + index] = row
        rows[1 : 1 + 2 * count] *= rows[0]
        rows[1 + 2 * count :] *= self._weights
        if any(each != 1.0 for each in power.values()):
            for name, members in by_latent.items():
                # Without the only observation of a property, what depends on it counts for more.
                if len(members) == 1:
                    fewer = powers(other for other in by_latent if other is not name)
                    for other, each in fewer.items():
                        rows[1 + members[0]] *= every[other].whole ** (each - power[other])
                        offset[1 + members[0]] += every[other].offset * (each - power[other])
        by_kind = np.add.reduceat(rows, self._kind_starts, axis=1)
        sums = np.maximum(self.by_candidate(by_kind), TINY)
        logs = np.log(sums[: 1 + count]) + offset[:, None]
        whole = np.maximum(by_kind[0], TINY)
        return Evidence(
            log=logs[0],
            without=logs[1:],
            outlier=np.minimum(sums[1 + count : 1 + 2 * count] / sums[0], 1.0),
            rows=rows[0, :-1],
            kinds=np.log(whole) + offset[0],
            kind_outlier=np.minimum(by_kind[1 + count : 1 + 2 * count] / whole, 1.0),
            alone=np.log(sums[1 + 2 * count :]),
        )

    def _integrals(self, name: Observable, terms: list[Term], *, alone: bool) -> Integrals:
        """Return the integrals of all terms of a property, and where asked for of each by itself."""
        latent = self.resolving(name, terms)
        # On finer nodes than the standing ones a term by itself may have its own.
        finer = alone and latent is not self.latent(name)
        own = [self.resolving(name, [term]) if finer else latent for term in terms]
        alike = [place for place, each in enumerate(own) if alone and each is latent]
        found = integrate(terms, latent, alone=alike)
        if len(alike) == len(terms) or not alone:
            return found
        rows = iter(found.alone)
        pairs = zip(terms, own, strict=True)
        each = [next(rows) if one is latent else integrate([term], one).whole for term, one in pairs]
        return replace(found, alone=each)

    def resolving(self, name: Observable, terms: list[Term]) -> Latent:
        """Return the standing latent, or a refined one where a term is too sharp for it."""
        return self.refined(name, self.sharp(name, terms))

    def sharp(self, name: Observable, terms: Iterable[Term]) -> tuple[tuple[float, float], ...]:
        """Return coordinate and width of what is too sharp for the standing latent.

        A single one is rounded to a zone, so that pieces with nearly the same reading share a grid.
        """
        axis = axis_of(name)
        if axis is None:
            return ()
        features = [term.feature for term in terms if term.feature is not None]
        sharp = tuple(found for feature in features if (found := axis.too_sharp(*feature)) is not None)
        if len(sharp) != 1:
            return sharp
        centre, width = zone(*sharp[0])
        return ((float(centre), float(width)),)

    def refined(self, name: Observable, sharp: tuple[tuple[float, float], ...]) -> Latent:
        """Return a latent that resolves some narrow features; the last few are kept."""
        return _refined(self, cast("Hashable", name), sharp) if sharp else self.latent(name)


@functools.lru_cache(maxsize=KEPT)
def _refined(model: Model, name: Hashable, sharp: tuple[tuple[float, float], ...]) -> Latent:
    return graded(refined(model.reference, cast("Observable", name), sharp), model.grades)


def _tempered(found: Integrals, power: float) -> Integrals:
    """Return integrals to a power; whether an observation was botched is not a matter of it."""
    return replace(
        found,
        whole=found.whole**power,
        without=[each**power for each in found.without],
        offset=found.offset * power,
    )
