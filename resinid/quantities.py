"""The one list of quantities: name, canonical unit, dimension, plausible range.

Everything that needs a unit takes it from here: parsing at the door, the
reference table, column names, help texts and test strategies. Inside the
package every number is a bare float in the unit named here.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

__all__ = ["ASPECTS", "PROPERTIES", "QUANTITIES", "Quantity", "quantity"]


@dataclass(frozen=True, slots=True)
class Quantity:
    """A physical quantity as this package uses it.

    Parameters
    ----------
    name : str
        The trade's term.
    unit : str
        Canonical unit, in pint's spelling.
    low, high : float
        Plausible range [unit]; a value outside it is refused as a slip.
    example : str
        A value as a person would write it, shown in error messages.
    description : str
        What is meant, in one sentence.
    symbol : str
        The unit as printed.
    usual_u, usual_share : float
        Standard uncertainty of a number of which nobody says how good it is: this much [unit], or this share
        of it, whichever is more. Rather too much than too little (common practice, no source); zero for
        both says that none is usual, so that one has to be stated.
    """

    name: str
    unit: str
    low: float
    high: float
    example: str
    description: str
    symbol: str = ""
    usual_u: float = 0.0
    usual_share: float = 0.0

    @property
    def label(self) -> str:
        """The unit as printed beside a number."""
        return self.symbol or self.unit

    @property
    def words(self) -> str:
        """The name without underscores, for messages."""
        return self.name.replace("_", " ")

    @property
    def usual(self) -> str:
        """The usual uncertainty in words; empty where none is usual."""
        own = f"{self.usual_u:g} {self.label}".strip() if self.usual_u else ""
        share = f"{100 * self.usual_share:g} % of the number" if self.usual_share else ""
        return f"{own} or {share}, whichever is more" if own and share else own or share


_ALL: Final = (
    Quantity("mass", "g", 0.0, 1e6, "5.02 g", "Reading of a scale.", usual_u=0.1),
    Quantity("volume", "cm**3", 0.0, 1e6, "4.5 mL", "Volume of liquid or solid.", "cm3", usual_u=0.5),
    Quantity("length", "mm", 0.0, 1e5, "3.1 mm", "Length, width, thickness or span.", usual_u=0.1),
    Quantity("deflection", "mm", 0.0, 1e4, "2.5 mm", "How far a loaded strip moves.", usual_u=0.5),
    Quantity(
        "force",
        "N",
        0.0,
        1e5,
        "1.2 N",
        "Load on a strip (a hung mass counts as its weight).",
        usual_u=0.05,
        usual_share=0.02,
    ),
    Quantity("temperature", "degC", -150.0, 600.0, "165 degC", "Absolute temperature.", "°C", usual_u=3.0),
    Quantity(
        "temperature_difference",
        "delta_degC",
        0.0,
        200.0,
        "3 delta_degC",
        "Difference of, or uncertainty in, a temperature.",
        "K",
        usual_u=1.0,
    ),
    Quantity("time", "min", 0.0, 1e5, "20 min", "Duration."),
    Quantity("fraction", "percent", 0.0, 100.0, "20 %", "Share of a whole.", "%"),
    # Properties of a resin, as the reference table holds them.
    Quantity("density", "g/cm**3", 0.005, 3.0, "0.952 g/cm3", "Density at room temperature.", "g/cm3", usual_u=0.005),
    Quantity("melting_temperature", "degC", -80.0, 400.0, "165 degC", "Melting point.", "°C"),
    Quantity("glass_transition_temperature", "degC", -140.0, 260.0, "100 degC", "Glass transition.", "°C", usual_u=3.0),
    Quantity("vicat_softening_temperature", "degC", 20.0, 300.0, "98 degC", "Vicat softening, ISO 306.", "°C"),
    Quantity("heat_deflection_temperature", "degC", 20.0, 320.0, "80 degC", "HDT, ISO 75.", "°C"),
    Quantity("flexural_modulus", "MPa", 0.1, 30000.0, "1200 MPa", "Modulus in bending, ISO 178.", usual_share=0.1),
    Quantity("tensile_modulus", "MPa", 0.1, 30000.0, "1200 MPa", "Modulus in tension, ISO 527."),
    Quantity("shore_d", "", 0.0, 100.0, "65", "Shore D hardness, ISO 868.", usual_u=2.0),
    Quantity("shore_a", "", 0.0, 100.0, "80", "Shore A hardness, ISO 868.", usual_u=2.0),
    Quantity(
        "melt_flow_rate", "g/(10*min)", 0.01, 500.0, "8 g/(10 min)", "MFR, ISO 1133-1.", "g/10 min", usual_share=0.1
    ),
    Quantity(
        "intrinsic_viscosity", "dL/g", 0.2, 2.0, "0.80 dL/g", "IV of polyesters, ISO 1628-5; what MFR is to others."
    ),
    Quantity("mould_shrinkage", "percent", 0.0, 10.0, "1.8 %", "Linear mould shrinkage, ISO 294-4.", "%"),
    Quantity("melt_processing_temperature", "degC", 60.0, 450.0, "200 degC", "Processing window.", "°C"),
    Quantity("mould_temperature", "degC", 0.0, 250.0, "40 degC", "Mould temperature.", "°C"),
    Quantity("drying_temperature", "degC", 30.0, 200.0, "80 degC", "Drying before melting.", "°C"),
    Quantity("drying_time", "h", 0.25, 48.0, "3 h", "Drying time before melting."),
    Quantity("decomposition_onset_temperature", "degC", 100.0, 650.0, "200 degC", "Onset of decomposition.", "°C"),
    Quantity("maximum_melt_temperature", "degC", 100.0, 450.0, "230 degC", "Never exceed.", "°C"),
    Quantity("water_absorption_24h", "percent", 0.0, 20.0, "0.3 %", "Water uptake in 24 h, ISO 62.", "%"),
    Quantity("melt_density", "g/cm**3", 0.5, 2.0, "0.75 g/cm3", "Density of the melt.", "g/cm3"),
    Quantity("solubility_parameter", "MPa**0.5", 10.0, 35.0, "18.6 MPa**0.5", "Hildebrand.", "MPa^0.5"),
)

QUANTITIES: Final = MappingProxyType({entry.name: entry for entry in _ALL})
"""Every quantity by name."""

PROPERTIES: Final = tuple(entry.name for entry in _ALL[[q.name for q in _ALL].index("density") :])
"""Names of the quantities the reference table may state about a resin."""

ASPECTS: Final = MappingProxyType(
    {
        "melt_clarity": ("clear", "cloudy"),
        "melt_pull": ("long strings", "short strings", "no strings"),
        "melt_flow": ("runny", "stiff"),
        "melt_onset": ("sharp", "gradual"),
        "whitening": ("none", "slight", "strong"),
        "snap": ("snaps", "creases", "springs back"),
    }
)
"""Qualitative behaviours that are scored, each with its closed list of outcomes.

What a piece does at the end of heating is not among them: that it chars is scored on
the softening temperature."""


def quantity(name: str) -> Quantity:
    """Return the quantity of that name.

    Examples
    --------
    >>> quantity("density").label
    'g/cm3'
    """
    return QUANTITIES[name]
