"""What all pieces of a variant are like, those that stray from what is published of it included."""

from __future__ import annotations

import math
from dataclasses import replace
from typing import TYPE_CHECKING

from resinid.reference.mixture import Mixture, mixture
from resinid.reference.rules import RULES

if TYPE_CHECKING:
    from resinid.reference.entries import Variant
    from resinid.reference.table import ReferenceTable

__all__ = ["pieces"]


def pieces(reference: ReferenceTable, variant: Variant, latent: str) -> Mixture:
    """Return the published mixture and, for the share that strays, the same with the rule's deviation added."""
    found, (share, wider) = mixture(reference, variant, latent), RULES[latent].stray
    if not share:
        return found
    usual = [replace(normal, weight=normal.weight * (1 - share)) for normal in found.normals]
    strays = [replace(n, weight=n.weight * share, sd=math.hypot(n.sd, wider)) for n in found.normals]
    return replace(found, normals=(*usual, *strays))
