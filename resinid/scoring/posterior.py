"""Bayes' rule for probabilities and log evidence."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from resinid.arrays import Array

__all__ = ["posterior"]


def posterior(prior: Array, log_evidence: Array) -> Array:
    """Return posterior probabilities, along the last axis.

    Examples
    --------
    >>> posterior(np.array([0.5, 0.5]), np.log([3.0, 1.0])).tolist()
    [0.75, 0.25]
    """
    shifted = np.exp(log_evidence - log_evidence.max(axis=-1, keepdims=True)) * prior
    out: Array = shifted / shifted.sum(axis=-1, keepdims=True)
    return out
