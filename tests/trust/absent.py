"""Pieces of plastics that the table lacks; absent_plastics.csv has a row each, with its sources."""

from __future__ import annotations

import csv
import math
from pathlib import Path
from typing import TYPE_CHECKING

from simulate import Piece
from specimens import Kind, Specimen

from resinid import default_reference
from resinid.identification.score import model_of
from resinid.reference.rules import BENCH_SHIFT, Z90

if TYPE_CHECKING:
    import numpy as np

__all__ = ["absent", "absent_piece", "dangerous", "drawn"]


def _rows(name: str) -> list[dict[str, str]]:
    with (Path(__file__).parent / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def absent() -> list[dict[str, str]]:
    """Return the plastics that melt or soften."""
    return [row for row in _rows("absent_plastics.csv") if row["transition"] != "never"]


def dangerous() -> list[dict[str, str]]:
    """Return those of which leave to heat is wrong: they hold a halogen, or never melt."""
    return [row for row in _rows("absent_plastics.csv") if row["heat"] == "never"]


def drawn(rng: np.random.Generator, row: dict[str, str]) -> Piece:
    """Draw a piece: printed limits are quantiles, pieces scatter as the table's rule says of a single value."""

    def between(low: float, high: float, scatter: float) -> float:
        return rng.normal((low + high) / 2, math.hypot((high - low) / 2 / Z90, scatter))

    density = [math.log(float(row[f"density_{end}"])) for end in ("low", "high")]
    modulus = [math.log(float(row[f"modulus_{end}_MPa"])) for end in ("low", "high")]
    softens = math.inf
    if row["transition"] != "never":
        shift, spread = BENCH_SHIFT[row["transition"]]
        softens = rng.normal(float(row["temperature_degC"]) + shift, math.hypot(spread, 4.0))
    values = {
        "density": math.exp(between(density[0], density[1], 0.006)),
        "flexural_modulus": math.exp(between(modulus[0], modulus[1], 0.20)),
        "softening_temperature": softens,
    }
    return Piece(0, values)


def absent_piece(rng: np.random.Generator, row: dict[str, str]) -> Specimen:
    """Draw a piece for the bench of leave_bench.py; what is not printed is as the engine takes it of any plastic."""
    kind = Kind(row["plastic"], "", (), "forbidden" if row["heat"] == "never" else "ordinary")
    values: dict[object, float] = {}
    values.update(drawn(rng, row).values.items())
    # The last row of the model is that of "none of these".
    return Specimen(kind, rng, len(model_of(default_reference()).rows), values=values)
