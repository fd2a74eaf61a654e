"""Two readings of one property that contradict each other.

If a piece weighed 0.905 g/cm3 and then 1.40, one of the readings is wrong, and nothing
that was observed of other properties says safely which. Such readings are told by what
was observed of that property alone: the odds that at least one of them is an outlier are
above :data:`ODDS`. A further reading that agrees with one of them settles it, for then the
odds that the other is right are small.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.scoring.posterior import posterior

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.arrays import Array
    from resinid.scoring.engine import Evidence, Model
    from resinid.scoring.properties import Observable
    from resinid.scoring.term import Term

__all__ = ["ODDS", "contradicting", "trusting"]

ODDS: Final = 20.0
"""Odds from which on one of some readings is taken for an outlier, and below whose inverse a
reading is given up (this project's cautious choice)."""

SOUND: Final = 0.5
"""Expected number of outliers among the readings of a property, by all that was observed, below which they
do not contradict each other: if they did, one of them would be an outlier whatever the piece is, and the
number close to one (half of that leaves room)."""

NO_OUTLIER: Final = 1e-12
"""Chance of an outlier that counts as none."""


def contradicting(
    model: Model, terms: Sequence[Term], prior: Array, evidence: Evidence | None = None
) -> tuple[int, ...]:
    """Return the readings that contradict another of the same property and may yet be right.

    Parameters
    ----------
    model : Model
    terms : sequence of Term
    prior : numpy.ndarray
        Shape (resins + 1,).
    evidence : Evidence, optional
        Of all these terms, where it is known: properties of which it says that their readings are
        sound are then passed over.

    Returns
    -------
    tuple of int
        Places in ``terms``, ascending; empty where no property's readings contradict each other.
    """
    by_property: dict[Observable, list[int]] = {}
    for index, term in enumerate(terms):
        by_property.setdefault(term.observes, []).append(index)
    out: list[int] = []
    outlier = None if evidence is None else evidence.outlier @ posterior(prior, evidence.log)
    for members in by_property.values():
        if len(members) > 1 and (outlier is None or not float(outlier[members].sum()) < SOUND):
            own = [terms[index] for index in members]
            out += [members[place] for place in _in_doubt(model, own, prior)]
    return tuple(sorted(out))


def _in_doubt(model: Model, terms: list[Term], prior: Array) -> list[int]:
    """Return which readings of one property may be right though they contradict others."""
    evidence = model.evidence(terms)
    share = posterior(prior, evidence.log)
    outlier = evidence.outlier @ share
    # The chance that there is an outlier is at most the expected number of them.
    if not outlier.sum() * (ODDS + 1) > ODDS:
        return []
    sound = model.evidence([replace(term, outlier=NO_OUTLIER) for term in terms])
    log_none = float(np.log1p([-term.outlier for term in terms]).sum())
    log_sound, log_all = (float(np.logaddexp.reduce(np.log(prior) + each.log)) for each in (sound, evidence))
    none = np.exp(min(log_none + log_sound - log_all, 0.0))
    if not (1.0 - none) > ODDS * none:
        return []
    return np.flatnonzero(outlier < ODDS * (1.0 - outlier)).tolist()


def trusting(log_evidence: Array, outlier: Array) -> Array:
    """Return the log evidence given that one reading is no outlier.

    Parameters
    ----------
    log_evidence : numpy.ndarray
        Natural log of the evidence by all readings, shape (resins + 1,).
    outlier : numpy.ndarray
        Chance that the reading is an outlier, given each resin, shape (resins + 1,).
    """
    out: Array = log_evidence + np.log(np.maximum(1.0 - outlier, 1e-300))
    return out
