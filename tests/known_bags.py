"""Bags of marked pieces of which some were measured, so that they may have leave: marks alone clear none."""

from __future__ import annotations

from typing import Final

from resinid import Batch, default_reference
from resinid.batches.mixing_rules import mixing_rules
from resinid.batches.ranges import quantiles

__all__ = ["known", "pieces_of", "proved"]

RULES: Final = mixing_rules(default_reference())

SELDOM: Final = frozenset({"PP", "PE-HD", "PE-MD", "PE-LLD", "PE-LD", "PS-E"})
"""Resins of which so few goods are flame-retarded that nothing need be weighed."""

RETARDED: Final = {RULES.model.candidates[k] for k in RULES.model.kind_owner[RULES.model.retarded]}
"""Resins of which some goods are flame-retarded, which only their density tells."""


def pieces_of(resin: str, number: int = 3) -> list[list[dict[str, str]]]:
    """Measured pieces that read as a resin's most often do: softening, no halogen, and density where it tells."""
    density, softening = (quantiles(RULES, resin, name)[1] for name in ("density", "softening_temperature"))
    piece = [{"test": "copper_wire", "outcome": "no green"}]
    if resin in RETARDED and resin not in SELDOM:
        piece.append({"test": "density", "density": f"{density:.3f} ± 0.003 g/cm3"})
    if softening > 0.0:
        piece.append({"test": "softening", "temperature": f"{min(softening, 295.0):.0f} ± 2 degC"})
    return [piece] * number


def known(name: str, process: str = "unknown", remarks: tuple[str, ...] = (), **marked: int) -> Batch:
    """A bag with three measured pieces of each resin of which thirty or more are marked."""
    return proved(name, {resin.replace("_", "-"): count for resin, count in marked.items()}, process, remarks)


def proved(name: str, marked: dict[str, int], process: str = "unknown", remarks: tuple[str, ...] = ()) -> Batch:
    """The same by the names of the resins; marks alone clear no bag."""
    pieces = [piece for resin, count in marked.items() if count >= 30 for piece in pieces_of(resin)]
    return Batch.of(name, marked=marked, pieces=pieces, process=process, remarks=list(remarks), allow=["copper wire"])
