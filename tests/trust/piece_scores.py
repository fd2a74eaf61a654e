"""How well the table's distributions foretell pieces that were not used to build it.

    python tests/trust/piece_scores.py

For each published piece and property: the share of that resin's pieces that the table says lie below (the
probability integral transform: Dawid 1984, J. R. Stat. Soc. A 147:278-292, from memory), whether the central 50
and 90 % intervals hold it, and the log of the stated density (the log score: Good 1952, J. R. Stat. Soc. B
14:107-114, from memory) in the property's own coordinate: per unit of ln(density), ln(modulus) or K.
"""

from __future__ import annotations

import csv
import math
import sys
from collections import defaultdict
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
from scipy.stats import norm

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))  # run as a script: helpers of tests/

from baselines import LATENTS, features, measured

from resinid import default_reference
from resinid.reference.mixture import mixture
from resinid.reference.rules import BENCH_SHIFT, NEAR_EQUILIBRIUM, RULES

if TYPE_CHECKING:
    from collections.abc import Iterable

    from numpy.typing import NDArray

    from resinid.reference.mixture import Normal
    from resinid.reference.table import ReferenceTable

    Array = NDArray[np.float64]

__all__ = ["Seen", "filaments", "normals_of", "pieces", "quantiles", "scored", "table"]

LEVELS: Final = (0.5, 0.9)
"""Central intervals whose coverage is counted."""

PLATE: Final = {"melting_temperature": "melting", "vicat_softening_temperature": "vicat"}
"""Relation between a hot plate and what is printed of a piece, as ``BENCH_SHIFT`` calls it."""

FILAMENTS: Final = Path(__file__).with_name("filament_densities.csv")


@dataclass(frozen=True, slots=True)
class Seen:
    """One published value of one piece, with what the table said of it before."""

    resin: str
    latent: str
    share_below: float
    log_density: float

    def inside(self, level: float) -> bool:
        """Return whether the central interval of that level holds the value."""
        return abs(self.share_below - 0.5) <= level / 2


def normals_of(reference: ReferenceTable, resin: str, latent: str, printed: str = "") -> list[Normal]:
    """Return the distribution over all pieces of a resin as weighted normals, straying pieces among them.

    Of the transition called ``printed``, without what a hot plate scatters about it: a published melting point is
    held against what melting points are published, not against where chips give way.
    """
    share, further = RULES[latent].stray
    out = []
    for variant in reference.variants:
        if variant.resin == resin:
            for plain in mixture(reference, variant, latent).normals:
                normal = plain
                row = plain.statement
                if row is not None and row.property == printed and NEAR_EQUILIBRIUM not in row.condition:
                    normal = replace(plain, sd=math.sqrt(plain.sd**2 - BENCH_SHIFT[PLATE[printed]][1] ** 2))
                weight = normal.weight * variant.weight
                out.append(replace(normal, weight=weight * (1 - share)))
                if share:
                    out.append(replace(normal, weight=weight * share, sd=math.hypot(normal.sd, further)))
    return out


def scored(normals: list[Normal], resin: str, latent: str, value: float) -> Seen:
    """Return what weighted normals say of one value, given that the piece has one."""
    weight, mean, sd = (np.array([getattr(n, name) for n in normals]) for name in ("weight", "mean", "sd"))
    weight = weight / weight.sum()
    below = float(weight @ norm.cdf(value, mean, sd))
    return Seen(resin, latent, below, math.log(float(weight @ norm.pdf(value, mean, sd)) + 1e-300))


def pieces(reference: ReferenceTable) -> list[Seen]:
    """Return what the table says of every published value of measured_pieces.csv."""
    out = []
    for row in measured():
        for latent, value in zip(LATENTS, features(row), strict=True):
            printed = ""
            if latent == LATENTS[1]:
                printed = "melting_temperature" if row["melting_degC"] else "vicat_softening_temperature"
            normals = normals_of(reference, row["resin"], latent, printed)
            if normals and math.isfinite(value) and not (latent == LATENTS[1] and row["never_melts"]):
                out.append(scored(normals, row["resin"], latent, float(value)))
    return out


def filaments(reference: ReferenceTable) -> list[Seen]:
    """Return what the table says of densities that makers of filament state, a maker once (nominal values)."""
    with FILAMENTS.open(encoding="utf-8", newline="") as lines:
        rows = list(csv.DictReader(lines, strict=True))
    found = {resin: normals_of(reference, resin, "density") for resin in {row["resin"] for row in rows}}
    return [
        scored(found[row["resin"]], row["resin"], "density", math.log(float(row["density_g_cm3"])))
        for row in rows
        for _ in range(int(row["makers"]))
    ]


def quantiles(reference: ReferenceTable, resin: str, latent: str, shares: Iterable[float]) -> list[float]:
    """Return quantiles of a property over the pieces of a resin, in its canonical unit."""
    normals = normals_of(reference, resin, latent)
    weight, mean, sd = (np.array([getattr(n, name) for n in normals]) for name in ("weight", "mean", "sd"))
    grid = np.linspace((mean - 8 * sd).min(), (mean + 8 * sd).max(), 20_001)
    below = norm.cdf(grid[:, None], mean, sd) @ (weight / weight.sum())
    found = np.interp(list(shares), below, grid)
    return [float(value) for value in (np.exp(found) if RULES[latent].logarithmic else found)]


def table(seen: list[Seen]) -> str:
    """Return lines: coverage, mean and tenths of the share below, and log score, pooled and by resin."""
    lines = [
        f"  {'':28}{'n':>5}{'in 50 %':>9}{'in 90 %':>9}{'mean below':>12}{'log score':>11}  tenths of the share below"
    ]
    groups: dict[tuple[str, str], list[Seen]] = defaultdict(list)
    for one in seen:
        groups[one.latent, "all resins"].append(one)
        groups[one.latent, one.resin].append(one)
    for (latent, resin), some in sorted(groups.items(), key=lambda g: (g[0][0], g[0][1] != "all resins", g[0][1])):
        inside = [np.mean([one.inside(level) for one in some]) for level in LEVELS]
        below = np.array([one.share_below for one in some])
        tenths = " ".join(f"{n:2}" for n in np.histogram(below, 10, (0, 1))[0])
        score = np.mean([one.log_density for one in some])
        name = f"{latent}" if resin == "all resins" else f"    {resin}"
        lines.append(
            f"  {name:28}{len(some):5}{inside[0]:9.0%}{inside[1]:9.0%}{below.mean():12.2f}{score:11.2f}  {tenths}"
        )
    return "\n".join(lines)


if __name__ == "__main__":
    print(table(pieces(default_reference())))
    print("nominal densities that makers of filament state (reported only)")
    print(table(filaments(default_reference())))
