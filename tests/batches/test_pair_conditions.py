"""What shares of two resins and a compatibiliser change, as published, and what they never change.

Polycarbonate and PET have one glass transition above 60 to 70 % of PET and two below (J. Appl. Polym. Sci. 23 (1979),
doi:10.1002/app.1979.070230108, abstract); 5 % of a styrenic block copolymer makes PS in PP finer (e-Polymers 8, 355).
"""

from __future__ import annotations

import numpy as np
import pytest
from known_bags import pieces_of

from resinid import Batch, InputError, default_reference, melt_plan, melt_together
from resinid.batches.mix_outcome import mixed
from resinid.batches.mixing_rules import mixing_rules
from resinid.batches.pair_conditions import conditions, parse_compatibiliser, with_compatibiliser

TABLE = default_reference()
RULES = mixing_rules(TABLE)
TUBS = Batch.of("tubs", marked={"PP": 60}, pieces=pieces_of("PP"), allow=["copper wire"])
POTS = Batch.of("pots", marked={"PS": 60}, pieces=pieces_of("PS"), allow=["copper wire"])


def one_melt(first: str, second: str, share: float) -> float:
    """Chance of one melt for a mix of nothing else, so large a share of the first."""
    shares = np.zeros((1, RULES.barred.size))
    shares[0, [RULES.index(first), RULES.index(second)]] = share, 1.0 - share
    return float(mixed(shares[None], RULES).one.prod())


def test_polycarbonate_mixes_with_much_pet_only() -> None:
    assert one_melt("PET", "PC", 0.7) > 0.5 > one_melt("PET", "PC", 0.5)
    assert one_melt("PET", "PC", 0.3) < 0.5
    assert one_melt("PP", "PE-LLD", 0.15) > 0.5 > one_melt("PP", "PE-LLD", 0.5)


def test_every_row_is_of_the_table_and_has_a_source() -> None:
    for row in conditions():
        assert {row.first, row.second} <= {*TABLE.symbols}
        assert row.source
        assert 0.0 <= row.least < row.most <= 100.0


def test_a_compatibiliser_makes_usable_what_it_is_published_to_join() -> None:
    without, joined = melt_together(TUBS, POTS), melt_together(TUBS, POTS, compatibiliser="5 % SEBS")
    assert (without.outcome, joined.outcome) == ("will delaminate", "usable with limits")
    assert any("5 % of SEBS" in said for said in without.remedies)
    assert melt_together(TUBS, POTS, compatibiliser="1 % SEBS").outcome == "will delaminate"
    assert melt_together(TUBS, POTS, compatibiliser="5 % SMA").outcome == "will delaminate"
    for uncounted in ("1 % SEBS", "5 % SMA"):
        assert any("not counted" in said for said in melt_together(TUBS, POTS, compatibiliser=uncounted).remedies)
    assert not any("not counted" in said for said in joined.remedies)
    assert melt_plan(TUBS, POTS).steps is None
    assert melt_plan(TUBS, POTS, compatibiliser="5 % SEBS").steps is not None


@pytest.mark.parametrize("agent", sorted({row.agent for row in conditions() if row.agent}))
def test_no_compatibiliser_lowers_a_danger(agent: str) -> None:
    """Dangers and clashes are those of the rules without it."""
    rules = with_compatibiliser(RULES, parse_compatibiliser(f"5 % {agent}"))
    assert np.array_equal(rules.clashes, RULES.clashes)
    assert np.array_equal(rules.barred_kinds, RULES.barred_kinds)
    vinyl = Batch.of("pipe", marked={"PVC-U": 60})
    assert melt_together(TUBS, vinyl, compatibiliser=f"5 % {agent}").danger == melt_together(TUBS, vinyl).danger


@pytest.mark.parametrize("wrong", ["SEBS", "0 % SEBS", "40 % SEBS", "5 % glue", "", 5, ["5 % SEBS"]])
def test_what_is_no_compatibiliser_is_told(wrong: object) -> None:
    with pytest.raises(InputError, match="compatibiliser"):
        parse_compatibiliser(wrong)


def test_a_mixed_bag_flows_by_its_composition() -> None:
    """Of two polyethylenes in one bag the rate lies between theirs, as that of the two in a bag each."""
    mixed_bag = Batch.of("both", marked={"PE-HD": 100, "PE-LD": 100}, process="injection moulding")
    one, other = (Batch.of(n, marked={n: 100}, process="injection moulding") for n in ("PE-HD", "PE-LD"))
    rates = [flow.median for b in (one, other) if (flow := melt_together(b, b).flow) is not None]
    found = melt_together(mixed_bag, mixed_bag).flow
    assert found is not None
    assert min(rates) < found.median < max(rates)
    assert found.median == pytest.approx(np.sqrt(np.prod(rates)), rel=0.1)
