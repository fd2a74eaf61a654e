"""How often a bench test is botched, by how many things a person must get right for it."""

from __future__ import annotations

from typing import Final

__all__ = ["SLIP", "outlier_chance"]

SLIP: Final = 0.03
"""Chance that a simple but nontrivial action goes wrong unnoticed: studies find 1 to 5 % (R. Panko,
panko.com/HumanErr, table of simple but nontrivial actions, read as an excerpt); this is the middle."""


def outlier_chance(actions: int) -> float:
    """Return the chance that what a test says has nothing to do with the piece.

    Parameters
    ----------
    actions : int
        How many actions, one or more, can each spoil it unnoticed: choose and prepare the piece (a hollow, a
        label, a second layer, a rib), do the test (trapped air, the wrong jug, a moved scale), read
        and note it. How many a test has is common practice, no source.

    Notes
    -----
    ``1 - (1 - SLIP)**actions``, each action by itself. On the 105 published pieces of
    tests/trust/measured_pieces.csv, measured by laboratories and not at a bench, two to four
    actions cost 0.013 nat, with a standard error of 0.006, against chances of 3 to 5 %. Where one
    test was botched for certain they take the expected calibration error from 0.09 to 0.07
    (tests/trust/test_misspecified.py).

    Examples
    --------
    >>> [round(outlier_chance(actions), 3) for actions in (1, 2, 3)]
    [0.03, 0.059, 0.087]
    """
    return 1.0 - (1.0 - SLIP) ** actions
