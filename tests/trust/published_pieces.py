"""Published pieces as a person would write them down, and who published them."""

from __future__ import annotations

import math
import re
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from baselines import TRANSITION, measured

from resinid import observe

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.methods.contract import Observation

    Array = NDArray[np.float64]

FLOAT_COLUMNS: Final = {
    "float_water": "water",
    "float_ethanol_40": "ethanol 40 %v/v at 20 degC",
    "float_brine_sat": "table salt saturated",
}


def observed(row: dict[str, str]) -> list[dict[str, object]]:
    """Return what was published of a piece as a person would write it."""
    seen: list[dict[str, object]] = []
    if row["density_g_cm3"]:
        spread = f" ± {row['u_density']}" if row["u_density"] else ""
        seen.append({"test": "density", "density": f"{row['density_g_cm3']}{spread} g/cm3"})
    if row["melting_degC"]:
        seen.append({"test": "softening", "temperature": f"{row['melting_degC']} ± 3 degC"})
    elif row["softening_degC"]:
        at = float(row["softening_degC"]) + TRANSITION
        seen.append({"test": "softening", "temperature": f"{at:g} ± {TRANSITION:g} degC"})
    elif row["never_melts"] == "true":
        seen.append({"test": "hot_plate", "not_melted_at": "250 degC"})
    if row["modulus_MPa"]:
        seen.append({"test": "modulus", "modulus": f"{row['modulus_MPa']} ± {0.05 * float(row['modulus_MPa']):g} MPa"})
    seen.extend(
        {"test": "float", "liquid": liquid, "outcome": row[column]}
        for column, liquid in FLOAT_COLUMNS.items()
        if row[column]
    )
    return seen


def observations(row: dict[str, str]) -> list[Observation]:
    """Return what was published of a piece, as observations."""
    readings: list[dict[str, Any]] = [dict(reading) for reading in observed(row)]
    return [observe(reading.pop("test"), **reading) for reading in readings]


def publishers() -> NDArray[np.int64]:
    names = [re.split(r"[,(;]", row["source"])[0].replace("S.p.A.", "").strip() for row in measured()]
    every = sorted(set(names))
    return np.array([every.index(name) for name in names])


def error_of_mean(change: Array, publisher: NDArray[np.int64]) -> float:
    """Return the standard error of a mean where pieces of one publisher are not independent."""
    return math.sqrt(sum(change[publisher == each].sum() ** 2 for each in set(publisher.tolist()))) / change.size
