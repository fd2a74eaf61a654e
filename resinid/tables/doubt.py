"""Which pieces of a table may have two readings of one property that contradict each other.

:func:`resinid.scoring.contradiction.contradicting` says so exactly, one piece at a time. Here most
pieces are passed over quickly: those whose readings lie close to each other. What is left, a few
in a hundred where readings are ordinary, is asked exactly.
"""

from __future__ import annotations

from itertools import combinations
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.scoring.contradiction import contradicting
from resinid.tables.distinct import distinct

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.scoring.engine import Model
    from resinid.scoring.term import Term
    from resinid.tables.grouping import Columns, ReadingColumn, WordColumn

    Codes = NDArray[np.int64]
    Mask = NDArray[np.bool_]

__all__ = ["in_doubt"]

APART: Final = (2.0, 1.0)
"""Combined standard deviations by which two readings may differ and be passed over, of two tests
and of more. Odds of 20 to 1 for an outlier, of which at most one test in two is one, need 3 or more."""

UNLIKELY: Final = (0.05, 0.4)
"""Likelihood, relative to its largest, that one outcome may have near a reading and be passed over,
of two tests and of more. Such odds need one of 0.02 or less."""

NEAR: Final = np.array([[-2.0], [2.0]])
"""Standard deviations from a reading between which an outcome's likelihood is looked up."""


SIDE: Final = 5.0
"""Widths beside its feature at which a likelihood that tells a value, and not a bound, is small."""


def in_doubt(model: Model, prior: Array, columns: Columns, asked: Mask) -> Mask:
    """Return which of the pieces asked about may have readings that contradict each other, shape (pieces,)."""
    out = np.zeros(asked.shape, dtype=bool)
    for name in columns.names():
        own = columns.observing(name)
        tests = np.array([done for _, done in own.done()], dtype=np.int64).sum(axis=0)
        rows = np.flatnonzero(asked & ~out & (tests > 1))
        if rows.size:
            sharp = [_normal(column, rows) for column in own.readings]
            sharp += [column.of(rows).features() for column in own.arrays]
            values = model.latent(name).values
            words = [word.of(rows) for word in own.words]
            out[rows] = _of_one_property(model, prior, words, sharp, values, many=tests[rows] > 2)
    return out


def _of_one_property(
    model: Model,
    prior: Array,
    words: Sequence[WordColumn],
    sharp: list[tuple[Array, Array]],
    values: Array,
    *,
    many: Mask,
) -> Mask:
    """Return which of some pieces, of some of which more than two tests were done, may be in doubt."""
    apart, unlikely = (np.array(pair)[many.astype(np.int64)] for pair in (APART, UNLIKELY))
    plain = values[np.isfinite(values)]
    blunt: list[tuple[Codes, tuple[Term, ...]]] = []
    for column in words:
        codes = column.codes
        features = np.array([*(_value(term) for term in column.terms), (np.nan, np.nan)])
        centre, sd = features[codes].T
        sharp.append((centre, sd))
        blunt.append((np.where(np.isnan(centre), codes, -1), column.terms))
    out = _words(model, prior, blunt, many.size)
    for (one, u_one), (other, u_other) in combinations(sharp, 2):
        # A missing reading is not a number, and is apart from nothing.
        out |= np.abs(one - other) > apart * np.hypot(u_one, u_other)
    for codes, terms in blunt:
        for code in np.unique(codes[codes >= 0]).tolist():
            term = terms[code]
            likelihoods = term.likelihood(plain, None)
            largest, at = float(likelihoods.max()), plain[likelihoods.argmax()]
            some = np.flatnonzero((codes == code) & ~out)
            for centre, sd in sharp:
                has = some[~np.isnan(centre[some])]
                if has.size:
                    # An outcome is likeliest at one place, so near a reading where that is nearest to it.
                    near = np.clip(np.clip(at, *(centre[has] + NEAR * sd[has])), plain[0], plain[-1])
                    # Likelihoods take ascending values.
                    order = np.argsort(near)
                    likely = np.empty(near.size)
                    likely[order] = term.likelihood(near[order], None)
                    out[has] |= likely < unlikely[has] * largest
    return out


def _words(model: Model, prior: Array, blunt: Sequence[tuple[Codes, tuple[Term, ...]]], count: int) -> Mask:
    """Return which pieces have outcomes in words that contradict each other, each combination asked once."""
    out = np.zeros(count, dtype=bool)
    key, span = np.zeros(count, dtype=np.int64), 1
    for codes, terms in blunt:
        present, key = distinct(key * (len(terms) + 1) + (codes + 1), span * (len(terms) + 1))
        span = present.size
    for number in range(span):
        rows = np.flatnonzero(key == number)
        if rows.size:
            done = [terms[code] for codes, terms in blunt if (code := int(codes[rows[0]])) >= 0]
            out[rows] = len(done) > 1 and bool(contradicting(model, done, prior))
    return out


def _normal(column: ReadingColumn, rows: Codes) -> tuple[Array, Array]:
    """Return readings and their standard deviations in the property's own unit, NaN where there is none."""
    centre, sd = column.normals.centre[rows], column.normals.sd[rows]
    if column.normals.logarithmic:
        centre = np.exp(centre)
        sd = sd * centre
    return centre, sd


def _value(term: Term) -> tuple[float, float]:
    """Return the value that a term tells and its standard deviation; not numbers where it tells a bound or a word."""
    if term.feature is not None:
        centre, sd = term.feature
        below, at, above = term.likelihood(np.array([centre - SIDE * sd, centre, centre + SIDE * sd]), None)
        if max(below, above) < UNLIKELY[0] * at:
            return centre, sd
    return np.nan, np.nan
