"""What must never get leave: items that contradict a bag, their order, a caller's prior, acetal."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from resinid import Batch, batch_composition, default_reference, melt_together
from resinid.batches.mixing_rules import mixing_rules
from resinid.heating.verdict import DO_NOT_HEAT
from resinid.scoring.prior import cautious_prior, prior_of

if TYPE_CHECKING:
    from resinid.batches.compatibility import MeltCompatibility
    from resinid.reference.table import ReferenceTable

Piece = list[dict[str, Any]]

FLOATS: Final = {"test": "float", "liquid": "water", "outcome": "floats"}
SINKS: Final = {"test": "float", "liquid": "ethanol 40 %v/v", "outcome": "sinks"}
BRINE: Final = {"test": "float", "liquid": "table salt saturated", "outcome": "sinks"}
SOFTENS: Final = {"test": "softening", "temperature": "131 ± 2 degC"}
PLATE: Final = {"test": "hot_plate", "not_melted_at": "120 degC", "melted_at": "140 degC"}
COLD: Final[Piece] = [FLOATS, SINKS]
SOFT: Final[Piece] = [*COLD, SOFTENS]
DENSE: Final[Piece] = [{"test": "density", "density": "1.40 ± 0.01 g/cm3"}]


def verdict(prior: Any = "default", reference: ReferenceTable | None = None, **entries: Any) -> MeltCompatibility:  # noqa: ANN401 - as given
    bag = Batch.of("bag", **entries)
    return melt_together(bag, bag, prior=prior, reference=reference)


@pytest.mark.parametrize(
    ("entries", "named"),
    [
        *(({"marked": {"PE-HD": 400}, "pieces": [[BRINE]] * n}, "piece 1") for n in (1, 3, 10)),
        ({"marked": {"PE-HD": 60}, "pieces": [DENSE]}, "piece 1"),
        ({"marked": {"PE-HD": 60}, "pieces": [*[COLD] * 4, DENSE]}, "piece 5"),
        ({"pieces": [*[SOFT] * 100, DENSE]}, "piece 101"),
        ({"marked": {"PE-HD": 400}, "flakes": [{"liquid": "water", "floated": 199, "sank": 1}]}, "a flake that sinks"),
    ],
)
def test_an_item_that_contradicts_a_bag_stops_it_and_is_named(entries: dict[str, Any], named: str) -> None:
    found = verdict(**entries)
    assert found.verdict == DO_NOT_HEAT
    assert any(f"{named} " in why and "measure it again or take it out" in why for why in found.found)
    # The rest of the bag is not what stops it.
    rest = [p for p in entries.get("pieces", ()) if p not in ([BRINE], DENSE)]
    assert verdict(**{**entries, "pieces": rest or [COLD] * 3, "flakes": []}).allowed


def test_an_item_of_another_resin_than_the_marks_is_named() -> None:
    """It need not be hazardous: polypropylene by density and softening among marks of high-density polyethylene."""
    other = [
        {"test": "density", "density": "0.905 ± 0.003 g/cm3"},
        {"test": "softening", "temperature": "163 ± 2 degC"},
    ]
    found = verdict(marked={"PE-HD": 60}, pieces=[other] * 3)
    assert found.verdict == DO_NOT_HEAT
    assert "piece 1 (and 2 more read like it) is by itself, by what was measured alone, hardly PE-HD" in found.deciding
    assert verdict(marked={"PP": 60}, pieces=[other] * 3).allowed


@pytest.mark.parametrize(
    "entries",
    [
        {"pieces": [SOFT] * 10},
        {"pieces": [[*COLD, PLATE]] * 10},
        {"marked": {"PE-HD": 60}, "pieces": [COLD] * 10},
        {"marked": {"PS": 60}, "pieces": [[{**FLOATS, "outcome": "sinks"}, {**BRINE, "outcome": "floats"}]] * 10},
    ],
)
def test_an_ordinary_bag_is_still_cleared(entries: dict[str, Any]) -> None:
    assert verdict(**entries).allowed


@pytest.mark.slow
@pytest.mark.parametrize(("few", "many", "n"), [(SOFT, COLD, 60), (DENSE, SOFT, 12)])
def test_the_place_of_the_odd_piece_changes_nothing(few: Piece, many: Piece, n: int) -> None:
    first, last = (verdict(pieces=pieces) for pieces in ([few, *[many] * (n - 1)], [*[many] * (n - 1), few]))
    assert first.verdict == last.verdict
    assert first.danger == pytest.approx(last.danger, abs=1e-9)


@pytest.mark.slow
def test_pieces_tested_more_may_be_listed_first_or_last() -> None:
    first, last = (verdict(pieces=p) for p in ([SOFT] * 40 + [COLD] * 60, [COLD] * 60 + [SOFT] * 40))
    assert first.verdict == last.verdict
    assert first.danger == pytest.approx(last.danger, abs=1e-9)


SHOWN: Final = (
    COLD,
    SOFT,
    [FLOATS],
    [BRINE],
    DENSE,
    [{"test": "density", "density": "0.950 ± 0.003 g/cm3"}],
    [{"test": "density", "density": "0.956 ± 0.003 g/cm3"}, {"test": "mark", "reads": "2"}],
)


@pytest.mark.slow
@settings(max_examples=15, deadline=None)
@given(st.data())
def test_order_of_pieces_never_matters(data: st.DataObject) -> None:
    pieces = data.draw(st.lists(st.sampled_from(SHOWN), min_size=2, max_size=9))
    turned = data.draw(st.permutations(pieces))
    one, other = (Batch.of("bag", pieces=each) for each in (pieces, turned))
    assert one.stream == other.stream
    first, second = batch_composition(one), batch_composition(other)
    for share in first.shares:
        assert second[share.resin].mean == pytest.approx(share.mean, abs=1e-9)
    assert [s.limit for s in second.contaminants] == pytest.approx([s.limit for s in first.contaminants], abs=1e-9)
    found, again = melt_together(one, one), melt_together(other, other)
    assert again.verdict == found.verdict
    assert again.danger == pytest.approx(found.danger, abs=1e-9)


def test_the_cautious_prior_raises_each_hazard() -> None:
    reference = default_reference()
    rules = mixing_rules(reference)
    cautious = cautious_prior(reference, rules.barred)
    assert cautious.sum() == pytest.approx(1.0)
    hazardous = rules.barred > 0
    rest = ~hazardous
    for name in ("default", *dict.fromkeys(stream.name for stream in reference.streams)):
        raised = cautious[hazardous] / cautious[rest].sum() * prior_of(reference)[rest].sum()
        assert np.all(raised >= prior_of(reference, name)[hazardous] - 1e-12)
    assert cautious[rest] / cautious[rest].sum() == pytest.approx(
        prior_of(reference)[rest] / prior_of(reference)[rest].sum()
    )


@pytest.mark.slow
@pytest.mark.parametrize("prior", [{"PE-HD": 1}, {"PE-HD": 1, "none of these": 0}, "us-municipal-waste", {"PVC-U": 1}])
@pytest.mark.parametrize(
    "entries",
    [
        {"marked": {"PE-HD": 60, "PVC-U": 1}},
        {"pieces": [COLD] * 10},
        {"flakes": [{"liquid": "water", "floated": 100, "sank": 0}]},
    ],
)
def test_a_prior_never_lowers_a_hazard(prior: Any, entries: dict[str, Any]) -> None:  # noqa: ANN401 - as given
    usual, found = verdict(**entries), verdict(prior, **entries)
    assert not usual.allowed
    assert not found.allowed
    # Not to the last digit: many items are drawn at random.
    assert found.danger >= 0.99 * usual.danger
    bag = Batch.of("bag", **entries)
    limits = [batch_composition(bag, prior=each).contaminants[0].limit for each in ("default", prior)]
    assert limits[1] >= 0.99 * limits[0]


def test_a_mark_of_a_forbidden_resin_is_named_whatever_the_prior() -> None:
    pe = Batch.of("pe", marked={"PE-HD": 60})
    found = melt_together(pe, Batch.of("other", marked={"PE-HD": 60, "PVC-U": 1}), prior={"PE-HD": 1})
    assert found.verdict == DO_NOT_HEAT
    assert "a piece marked PVC-U" in found.deciding


@pytest.mark.parametrize("marked", [{"POM": 60}, {"PE-HD": 60, "POM": 1}, {"PE-HD": 400, "POM": 1}])
@pytest.mark.parametrize("prior", ["default", {"PE-HD": 1}])
def test_marks_of_acetal_refuse_a_bag_once_it_is_barred(marked: dict[str, int], prior: Any) -> None:  # noqa: ANN401
    reference = default_reference()
    hazards = tuple(replace(h, bar="yes") if h.applies_to == "POM" else h for h in reference.hazards)
    found = verdict(
        prior, replace(reference, hazards=hazards, digest=f"{reference.digest} acetal barred"), marked=marked
    )
    assert found.verdict == DO_NOT_HEAT
    assert "a piece marked POM" in found.deciding
