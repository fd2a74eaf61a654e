"""The stated rule by which published statements become a distribution.

For each resin and variant, each scored property is a mixture of normals in the
property's own coordinate (natural logarithm for density and modulus, degC for
temperature), one normal a statement:

* printed limits are taken as the 5 % and 95 % quantiles of pieces;
* a printed single value is the median, and pieces scatter about it by the
  property's ``scatter``;
* the grade of the source widens the normal (``widening``), because a value that
  was copied or recalled may be off as a whole;
* no normal is narrower than ``floor``, since real pieces are pigmented, aged,
  moist and moulded differently;
* statements are weighted by the grade of their source (:data:`TRUST`), the
  statements of one source in one cell sharing that source's weight.

The numbers below are this project's choices ("common practice, no source"), set
by judgement and tested for calibration; they are the only place to change them.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

if TYPE_CHECKING:
    from resinid.table.entries import Statement, Variant
    from resinid.table.table import Table

__all__ = ["RULES", "TRUST", "Mixture", "Normal", "Rule", "mixture"]

Z90: Final = 1.6448536269514722
"""95 % quantile of the standard normal, so that low..high holds nine in ten."""

TRUST: Final = MappingProxyType(
    {
        "standard": 3.0,
        "peer-reviewed": 3.0,
        "handbook": 3.0,
        "dataset": 2.0,
        "data sheet": 2.0,
        "trade table": 1.0,
        "common practice": 0.5,
        "memory": 0.5,
    }
)
"""Weight of one source in a cell by its grade."""

SINGLE_GRADE_SOURCES: Final = 3.0
"""A single printed value speaks for one grade, a range for many: ranges weigh this much more."""


@dataclass(frozen=True, slots=True)
class Rule:
    """How statements of one property become normals.

    Parameters
    ----------
    logarithmic : bool
        Whether the coordinate is the natural logarithm.
    scatter : float
        Standard deviation of pieces about a single printed value [coordinate].
    floor : float
        Narrowest standard deviation of a normal [coordinate].
    widening : float
        Standard deviation added for a statement from memory [coordinate]; other
        grades add the share in :data:`DOUBT`.
    unlisted : float
        Standard deviation added where a resin is not in the table [coordinate].
    """

    logarithmic: bool
    scatter: float
    floor: float
    widening: float
    unlisted: float

    def coordinate(self, value: float) -> float:
        """Return the coordinate of a value in the property's canonical unit."""
        return math.log(value) if self.logarithmic else value


RULES: Final = MappingProxyType(
    {
        "density": Rule(logarithmic=True, scatter=0.006, floor=0.003, widening=0.006, unlisted=0.10),
        "softening_temperature": Rule(logarithmic=False, scatter=4.0, floor=2.5, widening=4.0, unlisted=40.0),
        "flexural_modulus": Rule(logarithmic=True, scatter=0.20, floor=0.12, widening=0.20, unlisted=0.8),
    }
)
"""By latent property: the rule of its statements."""

DOUBT: Final = MappingProxyType(
    {
        "standard": 0.0,
        "peer-reviewed": 0.25,
        "handbook": 0.25,
        "dataset": 0.5,
        "data sheet": 0.25,
        "trade table": 0.75,
        "common practice": 1.0,
        "memory": 1.0,
    }
)
"""Share of a rule's ``widening`` that a grade of source adds."""

NEAR_EQUILIBRIUM: Final = "near-equilibrium"
"""Condition of a melting point extrapolated to perfect crystals."""

BENCH_SHIFT: Final = MappingProxyType(
    {
        "melting": (0.0, 3.0),
        NEAR_EQUILIBRIUM: (-6.0, 5.0),
        "vicat": (10.0, 10.0),
        "glass": (15.0, 12.0),
    }
)
"""Shift and its standard deviation [K] from a printed transition to where a chip gives way.

A chip on a hot plate is seen to melt at about the melting peak; crystals of real
pieces melt below the extrapolated equilibrium point; glassy resins dent near the
Vicat point and smear some tens of kelvins above the glass transition. Common
practice, no source.
"""


TENSILE: Final = 0.10
"""Standard deviation of the natural log of tensile against flexural modulus of one
material (common practice, no source)."""

STIFFENING_LOAD: Final = 10.0
"""[mass %] Above this load a filler stiffens the resin, so the base variant's modulus does not speak for it."""


@dataclass(frozen=True, slots=True)
class Normal:
    """One component of a mixture, in the property's coordinate."""

    mean: float
    sd: float
    weight: float
    source: str


@dataclass(frozen=True, slots=True)
class Mixture:
    """Distribution of a property over the pieces of one variant.

    Parameters
    ----------
    normals : tuple of Normal
        Components; their weights add up to ``1 - never``. Empty, with ``never``
        zero, where nothing is published.
    never : float
        Share that has no value at all (never softens).
    """

    normals: tuple[Normal, ...]
    never: float = 0.0


def mixture(table: Table, variant: Variant, latent: str) -> Mixture:
    """Return the distribution of a latent property over the pieces of a variant.

    Parameters
    ----------
    table : Table
    variant : Variant
        One of the table's variants.
    latent : {"density", "softening_temperature", "flexural_modulus"}

    Returns
    -------
    Mixture

    Examples
    --------
    >>> from resinid.table.table import default_table
    >>> table = default_table()
    >>> found = mixture(table, table.variants[0], "density")
    >>> round(sum(normal.weight for normal in found.normals), 9)
    1.0
    """
    if latent == "softening_temperature":
        return _softening(table, variant)
    if latent == "flexural_modulus":
        return Mixture(_stiffness(table, variant))
    rows = _own_rows(table, variant, latent)
    if rows or not variant.filler:
        return Mixture(_normals(rows or _rows(table, variant, latent), RULES[latent]))
    return Mixture(_filled(table, variant))


def _own_rows(table: Table, variant: Variant, name: str) -> list[Statement]:
    wanted = (variant.resin, variant.name, name)
    return [row for row in table.statements if (row.resin, row.variant, row.property) == wanted]


def _rows(table: Table, variant: Variant, name: str) -> list[Statement]:
    """Return the variant's own statements, else the base variant's, else any of the resin's."""
    base = next(v for v in table.variants if v.resin == variant.resin)
    return (
        _own_rows(table, variant, name)
        or _own_rows(table, base, name)
        or [row for row in table.statements if row.resin == variant.resin and row.property == name]
    )


def _stiffness(table: Table, variant: Variant) -> tuple[Normal, ...]:
    """Pool statements of flexural and tensile modulus, the latter widened."""
    look = _own_rows if (variant.load_high or 0.0) > STIFFENING_LOAD else _rows
    bent, pulled = look(table, variant, "flexural_modulus"), look(table, variant, "tensile_modulus")
    normals: list[Normal] = []
    for rows, shift, share in _weighted([(bent, (0.0, 0.0), 2.0), (pulled, (0.0, TENSILE), 1.0)]):
        normals.extend(_normals(rows, RULES["flexural_modulus"], shift, share))
    return tuple(normals)


def _normals(
    rows: list[Statement], rule: Rule, shift: tuple[float, float] = (0.0, 0.0), share: float = 1.0
) -> tuple[Normal, ...]:
    raw: list[tuple[float, float, float, str]] = []
    per_source: dict[str, int] = defaultdict(int)
    usable = [row for row in rows if row.typical is not None or (row.low is not None and row.high is not None)]
    for row in usable:
        per_source[row.source] += 1
    for row in usable:
        mean, sd, breadth = _centre_and_spread(row, rule)
        sd = math.hypot(max(sd, rule.floor), rule.widening * DOUBT[row.obtained], shift[1])
        weight = TRUST[row.obtained] * breadth / per_source[row.source]
        raw.append((mean + shift[0], sd, weight, row.source))
    total = math.fsum(weight for _, _, weight, _ in raw)
    return tuple(Normal(mean, sd, share * weight / total, source) for mean, sd, weight, source in raw)


def _centre_and_spread(row: Statement, rule: Rule) -> tuple[float, float, float]:
    if row.low is not None and row.high is not None and row.high > row.low:
        low, high = rule.coordinate(row.low), rule.coordinate(row.high)
        centre = (low + high) / 2 if row.typical is None else rule.coordinate(row.typical)
        return centre, (high - low) / (2 * Z90), SINGLE_GRADE_SOURCES
    single = row.typical if row.typical is not None else row.low
    if single is None:
        message = "a lone limit is no distribution; callers leave it out"
        raise AssertionError(message)
    return rule.coordinate(single), rule.scatter, 1.0


def _softening(table: Table, variant: Variant) -> Mixture:
    if variant.softens == "never":
        return Mixture((), never=1.0)
    parts = {"melting": ("melting",), "glass": ("glass",), "either": ("melting", "glass")}[variant.softens]
    groups = [group for part in parts for group in _transition(table, variant, part) if group[0]]
    rule = RULES["softening_temperature"]
    normals: list[Normal] = []
    total = math.fsum(weight for _, _, weight in groups)
    for rows, shift, weight in groups:
        normals.extend(_normals(rows, rule, shift, weight / total))
    return Mixture(tuple(normals))


def _transition(table: Table, variant: Variant, part: str) -> list[tuple[list[Statement], tuple[float, float], float]]:
    """Return groups of statements of one transition, each with its bench shift and weight."""
    if part == "melting":
        rows = _rows(table, variant, "melting_temperature")
        ideal = [row for row in rows if NEAR_EQUILIBRIUM in row.condition]
        seen = [row for row in rows if NEAR_EQUILIBRIUM not in row.condition]
        return _weighted([(seen, BENCH_SHIFT["melting"], 3.0), (ideal, BENCH_SHIFT[NEAR_EQUILIBRIUM], 1.0)])
    vicat = _rows(table, variant, "vicat_softening_temperature")
    glass = _rows(table, variant, "glass_transition_temperature")
    return _weighted([(vicat, BENCH_SHIFT["vicat"], 1.0), (glass, BENCH_SHIFT["glass"], 1.0)])


def _weighted(
    groups: list[tuple[list[Statement], tuple[float, float], float]],
) -> list[tuple[list[Statement], tuple[float, float], float]]:
    """Leave out groups with nothing usable and make the weights of the rest add up to one."""
    kept = [
        group
        for group in groups
        if any(r.typical is not None or (r.low is not None and r.high is not None) for r in group[0])
    ]
    total = math.fsum(weight for _, _, weight in kept)
    return [(rows, shift, weight / total) for rows, shift, weight in kept]


def _filled(table: Table, variant: Variant) -> tuple[Normal, ...]:
    """Shift the base variant's density by the mass-fraction rule of mixtures.

    ``1/rho = (1 - w)/rho_base + w/rho_filler``; the spread of the load is carried
    along to first order.
    """
    if variant.load_low is None or variant.load_high is None:
        return ()
    filler = next(c.density for c in table.components if c.name == variant.filler)
    load = (variant.load_low + variant.load_high) / 200.0
    load_sd = (variant.load_high - variant.load_low) / 200.0 / Z90
    base = next(v for v in table.variants if v.resin == variant.resin)
    out: list[Normal] = []
    for normal in mixture(table, base, "density").normals:
        pure = math.exp(normal.mean)
        volume = (1 - load) / pure + load / filler
        # d ln(rho) = -d(volume)/volume; the base's own relative spread counts by its volume share.
        from_load = abs(1 / filler - 1 / pure) / volume * load_sd
        from_base = normal.sd * ((1 - load) / pure) / volume
        out.append(Normal(-math.log(volume), math.hypot(from_load, from_base), normal.weight, normal.source))
    return tuple(out)
