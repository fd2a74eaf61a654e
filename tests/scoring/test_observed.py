"""What a method brings along in a folder of its own, and what properties have in common."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from readers import OWN_TABLE

from resinid import Axis, CategoricalProperty, ContinuousProperty, Dependence, Quantity, SpreadRule, load_reference
from resinid.scoring.dependence import dependent

if TYPE_CHECKING:
    from pathlib import Path

GLOSS = Quantity("gloss", "", 0.01, 100.0, "5", "An invented property.")
AXIS = Axis(math.log(0.01), math.log(100.0), 0.0, 50.0, 50.0, 0.02, logarithmic=True)
RULE = SpreadRule(logarithmic=True, scatter=0.2, floor=0.1, widening=0.0, unlisted=0.5, any_plastic=(0.0, 1.0))
PROPERTIES = """\
resin,variant,property,low,typical,high,unit,condition,specimen,source,locator,obtained,note
PP,natural,gloss,,5,,,,,bench,,handbook,
"""


def test_numbers_in_a_folder_of_its_own(tmp_path: Path) -> None:
    """One printed value of a property that the table lacks: pieces scatter about it as the rule says."""
    own, table_folder = tmp_path / "own", tmp_path / "table"
    for folder, texts in ((own, {"properties": PROPERTIES}), (table_folder, OWN_TABLE)):
        folder.mkdir()
        for name, text in texts.items():
            (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    reference = load_reference(table_folder)
    latent = ContinuousProperty(GLOSS, AXIS, RULE, folder=own).latent(reference)
    assert dict(zip((v.resin for v in reference.variants), latent.stated, strict=True)) == {"PP": True, "PS": False}
    logs = np.log(latent.values)
    row = latent.mass[latent.stated.index(True)]
    mean = float(row @ logs)
    assert mean == pytest.approx(math.log(5.0), abs=1e-6)
    assert math.sqrt(row @ (logs - mean) ** 2) == pytest.approx(0.2, rel=1e-6)
    assert ContinuousProperty(GLOSS, AXIS, RULE).latent(reference).stated == (False, False), (
        "without the folder nothing is known"
    )


@pytest.mark.parametrize(("one", "other"), [(0.3, 0.6), (0.6, 0.3), (0.0, 0.6)])
def test_the_larger_of_two_stated_shares_counts(one: float, other: float) -> None:
    """Where both properties state what they have in common, in whichever order, the larger share holds."""
    first = CategoricalProperty("first", ("yes", "no"), depends=(Dependence("second", one, "invented"),))
    second = CategoricalProperty("second", ("yes", "no"), depends=(Dependence("first", other, "invented"),))
    assert dependent(first, second) == dependent(second, first) == 0.6
