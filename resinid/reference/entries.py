"""What one line of each table file says, as frozen values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

__all__ = [
    "FREQUENCIES",
    "GRADES",
    "KINDS",
    "LIMIT_EFFECTS",
    "RATINGS",
    "STATEMENT_KINDS",
    "THERMAL",
    "Behaviour",
    "Blend",
    "Component",
    "ContaminationLimit",
    "Crystal",
    "Demand",
    "Hazard",
    "MeltGroup",
    "Resin",
    "Solubility",
    "Source",
    "Statement",
    "Stream",
    "Thermal",
    "Variant",
]

GRADES: Final = (
    "standard",
    "peer-reviewed",
    "handbook",
    "dataset",
    "data sheet",
    "trade table",
    "common practice",
    "memory",
)
"""How a statement was obtained, from the most to the least trusted."""

KINDS: Final = ("semicrystalline", "amorphous", "crosslinked")
FREQUENCIES: Final = ("always", "usual", "sometimes", "rare", "never")

STATEMENT_KINDS: Final = ("class", "range", "typical", "grade", "pieces")
"""What a statement is: limits that define a class, a range over the grades on sale, one number for the
resin as a whole, one grade, or pieces that were measured."""

RATINGS: Final = ("miscible", "compatible", "limited", "incompatible", "dangerous")
"""How two molten resins get on, from best to worst."""

LIMIT_EFFECTS: Final = ("notice", "harm")
"""What begins at a published share of a contaminant: it is noticed, or the part is spoilt."""

THERMAL: Final = ("thermal_conductivity", "heat_capacity", "heat_of_fusion", "heat_transfer_coefficient")
"""What thermal.csv states: [W/(m K)], [kJ/(kg K)], [kJ/kg] of a resin; [W/(m2 K)] of a surface."""


@dataclass(frozen=True, slots=True)
class Source:
    """A publication that statements cite.

    ``lineage`` names what it was copied, translated or compiled from, by the key of a source or a name of its
    own; works of one lineage are heard once. Empty: it stands for itself.
    """

    key: str
    citation: str
    year: str
    kind: str
    url: str
    read: str
    note: str
    lineage: str = ""


@dataclass(frozen=True, slots=True)
class Resin:
    """A resin by its ISO 1043-1 symbol (ISO 18064 and ISO 1629 for elastomers)."""

    symbol: str
    name: str
    group: str
    kind: str
    aliases: tuple[str, ...]
    note: str


@dataclass(frozen=True, slots=True)
class Variant:
    """A grade of a resin that behaves differently at the bench.

    ``weight`` is the chance that a piece of the resin is this variant; ``softens``
    says at which transition a hot plate sees it give way: ``melting``, ``glass``
    (transition), ``either``, or ``never``. A filled or pigmented variant names its
    filler and the load [mass %] between which nine of ten such pieces lie.
    """

    resin: str
    name: str
    weight: float
    softens: str
    filler: str
    load_low: float | None
    load_high: float | None
    source: str
    obtained: str

    @property
    def flame_retarded(self) -> bool:
        """Whether it holds a flame retardant, by its name."""
        return "flame-retarded" in self.name


@dataclass(frozen=True, slots=True)
class Statement:
    """One published statement of one property, in the property's canonical unit; ``kind`` as STATEMENT_KINDS."""

    resin: str
    variant: str
    property: str
    low: float | None
    typical: float | None
    high: float | None
    condition: str
    specimen: str
    source: str
    locator: str
    obtained: str
    note: str
    kind: str = "range"


@dataclass(frozen=True, slots=True)
class Component:
    """A filler or pigment and its density [g/cm3]."""

    name: str
    density: float
    source: str
    obtained: str


@dataclass(frozen=True, slots=True)
class Crystal:
    """Densities [g/cm3] of a resin's amorphous part and of its crystals, and their heat of fusion [J/g].

    ``melting_slope`` [K] is by how much the melting point would rise if the mass
    crystallinity rose from 0 to 1 as it does from grade to grade; None: no link is known.
    """

    resin: str
    density_amorphous: float
    density_crystal: float
    heat_of_fusion: float | None
    melting_slope: float | None
    source: str
    obtained: str


@dataclass(frozen=True, slots=True)
class Behaviour:
    """How often a resin shows one outcome of one qualitative test."""

    resin: str
    aspect: str
    outcome: str
    frequency: str
    source: str
    locator: str
    obtained: str


@dataclass(frozen=True, slots=True)
class Hazard:
    """What can hurt, from which temperature [degC], whether a melt must stay below it, and the usual caution."""

    applies_to: str
    hazard: str
    onset: float | None
    limits_melt: bool
    bar: str
    caution: str
    never_with: tuple[str, ...]
    source: str
    obtained: str


@dataclass(frozen=True, slots=True)
class Stream:
    """The share [%] of a published stream of plastics that some resins make up together."""

    name: str
    resins: tuple[str, ...]
    share: float
    source: str


@dataclass(frozen=True, slots=True)
class Demand:
    """How much of a resin the world uses: ``part`` of a published share [%] of all plastics.

    The share is that of a line as it is printed, the part is one where the line names the
    resin alone. Parts of one line are only proportions and need not add up to one.
    """

    resin: str
    share: float
    part: float
    source: str
    locator: str
    obtained: str
    note: str


@dataclass(frozen=True, slots=True)
class MeltGroup:
    """Resins that may be melted together, by name, and what says so; the others each stand alone."""

    name: str
    members: tuple[str, ...]
    source: str
    locator: str
    obtained: str
    note: str


@dataclass(frozen=True, slots=True)
class Blend:
    """How a published source rates two resins melted together; ``second`` may be ``any``."""

    first: str
    second: str
    rating: str
    note: str
    source: str
    locator: str
    obtained: str


@dataclass(frozen=True, slots=True)
class ContaminationLimit:
    """The mass share [%] of a contaminant in a resin from which it is noticed or does harm."""

    resin: str
    contaminant: str
    share: float
    effect: str
    note: str
    source: str
    locator: str
    obtained: str


@dataclass(frozen=True, slots=True)
class Thermal:
    """One published statement of a thermal property of a resin or of a heated surface."""

    subject: str
    property: str
    low: float | None
    typical: float | None
    high: float | None
    condition: str
    source: str
    locator: str
    obtained: str


@dataclass(frozen=True, slots=True)
class Solubility:
    """A solubility parameter [MPa^0.5] that properties.csv does not hold."""

    resin: str
    value: float
    source: str
    locator: str
    obtained: str
