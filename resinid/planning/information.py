"""Expected information of a test about a question, in bits.

The mutual information of answer and outcome,

    I = sum_o sum_a p(a, o) log2 [p(a, o) / (p(a) p(o))],

is never negative: it is a relative entropy of the joint distribution from the
product of its margins (Cover & Thomas, Elements of Information Theory, 2nd ed.,
section 2.3), and both margins are summed from the joint itself.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from resinid.arrays import Array

__all__ = ["entropy", "information"]


def entropy(probability: Array) -> Array:
    """Return the entropy of distributions along the last axis [bit].

    Examples
    --------
    >>> float(entropy(np.array([0.5, 0.25, 0.25])))
    1.5
    """
    kept = np.where(probability > 0, probability, 1.0)
    out: Array = -(kept * np.log2(kept)).sum(axis=-1)
    return out


def information(joint: Array) -> Array:
    """Return the mutual information of joint distributions [bit].

    Parameters
    ----------
    joint : numpy.ndarray
        Probability of outcome and answer together, shape (..., outcomes, answers);
        need not add up to one.

    Examples
    --------
    >>> float(information(np.array([[0.5, 0.0], [0.0, 0.5]])))
    1.0
    """
    joint = joint / joint.sum(axis=(-2, -1), keepdims=True)
    outcome, answer = joint.sum(axis=-1, keepdims=True), joint.sum(axis=-2, keepdims=True)
    ratio = np.where(joint > 0, joint / np.maximum(outcome * answer, np.finfo(np.float64).tiny), 1.0)
    bits: Array = (joint * np.log2(ratio)).sum(axis=(-2, -1))
    return bits
