"""Integrals over one latent property of the product of all its terms.

Terms that share an error are multiplied before it is integrated out. An outlier may
stay with piece and bath (a hollow chip floats every time), so among terms that
share an error a part of the stated chance of an outlier is common to them all: with
stated chance ``e``, common part ``c`` and remaining part ``r = (e - c)/(1 - c)``,

    L = (1 - c) integral phi(z) prod_i [(1 - r_i) good_i(x, z) + r_i bad_i] dz
        + c prod_i bad_i,

which for a single term is ``(1 - e) good + e bad`` again. Where the stated chances differ,
the common parts are nested (:func:`_levels`): what botches the surer test botches the
other. Repeating a test thus never makes an outlier incredible.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.scoring.latents import Latent
    from resinid.scoring.term import Term

__all__ = ["COMMON", "TINY", "Integrals", "integrate", "log_product"]

COMMON: Final = 0.25
"""Share of outliers that recur whenever the test is repeated with the same piece and
bath, instrument or hand (common practice, no source)."""

REACH: Final = 6.0
"""A shared error is integrated over this many standard deviations to either side."""

COARSEST: Final = 0.25
FINEST: Final = 0.02
"""Largest and smallest step of that integral [standard deviations]."""

PROBED: Final = 8
"""At every eighth step of that integral it is seen which nodes the error matters to. A step is no wider than a
likelihood's own width, so a bell between two of these still has a third of a thousandth of its height at one."""

MATTERS: Final = 1e-16
"""Least change of a likelihood, relative to that of an outlier, that matters."""

BLOCK: Final = 4096
LEAST_BLOCK: Final = 32
"""Nodes worked on at a time when an error is shared, times the terms that share it, so that memory stays bounded;
and the fewest nodes worth a block."""

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
        return Integrals(whole, [1.0 / whole], [terms[0].outlier * terms[0].outlier_likelihood / whole], 0.0)
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
        together = _together([terms[index] for index in members], values)
        logs[0] += together[0]
        together[1:] -= together[0]
        logs[np.array(members) + 1] += together[1 : len(members) + 1]
        grouped += members
        botched_logs += [*together[len(members) + 1 :]]
    logs[1:] += logs[0]
    if grouped:
        logs = np.vstack([logs, logs[0] + np.array(botched_logs)])
    offset = float(logs[0].max())
    logs -= offset
    # Leaving one observation out may lift the rest far above the whole; both stay in range.
    np.minimum(logs, LARGEST, out=logs)
    integrals = np.maximum(np.exp(logs, out=logs) @ latent.mass.T, TINY)
    ratios = integrals[1:] / integrals[0]
    botched = [ratio * (term.outlier * term.outlier_likelihood) for term, ratio in zip(terms, ratios, strict=False)]
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
        alone = len(members) == 1
        total += np.log(_robust(members[0], values)) if alone else _together(members, values, apart=False)[0]
    return total


def _robust(term: Term, values: Array) -> Array:
    """Return the likelihood of one term that stands alone, outliers included."""
    return (1.0 - term.outlier) * term.likelihood(values, None) + term.outlier * term.outlier_likelihood


def _together(terms: Sequence[Term], values: Array, *, apart: bool = True) -> Array:
    """Integrate a shared error out of the product of two or more terms.

    Returns
    -------
    numpy.ndarray
        Logs at the nodes of the product of all terms; and where ``apart``, of all but each, and of all with each
        botched, shape (1, nodes) or (1 + 2 terms, nodes).
    """
    rest = np.array([(term.outlier - COMMON * term.outlier) / (1.0 - COMMON * term.outlier) for term in terms])
    *levels, (every, _) = _levels([COMMON * term.outlier for term in terms])
    # The product of n readings is about sqrt(n) times as sharp as the sharpest.
    sharpness = min(term.shared.sharpness for term in terms if term.shared is not None) / math.sqrt(len(terms))
    step = min(max(sharpness, FINEST), COARSEST)
    error = np.linspace(-REACH, REACH, 2 * math.ceil(REACH / step) + 1)[:, None]
    weight = np.exp(-0.5 * error**2)
    weight /= weight.sum()
    size = max(BLOCK // len(terms), LEAST_BLOCK)
    moved = _moved(terms, rest, values, error[::PROBED])
    # Where the error matters to no term, any value of it stands for all.
    parts = [(np.flatnonzero(~moved), np.zeros((1, 1)), np.ones((1, 1)))]
    where = np.flatnonzero(moved)
    parts += [(where[first : first + size], error, weight) for first in range(0, where.size, size)]
    bad = np.array([term.outlier_likelihood for term in terms])
    count = len(terms) if apart else 0
    out = np.empty((1 + 2 * count, values.size))
    for nodes, errors, weights in parts:
        good = np.array([term.likelihood(values[nodes], errors) for term in terms])
        each = ((1.0 - rest) / bad)[:, None, None] * good + rest[:, None, None]
        some = [_at_level(each, weights, rest, *level, count=count) for level in levels]
        out[:, nodes] = np.logaddexp.reduce([*some, np.full_like(some[0], math.log(every))])
    # Above, likelihoods are in units of those of outliers; so all are one where one cause botches every term.
    log_bad = np.log(bad)
    out += log_bad.sum()
    out[1 : 1 + count] -= log_bad[:count, None]
    return out


def _at_level(each: Array, weight: Array, rest: Array, chance: float, together: Sequence[int], *, count: int) -> Array:
    """Return what :func:`_together` does where one cause, of some chance, botches some terms, and those only.

    Only the first terms are left out and botched, as many as counted.
    """
    own, product, scale = each.copy(), weight, math.log(chance)
    own[together] = 1.0
    for factor in own:
        # Scaled each time, so that no number of terms is too many.
        product = product * factor
        top = product.max(axis=0)
        product /= top
        scale = scale + np.log(top)
    others = (product / own[:count]).sum(axis=1)
    slipping = rest.copy()
    slipping[together] = 1.0
    out: Array = scale + np.log(np.vstack([product.sum(axis=0), others, slipping[:count, None] * others]))
    return out


def _moved(terms: Sequence[Term], rest: Array, values: Array, error: Array) -> NDArray[np.bool_]:
    """Return at which nodes the likelihood of some term depends on the shared error, shape (nodes,)."""
    out = np.zeros(values.size, dtype=bool)
    for term, own in zip(terms, rest, strict=True):
        out |= np.ptp(term.likelihood(values, error), axis=0) > MATTERS * own * term.outlier_likelihood
    return out


def _levels(common: Sequence[float]) -> list[tuple[float, list[int]]]:
    """Return which terms are botched by one cause, and the chance of that.

    A cause that botches the surer of two tests botches the other as well, so the sets
    are nested, and leaving a test out leaves the chances of the others as they were.

    Examples
    --------
    >>> [(round(chance, 3), terms) for chance, terms in _levels([0.01, 0.0025])]
    [(0.99, []), (0.007, [0]), (0.003, [0, 1])]
    """
    out: list[tuple[float, list[int]]] = [(1.0 - max(common), [])]
    steps = sorted(set(common), reverse=True)
    for chance, lower in zip(steps, [*steps[1:], 0.0], strict=True):
        out.append((chance - lower, [i for i, each in enumerate(common) if each >= chance]))
    return out
