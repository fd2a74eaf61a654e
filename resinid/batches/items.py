"""What each item of a bag shows by itself by what was measured alone, its own mark left aside."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from resinid.batches.item_evidence import log_likelihood
from resinid.heating.evidence import clearing

if TYPE_CHECKING:
    from collections.abc import Sequence

    from resinid.arrays import Array
    from resinid.batches.bag import Batch
    from resinid.methods.contract import Observation
    from resinid.scoring.engine import Model

__all__ = ["Item", "items_of"]


@dataclass(frozen=True, slots=True)
class Item:
    """A measured piece, or one of some flakes that showed the same.

    Parameters
    ----------
    what : str
        What a person calls it, such as ``"piece 3"``.
    likelihood : numpy.ndarray
        Of what was measured of it, for each resin, "none of these" last; its largest value is 1.
    """

    what: str
    likelihood: Array


def items_of(batch: Batch, model: Model) -> tuple[Item, ...]:
    """Return the measured items of a batch; a piece with nothing but a mark or an article is none."""
    tested = [
        (f"piece {index}", tests)
        for index, piece in enumerate(batch.pieces, start=1)
        if (tests := tuple(filter(clearing, piece)))
    ]
    tested += [(f"a flake that {test.outcome}", (test,)) for counted in batch.flakes for test, _ in counted.tests()]
    return tuple(Item(what, _likelihood(tests, model)) for what, tests in tested)


def _likelihood(tests: Sequence[Observation], model: Model) -> Array:
    log = log_likelihood(model, [tuple(tests)])
    out: Array = np.exp(log - log.max())
    return out
