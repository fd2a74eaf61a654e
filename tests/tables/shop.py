"""Readings of a shop's pieces, and whether a whole table says of them what the one-piece answer does."""

from __future__ import annotations

import math
from typing import Any

import numpy as np
import pandas as pd
import pytest

from resinid import Result, default_reference, identify, identify_table

CANDIDATES = [*default_reference().symbols, "none of these"]
UNITS = {"density": "g/cm3", "temperature": "degC", "modulus": "MPa", "in_air": "g", "in_liquid": "g", "load": "N"}
WATER = "water at 20 degC"


def shop(count: int, stream: int = 0) -> pd.DataFrame:
    """Readings of pieces of a dozen kinds, some tests not done."""
    rng = np.random.default_rng(stream)
    density = rng.choice([0.03, 0.905, 0.92, 0.955, 1.05, 1.14, 1.2, 1.38, 1.41, 2.17], count)
    density = density * np.exp(0.01 * rng.standard_normal(count))
    soft = rng.choice([85.0, 110.0, 131.0, 165.0, 220.0, 250.0], count) + 4 * rng.standard_normal(count)
    modulus = np.exp(rng.normal(np.log(rng.choice([30.0, 250.0, 1200.0, 2400.0], count)), 0.3))

    def some(values: Any) -> Any:  # noqa: ANN401 - arrays of either kind
        values = np.array(values, dtype=object if isinstance(values[0], str) else float)
        values[rng.random(count) < 0.2] = None if values.dtype == object else math.nan
        return values

    def outcome(bath: float) -> Any:  # noqa: ANN401 - an array of objects
        return some(np.where(density + 0.0015 * rng.standard_normal(count) > bath, "sinks", "floats").tolist())

    return pd.DataFrame(
        {
            "id": [f"piece {i}" for i in range(count)],
            "density.density [kg/m3]": some(1000 * density),
            "density.density_u [kg/m3]": rng.uniform(2.0, 9.0, count),
            "float.liquid": WATER,
            "float.outcome": outcome(0.9982),
            "float#2.liquid": "ethanol 40 %v/v at 20 degC",
            "float#2.outcome": outcome(0.948),
            "float#3.liquid": "table salt saturated",
            "float#3.outcome": outcome(1.2009),
            "softening.temperature [degF]": some(soft * 1.8 + 32),
            "softening.temperature_u [degF]": rng.uniform(1.0, 8.0, count),
            "modulus.modulus [GPa]": some(modulus / 1000),
            "modulus.modulus_u [GPa]": 0.1 * modulus / 1000,
            "snap.outcome": pd.Categorical(some(rng.choice(["snaps", "creases", "springs back"], count).tolist())),
            "feel.outcome": some(rng.choice(["rigid", "flexible"], count).tolist()),
        },
        index=pd.Index(range(100, 100 + count), name="bag"),
    )


def one_by_one(frame: pd.DataFrame, row: int) -> list[dict[str, Any]]:
    """The observations of one row as :func:`identify` takes them."""
    made: dict[str, dict[str, Any]] = {}
    for header in frame.columns:
        if "." not in header:
            continue
        label, _, rest = header.partition(".")
        field, _, unit = rest.partition(" [")
        value = frame.iloc[row][header]
        if field.endswith("_u") or value is None or (isinstance(value, float) and math.isnan(value)):
            continue
        entry = made.setdefault(label, {"test": label.partition("#")[0]})
        if unit:
            unit = unit.rstrip("]")
            u_name = next(h for h in frame.columns if h.startswith(f"{label}.{field}_u"))
            reading = {"value": float(value), "u": float(frame.iloc[row][u_name]), "unit": unit}
            entry[field] = {"density": reading} if field == "liquid" else reading
        else:
            entry[field] = value
    return [entry for entry in made.values() if set(entry) - {"test", "liquid"}]


def compared(frame: pd.DataFrame, rows: list[int]) -> float:
    answer = identify_table(frame).to_frame()
    worst = 0.0
    for row in rows:
        made = one_by_one(frame, row)
        assert answer.iloc[row]["tests"] == len(made)
        if not made:
            assert answer.iloc[row][CANDIDATES].isna().all()
            continue
        single = identify(made)
        expected = np.array([single[name] for name in CANDIDATES])
        worst = max(worst, float(np.abs(answer.iloc[row][CANDIDATES].to_numpy(float) - expected).max()))
        same_verdict(answer.iloc[row], single)
    return worst


def same_verdict(told: Any, single: Result) -> None:  # noqa: ANN401 - a row of a frame
    """A row's verdict, temperatures, group and hazard are those of the answer to that piece alone."""
    heat = single.heat
    assert bool(told["do_not_heat"]) is not heat.allowed
    if heat.allowed or not any("contradicts" in reason for reason in heat.reasons):
        assert heat.verdict.lower().startswith(told["verdict"])
        assert told["hazard"] == pytest.approx(heat.hazard, abs=1e-9)
    else:
        assert told["verdict"] in {"not yet", heat.verdict.lower()}
        assert 0.0 <= told["hazard"] <= heat.hazard + 1e-9
    assert [None if pd.isna(told[end]) else told[end] for end in ("low_degC", "high_degC")] == [heat.low, heat.high]
    assert (told["group"], told["group_probability"]) == (
        (single.group.name, pytest.approx(single.group.probability))
        if single.group
        else (None, pytest.approx(math.nan, nan_ok=True))
    )
    if heat.allowed:
        assert set(told["precautions"].split("; ")) == set("; ".join([*heat.reasons, *heat.cautions]).split("; "))
    else:
        assert told["precautions"] is None
