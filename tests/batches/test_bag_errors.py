"""How often a bag gets leave that should, and how often one that should not: both errors, printed."""

from __future__ import annotations

from collections import defaultdict
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pytest
from simulated_bags import KINDS, bag_of

from resinid import default_reference
from resinid.batches.compatibility import judge
from resinid.batches.mix import mix_of
from resinid.batches.mix_part import mix_part

if TYPE_CHECKING:
    from resinid.reference.table import ReferenceTable

BAGS = 6


def acetal_barred() -> ReferenceTable:
    """The package's table, acetal a resin that must not be heated."""
    reference = default_reference()
    hazards = tuple(replace(h, bar="yes") if h.applies_to == "POM" else h for h in reference.hazards)
    return replace(reference, hazards=hazards, digest=f"{reference.digest} acetal barred")


@pytest.mark.slow
def test_both_errors(capsys: pytest.CaptureFixture[str]) -> None:
    reference = acetal_barred()
    shares: dict[bool, list[float]] = defaultdict(list)
    said = []
    for number, kind in enumerate(KINDS):
        rng = np.random.default_rng((18, number))
        left = [
            judge(mix_of([mix_part(bag_of(kind, rng), reference)], [1.0], reference), explain=False).allowed
            for _ in range(BAGS)
        ]
        share = float(np.mean(left))
        shares[bool(kind.contaminant)].append(share)
        said.append(
            f"{share:5.0%}  {kind.what}, {kind.items} measured{f', one of {kind.contaminant}' * bool(kind.contaminant)}"
        )
    with capsys.disabled():
        print("\nleave to heat, share of bags\n" + "\n".join(said))
        for strange, each in shares.items():
            what = "with a contaminant" if strange else "of ordinary bags"
            print(f"mean over {len(each)} kinds {what}: {np.mean(each):.1%}")
    # Much of what is left is contaminants that show nothing in the tests done, such as foamed PVC that floats.
    assert np.mean(shares[False]) > 0.6
    assert np.mean(shares[True]) < 0.35
