"""The scoring engine: from terms to the evidence for every resin.

For resin ``r`` with variants ``v`` of weight ``w_v``, and observations grouped by
the property they observe, the evidence is

    E_r = sum_v w_v prod_properties  integral p(x | v) prod_i L_i(x) dx,

    L_i(x) = (1 - mishap_i) likelihood_i(x) + mishap_i if_mishap_i.

Observations of one property thus share one latent value ``x``; observations that
share an error (one jug of liquid, one thermometer) are multiplied before that
error is integrated out (:mod:`resinid.scoring.integrals`). No observation can rule a
resin out, since each may have been botched.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from resinid.errors import UnknownNameError
from resinid.scoring.integrals import TINY, integrate
from resinid.scoring.latents import AXES, Latent, aspect_latent, refined, scalar_latent
from resinid.scoring.prior import NONE_OF_THESE
from resinid.vocabulary import ASPECTS

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.scoring.term import Term
    from resinid.table.table import Table

    Array = NDArray[np.float64]

__all__ = ["Evidence", "Model"]


@dataclass(frozen=True, slots=True)
class Evidence:
    """What the observations say of each resin; the last entry is "none of these".

    Parameters
    ----------
    log : numpy.ndarray
        Natural log of the evidence, shape (resins + 1,).
    without : numpy.ndarray
        The same with one observation left out, shape (observations, resins + 1).
    mishap : numpy.ndarray
        Chance that an observation was botched if the piece is that resin, given
        all the others; shape (observations, resins + 1).
    variants : numpy.ndarray
        Evidence of each variant times its weight, up to a common factor, shape (variants,).
    """

    log: Array
    without: Array
    mishap: Array
    variants: Array


class Model:
    """A table made ready for scoring. Immutable after construction but for caches.

    Parameters
    ----------
    table : Table
        What to score with.

    Attributes
    ----------
    table : Table
        The same, its variants in the order of their resins.
    candidates : tuple of str
        Symbols of the resins, and last "none of these".
    gathering : numpy.ndarray
        Weight of each variant in its candidate, shape (variants + 1, candidates).
    """

    def __init__(self, table: Table) -> None:
        symbols = table.symbols
        owners = sorted(symbols.index(variant.resin) for variant in table.variants)
        # In order of their resins, so that a sum over a resin's variants is a run.
        ordered = tuple(sorted(table.variants, key=lambda v: symbols.index(v.resin)))
        self.table = replace(table, variants=ordered, digest=f"{table.digest} by resin")
        self.candidates = (*symbols, NONE_OF_THESE)
        self._starts = np.append(np.searchsorted(owners, np.arange(len(symbols))), len(owners))
        self._weights = np.array([*(variant.weight for variant in self.table.variants), 1.0])
        owner = np.repeat(np.arange(len(self.candidates)), np.diff(np.append(self._starts, self._weights.size)))
        self.gathering = np.zeros((self._weights.size, len(self.candidates)))
        self.gathering[np.arange(self._weights.size), owner] = self._weights
        self._latents: dict[str, Latent] = {}
        self._unstated: dict[str, tuple[str, ...]] = {}
        self._sources: dict[tuple[str, int], frozenset[str]] = {}

    def latent(self, name: str) -> Latent:
        """Return the latent of a property or aspect, its rows in table order.

        Raises
        ------
        UnknownNameError
            The table holds nothing by that name.
        """
        found = self._latents.get(name)
        if found is None:
            if name in AXES:
                found = scalar_latent(self.table, name)
            elif name in ASPECTS:
                found = aspect_latent(self.table, name)
            else:
                raise UnknownNameError(f"nothing is known of {name!r}; known: {', '.join((*AXES, *ASPECTS))}")
            self._latents[name] = found
        return found

    def unstated(self, name: str) -> tuple[str, ...]:
        """Return the resins of which the table says nothing about a property or aspect."""
        found = self._unstated.get(name)
        if found is None:
            stated = {
                variant.resin for variant, has in zip(self.table.variants, self.latent(name).stated, strict=True) if has
            }
            found = tuple(symbol for symbol in self.table.symbols if symbol not in stated)
            self._unstated[name] = found
        return found

    def sources(self, name: str, resin: int) -> frozenset[str]:
        """Return the sources behind a resin's scores in a property or aspect."""
        key = (name, resin)
        found = self._sources.get(key)
        if found is None:
            symbol = self.table.symbols[resin] if resin < len(self.table.symbols) else ""
            rows = zip(self.table.variants, self.latent(name).sources, strict=True)
            found = frozenset().union(*(sources for variant, sources in rows if variant.resin == symbol))
            self._sources[key] = found
        return found

    def variants_of(self, resin: int, evidence: Evidence) -> tuple[tuple[str, float], ...]:
        """Return the variants of a resin with their shares, most probable first."""
        if resin == len(self.candidates) - 1:
            return ()
        rows = slice(self._starts[resin], self._starts[resin + 1])
        parts = evidence.variants[rows]
        shares = zip(self.table.variants[rows], (parts / parts.sum()).tolist(), strict=True)
        return tuple(sorted(((v.name, share) for v, share in shares), key=lambda pair: -pair[1]))

    def evidence(self, terms: Sequence[Term]) -> Evidence:
        """Return the evidence of some observations for every resin."""
        by_latent: dict[str, list[int]] = {}
        for index, term in enumerate(terms):
            by_latent.setdefault(term.observes, []).append(index)
        count = len(terms)
        # Row 0: all observations. Then, for each observation: all but it; all, with it botched.
        rows = np.empty((1 + 2 * count, self._weights.size))
        rows[0] = self._weights
        offset = 0.0
        for name, members in by_latent.items():
            chosen = [terms[index] for index in members]
            found = integrate(chosen, self.resolving(name, chosen))
            rows[0] *= found.whole
            offset += found.offset
            for place, index in enumerate(members):
                rows[1 + index] = found.without[place]
                rows[1 + count + index] = found.botched[place]
        rows[1:] *= rows[0]
        sums = np.maximum(np.add.reduceat(rows, self._starts, axis=1), TINY)
        logs = np.log(sums[: 1 + count]) + offset
        return Evidence(
            log=logs[0],
            without=logs[1:],
            mishap=np.minimum(sums[1 + count :] / sums[0], 1.0),
            variants=rows[0, :-1],
        )

    def resolving(self, name: str, terms: list[Term]) -> Latent:
        """Return the standing latent, or a refined one where a term is too sharp for it."""
        axis = AXES.get(name)
        if axis is None:
            return self.latent(name)
        features = [term.feature for term in terms if term.feature is not None]
        sharp = [found for feature in features if (found := axis.too_sharp(*feature)) is not None]
        return refined(self.table, name, sharp) if sharp else self.latent(name)
