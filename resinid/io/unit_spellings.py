"""Common spellings of common units, so that everyday readings do not wait for pint.

Importing pint and building its registry takes longer than all else that a run on the
command line does. Whatever is not in this table goes to pint; the tests check every
entry against it.
"""

from __future__ import annotations

from types import MappingProxyType
from typing import Final

__all__ = ["COMMON", "STANDARD_GRAVITY"]

STANDARD_GRAVITY: Final = 9.80665
"""[m/s2], 3rd CGPM 1901; turns a hung mass into its weight."""

_FAHRENHEIT: Final = 5.0 / 9.0

COMMON: Final = MappingProxyType(
    {
        "g": {"g": (1.0, 0.0), "mg": (1e-3, 0.0), "kg": (1e3, 0.0)},
        "cm**3": {
            **dict.fromkeys(("cm3", "cm^3", "cm**3", "cm³", "mL", "ml"), (1.0, 0.0)),
            **dict.fromkeys(("L", "l"), (1e3, 0.0)),
        },
        "mm": {"mm": (1.0, 0.0), "cm": (10.0, 0.0), "m": (1e3, 0.0)},
        "N": {"N": (1.0, 0.0), "g": (STANDARD_GRAVITY / 1e3, 0.0), "kg": (STANDARD_GRAVITY, 0.0)},
        "degC": {
            **dict.fromkeys(("degC", "°C"), (1.0, 0.0)),
            **dict.fromkeys(("degF", "°F"), (_FAHRENHEIT, -32.0 * _FAHRENHEIT)),
            "K": (1.0, -273.15),
        },
        "delta_degC": {
            **dict.fromkeys(("delta_degC", "degC", "°C", "K"), (1.0, 0.0)),
            **dict.fromkeys(("delta_degF", "degF", "°F"), (_FAHRENHEIT, 0.0)),
        },
        "min": {"min": (1.0, 0.0), "s": (1.0 / 60.0, 0.0), "h": (60.0, 0.0)},
        "percent": {"%": (1.0, 0.0), "percent": (1.0, 0.0)},
        "g/cm**3": {
            **dict.fromkeys(("g/cm3", "g/cm^3", "g/cm**3", "g/cm³", "g/mL", "g/ml", "g cm-3"), (1.0, 0.0)),
            **dict.fromkeys(("kg/m3", "kg/m^3", "kg/m**3", "kg/m³", "g/L", "g/l", "kg m-3"), (1e-3, 0.0)),
        },
        "MPa": {
            **dict.fromkeys(("MPa", "N/mm2", "N/mm^2", "N/mm**2", "N/mm²"), (1.0, 0.0)),
            "GPa": (1e3, 0.0),
        },
    }
)
"""For each canonical unit, the scale and offset that take a value in another unit to it."""
