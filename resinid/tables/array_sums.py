"""Evidence from one property for pieces with one reading whose likelihood is of any shape, many at a time.

For the pieces of a block the likelihoods are one array over the nodes near their readings; what is further off
counts as a botched reading does. With ``good(x, z)`` the likelihood of a reading at a value and a shared error,
``b`` that of a botched one and ``r`` its chance besides common causes, the sums of
:mod:`resinid.scoring.shared_error` are, over causes of chance ``c`` that botch some terms each,

    sum_c c sum_z w(z) prod_others(x, z) [(1 - r)/b good(x, z) + r],    or with 1 for [...] where botched,

Let ``V(x, z)`` be the sum of all factors but the bracket over the causes that leave this reading unbotched, and
``C(x)`` all that does not contain ``good``. The whole is ``(1 - r)/b sum_z V(x, z) good(x, z) + C(x)``, of which only
the first part is to be done piece by piece.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.scoring.integrals import log_product
from resinid.scoring.shared_error import causes, errors_of, half_of, rest_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.scoring.latents import Latent
    from resinid.scoring.term import Term
    from resinid.tables.array_columns import ArrayColumn

    Codes = NDArray[np.int64]

__all__ = ["array_evidence"]

ELEMENTS: Final = 65_536
"""Most numbers in one array of likelihoods: half a megabyte, which stays near the processor."""

MOST: Final = 128
"""Most pieces in a block."""

NEGLECTED: Final = 1e-13
"""Least likelihood that counts, in units of what a botched reading adds; of that at least a hundredth is left where
causes are common to several."""

COARSE: Final = 4
"""Every so manieth node is looked at to see where likelihoods matter: the nodes between lie within three widths."""


def array_evidence(latent: Latent, fold: Array, column: ArrayColumn, rows: Codes, words: Sequence[Term]) -> Array:
    """Return the evidence of pieces of one group with the same tests in words, each up to a factor of its own.

    Parameters
    ----------
    latent : Latent
    fold : numpy.ndarray
        As for :func:`resinid.tables.apart.evidence_apart`.
    column : ArrayColumn
    rows : numpy.ndarray
        The pieces.
    words : sequence of Term
        What else was observed of the property.

    Returns
    -------
    numpy.ndarray
        Shape (rows, columns).
    """
    every = column.terms(rows)
    assert every.feature is not None, "a test that takes columns says where its likelihood is sharpest"  # noqa: S101 - so its contract says
    order = np.argsort(np.ravel(every.feature[0]), kind="stable")
    shared = every.shared
    with_it = [term for term in words if shared and term.shared and term.shared.key == shared.key]
    alone = [term for term in words if not any(term is each for each in with_it)]
    log = log_product(alone, latent.values)
    mass = np.exp(log - log.max())[:, None] * (latent.mass.T @ fold)
    out = np.empty((rows.size, mass.shape[1]))
    if not with_it:
        ones = np.ones((1, latent.values.size))
        plain = _Around(None, ones, ones[0], (1.0 - every.outlier) / every.outlier)
        out[order] = _summed(latent.values, mass, column, plain, rows[order])
        return out
    sharpness = [np.ravel(term.shared.sharpness) for term in (every, *with_it) if term.shared is not None]
    half = np.broadcast_to(half_of(np.minimum.reduce(np.broadcast_arrays(*sharpness)), len(sharpness)), rows.shape)
    for count in np.unique(half).tolist():
        some = order[half[order] == count]
        around = _around(every.outlier, with_it, latent.values, *errors_of(int(count)))
        out[some] = _summed(latent.values, mass, column, around, rows[some])
    return out


@dataclass(frozen=True, slots=True)
class _Around:
    """Of the module's formula the errors, ``V``, ``C`` and ``1 - r``; that over ``r`` where no error is shared."""

    error: Array | None
    varied: Array
    constant: Array
    chance: float


def _around(outlier: float, words: Sequence[Term], values: Array, error: Array, weight: Array) -> _Around:
    outliers = [outlier, *(term.outlier for term in words)]
    own, *rest = rest_of(outliers).tolist()
    each = [
        (1.0 - r) / term.outlier_likelihood * term.likelihood(values, error) + r
        for r, term in zip(rest, words, strict=True)
    ]
    varied, constant = np.zeros((error.size, values.size)), np.zeros(values.size)
    for chance, botched in causes(outliers):
        product = np.broadcast_to(chance * weight, varied.shape)
        for place, factor in enumerate(each, start=1):
            if place not in botched:
                product = product * factor
        if 0 in botched:
            constant += product.sum(axis=0)
        else:
            varied += product
    return _Around(error, varied, constant + own * varied.sum(axis=0), 1.0 - own)


def _summed(values: Array, mass: Array, column: ArrayColumn, around: _Around, rows: Codes) -> Array:
    """Return the evidence of pieces in the order of their readings."""
    out = np.empty((rows.size, mass.shape[1]))
    total = around.constant @ mass
    begin, width = 0, values.size
    coarse = np.unique(np.append(np.arange(0, values.size, COARSE), values.size - 1))
    while begin < rows.size:
        size = max(1, min(MOST, ELEMENTS // max(len(around.varied) * width, coarse.size)))
        some = rows[begin : begin + size]
        term = column.terms(some)
        scale: Array = around.chance / (term.outlier_likelihood * np.ones((some.size, 1, 1)))
        near = np.flatnonzero((scale * term.likelihood(values[coarse], None) > NEGLECTED).any(axis=(0, 1)))
        first, last = 0, 0
        if near.size:
            first, last = int(coarse[max(near[0] - 1, 0)]), int(coarse[min(near[-1] + 1, coarse.size - 1)]) + 1
        good = scale * term.likelihood(values[first:last], around.error)
        if around.error is not None:
            good *= around.varied[:, first:last]
        out[begin : begin + size] = good.sum(axis=1) @ mass[first:last] + total
        begin += some.size
        width = max(last - first, 1)
    return out
