"""Integrals over one latent property of the product of all its terms.

Terms that share an error are multiplied before it is integrated out. A mishap may
stay with piece and bath (a hollow chip floats every time), so among terms that
share an error a part of the stated chance of a mishap is common to them all: with
stated chance ``e``, common part ``c`` and remaining part ``r = (e - c)/(1 - c)``,

    L = (1 - c) integral phi(z) prod_i [(1 - r_i) good_i(x, z) + r_i bad_i] dz
        + c prod_i bad_i,

which for a single term is ``(1 - e) good + e bad`` again. Repeating a test thus
never makes a mishap incredible.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.scoring.latents import Latent
    from resinid.scoring.term import Term

    Array = NDArray[np.float64]

__all__ = ["COMMON", "TINY", "Integrals", "integrate", "log_product"]

COMMON: Final = 0.25
"""Share of mishaps that recur whenever the test is repeated with the same piece and
bath, instrument or hand (common practice, no source)."""

REACH: Final = 6.0
"""A shared error is integrated over this many standard deviations to either side."""

COARSEST: Final = 0.25
FINEST: Final = 0.02
"""Largest and smallest step of that integral [standard deviations]."""

BLOCK: Final = 2048
"""Nodes worked on at a time when an error is shared, so that memory stays bounded."""

TINY: Final = 1e-300
"""Keeps logarithms finite where a probability underflows."""

LARGEST: Final = 600.0
"""Cap on a log likelihood relative to the best value of the whole, to stay in range of ``exp``."""


@dataclass(frozen=True, slots=True)
class Integrals:
    """Integrals of products of terms for each variant, "none of these" last.

    Parameters
    ----------
    whole : numpy.ndarray
        All terms, shape (variants + 1,), divided by ``exp(offset)``.
    without, botched : sequence of numpy.ndarray
        For each term, all but it, and all with it botched, in units of ``whole``;
        each of shape (variants + 1,).
    offset : float
        Natural log of the common divisor.
    """

    whole: Array
    without: Sequence[Array]
    botched: Sequence[Array]
    offset: float


@dataclass(frozen=True, slots=True)
class _Group:
    """Logs at the nodes for terms that share an error: all, all but each, all with each botched."""

    whole: Array
    without: Array
    botched: Array


def integrate(terms: Sequence[Term], latent: Latent) -> Integrals:
    """Integrate the product of some terms over what each variant is like.

    Parameters
    ----------
    terms : sequence of Term
        At least one; all observe ``latent``.
    latent : Latent

    Returns
    -------
    Integrals
    """
    count, values = len(terms), latent.values
    if count == 1:
        # A variant's mass adds up to one, so leaving out the only term leaves one.
        whole = np.maximum(latent.mass @ _robust(terms[0], values), TINY)
        return Integrals(whole, [1.0 / whole], [terms[0].mishap * terms[0].if_mishap / whole], 0.0)
    logs = np.zeros((count + 1, values.size))
    sharing: dict[object, list[int]] = {}
    grouped: list[int] = []
    botched_logs: list[Array] = []
    for index, term in enumerate(terms):
        sharing.setdefault(index if term.shared is None else (term.shared.key,), []).append(index)
    for members in sharing.values():
        if len(members) == 1:
            log = np.log(_robust(terms[members[0]], values))
            logs[0] += log
            logs[members[0] + 1] -= log
            continue
        group = _together([terms[index] for index in members], values)
        logs[0] += group.whole
        for index, without, botched in zip(members, group.without, group.botched, strict=True):
            logs[index + 1] += without - group.whole
            grouped.append(index)
            botched_logs.append(botched - group.whole)
    logs[1:] += logs[0]
    if grouped:
        logs = np.vstack([logs, logs[0] + np.array(botched_logs)])
    offset = float(logs[0].max())
    logs -= offset
    # Leaving one observation out may lift the rest far above the whole; both stay in range.
    np.minimum(logs, LARGEST, out=logs)
    integrals = np.maximum(np.exp(logs, out=logs) @ latent.mass.T, TINY)
    ratios = integrals[1:] / integrals[0]
    botched = [ratio * (term.mishap * term.if_mishap) for term, ratio in zip(terms, ratios, strict=False)]
    for index, ratio in zip(grouped, ratios[count:], strict=True):
        botched[index] = ratio
    return Integrals(integrals[0], ratios[:count], botched, offset)


def log_product(terms: Sequence[Term], values: Array) -> Array:
    """Return the log of the product of some terms at the nodes, shared errors integrated out, shape (nodes,)."""
    sharing: dict[object, list[Term]] = {}
    for index, term in enumerate(terms):
        sharing.setdefault(index if term.shared is None else (term.shared.key,), []).append(term)
    total = np.zeros(values.size)
    for members in sharing.values():
        total += np.log(_robust(members[0], values)) if len(members) == 1 else _together(members, values).whole
    return total


def _robust(term: Term, values: Array) -> Array:
    """Return the likelihood of one term that stands alone, mishaps included."""
    return (1.0 - term.mishap) * term.likelihood(values, None) + term.mishap * term.if_mishap


def _together(terms: Sequence[Term], values: Array) -> _Group:
    """Integrate a shared error out of the product of two or more terms."""
    common = COMMON * min(term.mishap for term in terms)
    rest = [(term.mishap - common) / (1.0 - common) for term in terms]
    sharpness = min(term.shared.sharpness for term in terms if term.shared is not None)
    step = min(max(sharpness, FINEST), COARSEST)
    error = np.linspace(-REACH, REACH, 2 * math.ceil(REACH / step) + 1)[:, None]
    log_weight = -0.5 * error**2
    log_weight += math.log1p(-common) - np.log(np.exp(log_weight).sum())
    bad = np.log([term.if_mishap for term in terms])
    all_bad = math.log(common) + float(bad.sum())
    shape = (len(terms), values.size)
    whole, without, botched = np.empty(values.size), np.empty(shape), np.empty(shape)
    for first in range(0, values.size, BLOCK):
        block = slice(first, first + BLOCK)

        def log_of(index: int, block: slice = block) -> Array:
            good = terms[index].likelihood(values[block], error)
            return np.log((1.0 - rest[index]) * good + rest[index] * terms[index].if_mishap)

        product = np.tile(log_weight, (1, values[block].size))
        for index in range(len(terms)):
            product += log_of(index)
        whole[block] = np.logaddexp(_log_sum(product), all_bad)
        for index in range(len(terms)):
            others = _log_sum(product - log_of(index))
            without[index, block] = np.logaddexp(others, all_bad - bad[index])
            botched[index, block] = np.logaddexp(others + math.log(rest[index]) + bad[index], all_bad)
    return _Group(whole, without, botched)


def _log_sum(logs: Array) -> Array:
    top = logs.max(axis=0)
    total: Array = top + np.log(np.exp(logs - top).sum(axis=0))
    return total
