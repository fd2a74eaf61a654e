"""From published statements to what the pieces of a variant are like, by the stated rule."""

from __future__ import annotations

import functools
import math
import statistics
from collections import defaultdict
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Final

from resinid.reference.rules import (
    BENCH_SHIFT,
    DOUBT,
    KIND_WEIGHT,
    NEAR_EQUILIBRIUM,
    RULES,
    SAYS,
    STIFFENING_LOAD,
    TENSILE,
    TRUST,
    Z90,
    SpreadRule,
)

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.reference.entries import Statement, Variant
    from resinid.reference.table import ReferenceTable

__all__ = ["Mixture", "Normal", "mixture"]

RANGES: Final = frozenset({"class", "range", "pieces"})
"""Kinds whose limits tell how wide the pieces of a resin lie."""

GAS: Final = "gas"
"""Filler of a foam: its density and stiffness are its own, not those of the solid resin."""


@dataclass(frozen=True, slots=True)
class Normal:
    """One component of a mixture, in the property's coordinate, and the statement behind it."""

    mean: float
    sd: float
    weight: float
    source: str
    statement: Statement | None = None


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


def mixture(reference: ReferenceTable, variant: Variant, latent: str, rule: SpreadRule | None = None) -> Mixture:
    """Return the distribution of a latent property over the pieces of a variant.

    Parameters
    ----------
    reference : ReferenceTable
    variant : Variant
        One of the table's variants.
    latent : str
        ``"density"``, ``"softening_temperature"``, ``"flexural_modulus"``, or a property
        that a method brings along.
    rule : SpreadRule, optional
        Of a property that is not in :data:`resinid.reference.rules.RULES`.

    Returns
    -------
    Mixture

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> reference = default_reference()
    >>> found = mixture(reference, reference.variants[0], "density")
    >>> round(sum(normal.weight for normal in found.normals), 9)
    1.0
    """
    if latent == "softening_temperature":
        return _softening(reference, variant)
    if latent == "flexural_modulus":
        return Mixture(_stiffness(reference, variant))
    rows = _own_rows(reference, variant, latent)
    if latent == "density" and variant.filler and not rows:
        return Mixture(_filled(reference, variant))
    return Mixture(
        _normals(reference, rows or _rows(reference, variant, latent), RULES[latent] if rule is None else rule)
    )


def _own_rows(reference: ReferenceTable, variant: Variant, name: str) -> list[Statement]:
    return list(_by_cell(reference).get((variant.resin, variant.name, name), ()))


@functools.lru_cache(maxsize=8)
def _by_cell(reference: ReferenceTable) -> Mapping[tuple[str, str, str], list[Statement]]:
    cells: dict[tuple[str, str, str], list[Statement]] = defaultdict(list)
    for row in reference.statements:
        cells[row.resin, row.variant, row.property].append(row)
    return dict(cells)


def _rows(reference: ReferenceTable, variant: Variant, name: str) -> list[Statement]:
    """Return the variant's own statements, else the base variant's, else any of the resin's that suits it.

    Rows of a foam are never borrowed, nor those of a variant with more filler than its own and than a tenth.
    """
    own = _own_rows(reference, variant, name)
    if own:
        return own
    load = _load(variant)
    suits = [
        other
        for other in reference.variants
        if other.resin == variant.resin and other.filler != GAS and _load(other) <= max(load, STIFFENING_LOAD)
    ]
    base = next(iter(suits), variant)
    return _own_rows(reference, base, name) or [row for other in suits for row in _own_rows(reference, other, name)]


def _load(variant: Variant) -> float:
    return variant.load_high or 0.0


def _stiffness(reference: ReferenceTable, variant: Variant) -> tuple[Normal, ...]:
    """Pool statements of flexural and tensile modulus, the latter widened."""
    foamed = variant.filler == GAS
    look = _own_rows if foamed or _load(variant) > STIFFENING_LOAD else _rows
    bent, pulled = look(reference, variant, "flexural_modulus"), look(reference, variant, "tensile_modulus")
    normals: list[Normal] = []
    kinds = [
        (bent, (0.0, 0.0), KIND_WEIGHT["flexural_modulus"]),
        (pulled, (0.0, TENSILE), KIND_WEIGHT["tensile_modulus"]),
    ]
    for rows, shift, share in _weighted(kinds):
        normals.extend(_normals(reference, rows, RULES["flexural_modulus"], shift, share))
    return tuple(normals)


def _normals(
    reference: ReferenceTable,
    rows: list[Statement],
    rule: SpreadRule,
    shift: tuple[float, float] = (0.0, 0.0),
    share: float = 1.0,
) -> tuple[Normal, ...]:
    usable = [(row, centre) for row in rows if (centre := _centre(row, rule)) is not None]
    if not usable:
        return ()
    says = [TRUST[row.obtained] * SAYS[row.kind] for row, _ in usable]
    lineages = [_lineage(reference, row) for row, _ in usable]
    together = {each: [s for s, of in zip(says, lineages, strict=True) if of == each] for each in lineages}
    # A copy does not narrow or widen what is said of others.
    once = {(of, row.low, row.typical, row.high): (row, at) for of, (row, at) in zip(lineages, usable, strict=True)}
    scatter = _scatter(list(once.values()), rule)
    raw: list[tuple[float, float, float, Statement]] = []
    for (row, centre), lineage, said in zip(usable, lineages, says, strict=True):
        spread = _own_spread(row, rule)
        if spread is None or row.kind not in RANGES:
            spread = max(scatter, spread or 0.0)
        sd = math.hypot(max(spread, rule.floor), rule.widening * DOUBT[row.obtained], shift[1])
        raw.append((centre + shift[0], sd, said * max(together[lineage]) / math.fsum(together[lineage]), row))
    total = math.fsum(weight for _, _, weight, _ in raw)
    return tuple(Normal(mean, sd, share * weight / total, row.source, row) for mean, sd, weight, row in raw)


def _lineage(reference: ReferenceTable, row: Statement) -> str:
    """Return what a statement goes back to; whoever prints the limits of a class prints one definition."""
    return "class" if row.kind == "class" else _lineages(reference).get(row.source, row.source)


@functools.lru_cache(maxsize=8)
def _lineages(reference: ReferenceTable) -> Mapping[str, str]:
    return {source.key: source.lineage or source.key for source in reference.sources}


def _scatter(usable: list[tuple[Statement, float]], rule: SpreadRule) -> float:
    """Return how far pieces lie from a single value, by the cell's ranges and by its other single values."""
    spreads = [(row.kind, centre, _own_spread(row, rule)) for row, centre in usable]
    ranges = [spread for kind, _, spread in spreads if spread is not None and kind in RANGES]
    singles = [centre for kind, centre, spread in spreads if spread is None or kind not in RANGES]
    between = statistics.stdev(singles) * len(singles) ** -0.2 if len(singles) > 1 else 0.0
    return max(rule.scatter, statistics.median(ranges) if ranges else 0.0, between)


def _own_spread(row: Statement, rule: SpreadRule) -> float | None:
    """Return the standard deviation that printed limits stand for; None for a single value."""
    if row.low is None or row.high is None or row.high <= row.low:
        return None
    width = rule.coordinate(row.high) - rule.coordinate(row.low)
    return width / (math.sqrt(12.0) if row.kind == "class" else 2 * Z90)


def _centre(row: Statement, rule: SpreadRule) -> float | None:
    """Return the centre of a statement; None for a lone limit, which is no distribution."""
    if row.typical is not None:
        return rule.coordinate(row.typical)
    if row.low is None or row.high is None:
        return None
    return (rule.coordinate(row.low) + rule.coordinate(row.high)) / 2


def _softening(reference: ReferenceTable, variant: Variant) -> Mixture:
    if variant.softens == "never":
        return Mixture((), never=1.0)
    parts = {"melting": ("melting",), "glass": ("glass",), "either": ("melting", "glass")}[variant.softens]
    groups = [group for part in parts for group in _transition(reference, variant, part) if group[0]]
    rule = RULES["softening_temperature"]
    normals: list[Normal] = []
    total = math.fsum(weight for _, _, weight in groups)
    for rows, shift, weight in groups:
        normals.extend(_normals(reference, rows, rule, shift, weight / total))
    return Mixture(tuple(normals))


def _transition(
    reference: ReferenceTable, variant: Variant, part: str
) -> list[tuple[list[Statement], tuple[float, float], float]]:
    """Return groups of statements of one transition, each with its bench shift and weight."""
    if part == "melting":
        rows = _rows(reference, variant, "melting_temperature")
        ideal = [row for row in rows if NEAR_EQUILIBRIUM in row.condition]
        seen = [row for row in rows if NEAR_EQUILIBRIUM not in row.condition]
        return _bench([(seen, "melting"), (ideal, NEAR_EQUILIBRIUM)])
    vicat = _rows(reference, variant, "vicat_softening_temperature")
    glass = _rows(reference, variant, "glass_transition_temperature")
    return _bench([(vicat, "vicat"), (glass, "glass")])


def _bench(
    kinds: list[tuple[list[Statement], str]],
) -> list[tuple[list[Statement], tuple[float, float], float]]:
    return _weighted([(rows, BENCH_SHIFT[kind], KIND_WEIGHT[kind]) for rows, kind in kinds])


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


def _filled(reference: ReferenceTable, variant: Variant) -> tuple[Normal, ...]:
    """Shift the base variant's density by the mass-fraction rule of mixtures.

    ``1/rho = (1 - w)/rho_base + w/rho_filler``; the spread of the load is carried
    along to first order.
    """
    base = next(v for v in reference.variants if v.resin == variant.resin)
    if variant.load_low is None or variant.load_high is None or variant.filler == GAS or base == variant:
        return ()
    filler = next(c.density for c in reference.components if c.name == variant.filler)
    load = (variant.load_low + variant.load_high) / 200.0
    load_sd = (variant.load_high - variant.load_low) / 200.0 / Z90
    out: list[Normal] = []
    for normal in mixture(reference, base, "density").normals:
        pure = math.exp(normal.mean)
        volume = (1 - load) / pure + load / filler
        # d ln(rho) = -d(volume)/volume; the base's own relative spread counts by its volume share.
        from_load = abs(1 / filler - 1 / pure) / volume * load_sd
        from_base = normal.sd * ((1 - load) / pure) / volume
        sd = math.hypot(from_load, from_base)
        out.append(replace(normal, mean=-math.log(volume), sd=sd))
    return tuple(out)
