"""Weighings, cylinders and overflows of whole tables, scored as arrays: each row has the numbers of its piece."""

from __future__ import annotations

from typing import Any, Final

import numpy as np
import pandas as pd
import pytest

from resinid import InputError, identify, identify_table, observe

FIELDS: Final = {
    "weighing": {"in_air": "g", "in_liquid": "g", "sinker_in_liquid": "g"},
    "cylinder": {"in_air": "g", "before": "cm3", "after": "cm3"},
    "overflow": {"in_air": "g", "spilled": "g"},
}
"""Readings and units."""

U: Final = {"g": (0.02, 0.0004), "cm3": (0.4, 0.05)}
"""Coarse and fine uncertainties: a fine one gives a density finer than the standing grid."""

JUGS: Final = ("water at 20 degC", "table salt saturated")


def readings(test: str, density: float, mass: float, jug: float) -> tuple[float, ...]:
    """What is read of a piece, rounded as a scale or a cylinder shows it."""
    if test == "weighing":
        return round(mass, 2), round(mass * (1.0 - jug / density) + 200.0, 2), 200.0
    if test == "cylinder":
        return round(mass, 2), 50.0, round(50.0 + mass / density, 1)
    return round(mass, 2), round(mass * jug / density, 2)


def table(test: str, rows: int = 60) -> tuple[pd.DataFrame, list[list[dict[str, object]]]]:
    """A table with a test, a float in one of its jugs and a softening temperature; and the same by piece."""
    rng = np.random.default_rng(3)
    cells: list[dict[str, Any]] = []
    pieces: list[list[dict[str, object]]] = []
    for row in range(rows):
        density, mass, salty = rng.uniform(0.9, 1.4), rng.uniform(4.0, 20.0), row % 3 == 0
        values = readings(test, density, mass, 1.2009 if salty else 0.9982)
        one: dict[str, object] = {"test": test}
        cell: dict[str, Any] = {}
        for (field, unit), value in zip(FIELDS[test].items(), values, strict=True):
            if field == "sinker_in_liquid" and row % 4 == 0 and values[1] - 200.0 > 0.1:
                # Weighed without a sinker: what hangs in the jug is the piece alone.
                one["in_liquid"] = {**one["in_liquid"], "value": values[1] - 200.0}  # type: ignore[dict-item]
                cell["weighing.in_liquid [g]"] = values[1] - 200.0
                continue
            u = U[unit][row % 2]
            cell |= {f"{test}.{field} [{unit}]": value, f"{test}.{field}_u [{unit}]": u}
            one[field] = {"value": value, "u": u, "unit": unit}
        liquid = JUGS[salty]
        if test != "cylinder":
            one["liquid"] = cell[f"{test}.liquid"] = liquid
        piece = [one] if row % 5 else []
        if not piece:
            cell = {}
        if row % 2:
            outcome = "floats" if density < 1.0 else "sinks"
            cell |= {"float.liquid": JUGS[0], "float.outcome": outcome}
            piece.append({"test": "float", "liquid": JUGS[0], "outcome": outcome})
        if row % 7 == 0:
            cell |= {"density.density [g/cm3]": density, "density.density_u [g/cm3]": 0.01}
            piece.append({"test": "density", "density": {"value": density, "u": 0.01, "unit": "g/cm3"}})
        cells.append(cell)
        pieces.append(piece)
    return pd.DataFrame(cells), pieces


@pytest.mark.parametrize("test", FIELDS)
def test_each_row_has_the_numbers_of_its_piece(test: str) -> None:
    """Coarse and fine, in jugs with and without floats, with and without a sinker, beside another density."""
    frame, pieces = table(test)
    answer = identify_table(frame)
    chances = answer.probability
    for place, piece in enumerate(pieces):
        if not piece:
            continue
        alone = identify(piece)
        told = [alone[candidate] for candidate in chances.columns]
        assert chances.iloc[place].to_numpy(dtype=float) == pytest.approx(told, abs=1e-9), piece
        assert answer["do_not_heat"].iloc[place] == (not alone.heat.allowed)


def test_readings_that_cannot_be_are_told_as_of_one_piece() -> None:
    """Good rows among faulty ones are scored, and each faulty one has the message that one piece gets."""
    faulty = [(10.0, 12.0), (0.0, 0.0), (10.0, None), (10.0, 9.9)]
    good = [(10.0, 0.5), (9.0, 0.4)]
    rows = [good[0], *faulty, good[1]]
    columns = ("weighing.in_air", "weighing.in_liquid")
    frame = pd.DataFrame({f"{name} [g]": [row[place] for row in rows] for place, name in enumerate(columns)})
    for name in columns:
        frame[f"{name}_u [g]"] = 0.01
    answer = identify_table(frame.assign(**{"weighing.liquid": "water"}))
    cells: list[dict[str, Any]] = []
    for row in rows:
        given = {name: value for name, value in zip(("in_air", "in_liquid"), row, strict=True) if value is not None}
        cells.append({name: {"value": value, "u": 0.01, "unit": "g"} for name, value in given.items()})
    for place in (1, 2, 3, 4):
        with pytest.raises(InputError) as raised:
            observe("weighing", liquid="water", **cells[place])
        assert all(fault.message in answer["error"].iloc[place] for fault in raised.value.faults)
        assert answer.probability.iloc[place].isna().all()
    for place in (0, 5):
        alone = identify([observe("weighing", liquid="water", **cells[place])])
        assert answer["error"].isna().iloc[place]
        assert answer["PP"].iloc[place] == pytest.approx(alone["PP"], abs=1e-9)
