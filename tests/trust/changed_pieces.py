"""Pieces changed as the table does not know, and answers under another prior."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from simulate import SLOTS

from resinid.quantities import ASPECTS
from resinid.scoring.prior import UNLISTED

if TYPE_CHECKING:
    import numpy as np
    from simulate import Piece

MOST_TESTS: Final = 6
TARGET: Final = 0.08
"""Expected calibration error allowed where the world is otherwise than assumed."""

FILLERS: Final = {"talc": (2.75, 5.0), "calcium carbonate": (2.71, 2.0), "E-glass": (2.58, 8.0), "wood": (1.45, 4.0)}
"""Density [g/cm3] and by how much a mass share of one would stiffen (of the order of
Halpin & Kardos 1976, Polym. Eng. Sci. 16:344-352, from memory)."""

REPORTED: Final = 0.8
"""Share of pieces of an unlisted plastic that should not be given a listed resin's name above 50 %."""

MEASURED: Final = ("density", "softening", "modulus")
PRIORS: Final = (UNLISTED, 0.05, 0.08, 0.12)
"""Priors of "none of these" to compare: ours, and larger ones."""

SCALAR_SLOTS: Final = tuple(slot for slot in SLOTS if slot not in ASPECTS)


def filled(rng: np.random.Generator, piece: Piece) -> Piece:
    """Fill with 5 to 40 %: 1/rho = (1 - w)/rho_resin + w/rho_filler."""
    density, stiffening = FILLERS[str(rng.choice(list(FILLERS)))]
    load, own = rng.uniform(0.05, 0.40), piece.values["density"]
    return piece.changed(
        density=1 / ((1 - load) / own + load / density),
        flexural_modulus=piece.values["flexural_modulus"] * (1 + stiffening * load),
    )


def foamed(rng: np.random.Generator, piece: Piece) -> Piece:
    """Foam to 30 to 95 % of the density; the modulus goes with its square (Gibson & Ashby, from memory)."""
    left = rng.uniform(0.3, 0.95)
    return piece.changed(
        density=piece.values["density"] * left, flexural_modulus=piece.values["flexural_modulus"] * left**2
    )


def with_prior(unlisted: float, none: float, listed: float) -> tuple[float, float]:
    """Return the probabilities of "none of these" and of a resin, were the prior of the former ``unlisted``."""
    other, same = unlisted / UNLISTED, (1 - unlisted) / (1 - UNLISTED)
    whole = none * other + (1 - none) * same
    return none * other / whole, listed * same / whole
