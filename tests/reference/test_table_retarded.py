"""Flame-retarded variants weigh what makers print of grades not in the table, and are as common as published.

Sources: Covestro, Bayblend FR 3030 (1.18 g/cm3) and FR1514 (1.19), data sheets as copied by lookpolymers.com and
salesplastics.com; SABIC, Lexan 943X PC copolymer (1.19), as copied by lookpolymers.com. IOM3, 19 November 2020: of
2.6 million tonnes of plastics in electrical scrap a year in Europe about 9 % hold brominated retardants;
Beccagutti and others 2016, Sustainability 8:1107, introduction: 30 % hold any; Pardos 2005: 44.94 million tonnes of
plastics a year in Europe.
"""

from __future__ import annotations

import math
from typing import Final

import pytest

from resinid.reference.mixture import mixture
from resinid.reference.rules import RULES
from resinid.reference.table import default_reference
from resinid.scoring.prior import prior_of

TABLE: Final = default_reference()
ELECTRICAL, ALL_PLASTICS = 2.6, 44.94
"""[million tonnes a year] Plastics in electrical scrap, and all, in Europe."""


@pytest.mark.parametrize(("resin", "density"), [("PC+ABS", 1.18), ("PC+ABS", 1.19), ("PC", 1.19)])
def test_grades_that_are_not_in_the_table_fit(resin: str, density: float) -> None:
    """Each lies in the central 90 % of its variant."""
    variant = next(v for v in TABLE.variants if v.resin == resin and v.flame_retarded)
    at = RULES["density"].coordinate(density)
    below = sum(
        n.weight * 0.5 * math.erfc((n.mean - at) / n.sd / math.sqrt(2))
        for n in mixture(TABLE, variant, "density").normals
    )
    assert 0.05 < below < 0.95


def test_scrap_holds_as_much_retardant_as_published() -> None:
    """More than what is brominated in electrical scrap, less than all that is retarded there."""
    prior = dict(zip(TABLE.symbols, prior_of(TABLE, "default").tolist(), strict=False))
    share = sum(prior[v.resin] * v.weight for v in TABLE.variants if v.flame_retarded)
    assert 0.09 * ELECTRICAL / ALL_PLASTICS < share < 0.30 * ELECTRICAL / ALL_PLASTICS
