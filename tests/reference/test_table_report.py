"""Coverage, shortfalls and sensitivity: counted by hand on small tables, printed for ours."""

from __future__ import annotations

import json
from dataclasses import replace

import pytest

from resinid import identify
from resinid.analysis.coverage import HAZARD_ONSET, Cell, coverage, grade_shares, scoring_statements
from resinid.analysis.example_pieces import PIECES
from resinid.analysis.gaps import FLOW, gaps, processes
from resinid.analysis.sensitivity import influences, sensitivity, sensitivity_data, sensitivity_text, strongest
from resinid.analysis.table_report import GROUPS, LETTERS, report_data, report_text
from resinid.quantities import PROPERTIES
from resinid.reference.table import ReferenceTable, default_reference

TABLE = default_reference()


def only(*sources: str) -> ReferenceTable:
    """Return the table with no statements but those of some sources."""
    kept = tuple(row for row in TABLE.statements if row.source in sources)
    return replace(TABLE, statements=kept, digest=" ".join(sources))


def test_a_cell_counts_publications() -> None:
    """Two data sheets of one publisher count once, another's table beside them again, memory not at all."""
    assert coverage(only("ultradur-b4500", "ultradur-b4520"))["PBT", "density"].sources == 1
    assert coverage(only("ultradur-b4500", "ultradur-b4520", "matmake"))["PBT", "density"].sources == 2
    recalled = coverage(only("memory-general"))["PBT", "glass_transition_temperature"]
    assert (recalled.sources, recalled.best) == (0, "memory")


def test_empty_cells_join_to_an_empty_cell() -> None:
    empty = Cell(frozenset(), "", 0)
    assert empty.joined(empty) == empty


def test_every_property_has_a_column() -> None:
    shown = [name for columns in GROUPS.values() for name in columns.values()]
    assert sorted(shown) == sorted((*PROPERTIES, HAZARD_ONSET))
    assert len(set(LETTERS.values())) == len(LETTERS)


def test_text_fits_a_terminal_and_names_every_resin() -> None:
    lines = report_text(TABLE).splitlines()
    assert max(map(len, lines)) <= 80
    for symbol in TABLE.symbols:
        assert sum(line.split()[:1] == [symbol] for line in lines) >= len(GROUPS)


def test_data_are_json_and_agree_with_the_text() -> None:
    data = json.loads(json.dumps(report_data(TABLE), allow_nan=False))
    assert f"Below target: {len(data['gaps'])}" in report_text(TABLE)
    assert data["cells"]["PE-HD"]["density"]["best"] == "standard"
    assert data["shares"]["density"]["rows"] == sum(row.property == "density" for row in TABLE.statements)


def test_shares_add_up() -> None:
    found = grade_shares(TABLE)
    assert found["scoring"].rows == found["scoring statements"].rows + found["scoring behaviour"].rows
    assert sum(found[name].rows for name in PROPERTIES) == len(TABLE.statements)


def test_a_glass_transition_that_no_hot_plate_sees_does_not_score() -> None:
    """Polyethylene softens by melting, so its glass transition is in the table but not in an answer."""
    used = [row for row in scoring_statements(TABLE) if row.resin == "PE-HD"]
    assert {row.property for row in used} <= {"density", "melting_temperature", "flexural_modulus", "tensile_modulus"}


def test_gaps_are_found_where_rows_are_taken_away() -> None:
    bare = replace(TABLE, statements=(), digest="bare")
    whats = {gap.what for gap in gaps(bare) if gap.resin == "PP"}
    assert {"density", "stiffness", "softening or melting", "drying", "shrinkage", "processing window"} <= whats
    assert "melt flow rate by process" in whats
    assert "softening or melting" not in {gap.what for gap in gaps(bare) if gap.resin == "PTFE"}


def test_processes_are_read_from_the_condition() -> None:
    for resin in FLOW:
        assert all(process and "/" not in process[:3] for process in processes(TABLE, resin))


def test_leaving_a_row_out_is_what_rebuilding_gives() -> None:
    """The copies that stand for tables short of one row score as those tables do."""
    piece = PIECES[0]
    answer = identify(piece.observations, reference=TABLE)
    before = dict(zip(answer.resins, answer.probability, strict=True))
    found = sorted(influences(TABLE, piece), key=lambda one: -one.variation)
    for one in (found[0], found[len(found) // 2]):
        shorter = replace(
            TABLE,
            statements=tuple(row for row in TABLE.statements if row is not one.row),
            behaviours=tuple(row for row in TABLE.behaviours if row is not one.row),
            digest=f"without {one.row}",
        )
        rebuilt = identify(piece.observations, reference=shorter)
        after = dict(zip(rebuilt.resins, rebuilt.probability, strict=True))
        variation = sum(abs(after[name] - chance) for name, chance in before.items()) / 2
        assert one.variation == pytest.approx(variation, abs=1e-3)
        assert one.leader == pytest.approx(after[answer.leader] - before[answer.leader], abs=1e-3)


@pytest.mark.slow
def test_sensitivity_report(capsys: pytest.CaptureFixture[str]) -> None:
    """Print the rows that move an answer most; no row of the table may decide an answer alone."""
    rows = strongest(TABLE)
    text = sensitivity_text(rows)
    assert len(sensitivity_data(rows)) == len(rows) == 20
    with capsys.disabled():
        print(f"\n{text}")
    assert max(map(len, text.splitlines())) <= 80
    assert max(one.variation for one in sensitivity(TABLE)) < 0.5
