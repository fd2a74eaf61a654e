"""The scoring engine: from terms to the evidence for every resin.

For resin ``r`` with variants ``v`` of weight ``w_v``, and observations grouped by
the property they observe, the evidence is

    E_r = sum_v w_v prod_properties  integral p(x | v) prod_i L_i(x) dx,

    L_i(x) = (1 - mishap_i) likelihood_i(x) + mishap_i if_mishap_i.

Observations of one property thus share one latent value ``x``; observations that
share an error (one jug of liquid, one thermometer) are multiplied before that
error is integrated out. No observation can rule a resin out, since each may have
been botched.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import UnknownNameError
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

REACH: Final = 6.0
"""A shared error is integrated over this many standard deviations to either side."""

COARSEST: Final = 0.25
FINEST: Final = 0.02
"""Largest and smallest step of that integral [standard deviations]."""

TINY: Final = 1e-300
"""Keeps logarithms finite where a probability underflows."""

LARGEST: Final = 600.0
"""Cap on a log likelihood relative to the best value of the whole, to stay in range of ``exp``."""


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
    """

    def __init__(self, table: Table) -> None:
        symbols = table.symbols
        owners = sorted(symbols.index(variant.resin) for variant in table.variants)
        # In order of their resins, so that a sum over a resin's variants is a run.
        self.table = replace(table, variants=tuple(sorted(table.variants, key=lambda v: symbols.index(v.resin))))
        self.candidates = (*symbols, NONE_OF_THESE)
        self._starts = np.append(np.searchsorted(owners, np.arange(len(symbols))), len(owners))
        self._weights = np.array([*(variant.weight for variant in self.table.variants), 1.0])
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
        # Row 0 is the evidence of all observations, row i + 1 that of all but observation i.
        rows = np.empty((len(terms) + 1, self._weights.size))
        rows[0] = self._weights
        offset = 0.0
        for name, members in by_latent.items():
            whole, ratios, scale = self._integrals(name, [terms[index] for index in members])
            rows[0] *= whole
            offset += scale
            for index, ratio in zip(members, ratios, strict=True):
                rows[index + 1] = ratio
        rows[1:] *= rows[0]
        sums = np.maximum(np.add.reduceat(rows, self._starts, axis=1), TINY)
        logs = np.log(sums)
        botched = np.array([[term.mishap * term.if_mishap] for term in terms]).reshape(-1, 1)
        return Evidence(
            log=logs[0] + offset,
            without=logs[1:] + offset,
            mishap=np.minimum(botched * sums[1:] / sums[0], 1.0),
            variants=rows[0, :-1],
        )

    def _integrals(self, name: str, terms: list[Term]) -> tuple[Array, Array, float]:
        """Integrate over one latent: all terms, and all but each in turn.

        Returns
        -------
        numpy.ndarray
            Integral of all terms, shape (variants + 1,), divided by ``exp`` of the offset.
        numpy.ndarray
            Integral of all but one term in units of that of all, shape (terms,
            variants + 1), divided by the same.
        float
            The offset.
        """
        latent = self._resolving(name, terms)
        logs = np.zeros((len(terms) + 1, latent.values.size))
        groups: dict[object, list[int]] = {}
        for index, term in enumerate(terms):
            groups.setdefault(index if term.shared is None else (term.shared.key,), []).append(index)
        for members in groups.values():
            if len(members) == 1:
                log = np.log(_robust(terms[members[0]], latent.values, None))
                logs[0] += log
                logs[members[0] + 1] -= log
            else:
                log, without = _together([terms[index] for index in members], latent.values)
                logs[0] += log
                for index, other in zip(members, without, strict=True):
                    logs[index + 1] += other - log
        logs[1:] += logs[0]
        offset = float(logs[0].max())
        logs -= offset
        # Leaving one observation out may lift the rest far above the whole; both stay in range.
        np.minimum(logs, LARGEST, out=logs)
        integrals = np.maximum(np.exp(logs, out=logs) @ latent.mass.T, TINY)
        return integrals[0], integrals[1:] / integrals[0], offset

    def _resolving(self, name: str, terms: list[Term]) -> Latent:
        """Return the standing latent, or a refined one where a term is too sharp for it."""
        axis = AXES.get(name)
        if axis is None:
            return self.latent(name)
        sharp: list[tuple[float, float]] = []
        for term in terms:
            if term.feature is None:
                continue
            value, width = term.feature
            if axis.logarithmic:
                value, width = math.log(value), width / value
            if axis.low < value < axis.high and not axis.resolves(value, width):
                sharp.append((value, width))
        return refined(self.table, name, sharp) if sharp else self.latent(name)


def _robust(term: Term, values: Array, error: Array | None) -> Array:
    return (1.0 - term.mishap) * term.likelihood(values, error) + term.mishap * term.if_mishap


def _together(terms: list[Term], values: Array) -> tuple[Array, Array]:
    """Integrate a shared error out of the product of some terms, and of all but each."""
    sharpness = min(term.shared.sharpness for term in terms if term.shared is not None)
    step = min(max(sharpness, FINEST), COARSEST)
    count = 2 * math.ceil(REACH / step) + 1
    error = np.linspace(-REACH, REACH, count)[:, None]
    log_weight = -0.5 * error**2
    log_weight -= np.log(np.exp(log_weight).sum())
    logs = np.array([np.log(_robust(term, values, error)) for term in terms])
    whole = logs.sum(axis=0) + log_weight
    return _log_sum(whole), np.array([_log_sum(whole - log) for log in logs])


def _log_sum(logs: Array) -> Array:
    top = logs.max(axis=0)
    total: Array = top + np.log(np.exp(logs - top).sum(axis=0))
    return total
