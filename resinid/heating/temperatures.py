"""At which temperatures each kind of plastic flows, and at which it is a hazard, as arrays over one grid."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.heating.melt_windows import ONSET_MARGIN, window_of

if TYPE_CHECKING:
    from resinid.arrays import Array
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.engine import Model


__all__ = ["OVERHEATED", "TEMPERATURES", "Temperatures", "barred_resins"]

TEMPERATURES: Final = np.arange(100.0, 301.0, 5.0)
"""[degC] Melt temperatures that are considered. What melts only above the last is left: workshop
plates and ovens are not made for it, and from there on fluoropolymers give off hydrogen fluoride
(hazards of the table); the step is about what a plate can be set to (common practice, no source)."""


FULLY: Final = 10.0
"""[K] Above the softening of nearly all pieces, at which a layer counts as melted through (common practice)."""

MOLTEN: Final = 0.95
"""Share of a resin's pieces that are molten where it counts as molten (this project's choice)."""


OVERHEATED: Final = 0.2
"""How much a resin that may be melted counts past the onset of its fume beside one that must not be heated (this
project's choice): that fume is what every melt's extraction and precautions are asked for. So up to 5 % of
polypropylene may be overheated in a piece of polyamide where 1 % of PVC may not."""


@dataclass(frozen=True, slots=True, eq=False)
class Temperatures:
    """What happens to each kind of plastic at each of :data:`TEMPERATURES`.

    Parameters
    ----------
    barred : numpy.ndarray
        One for each kind that must not be heated at all, else zero; shape (kinds,). Flame-retarded
        kinds are among them: no temperature is known at which their fume is harmless.
    hazard : numpy.ndarray
        One where a kind must not be heated, or is less than :data:`ONSET_MARGIN` below the onset
        of a hazard that a melt must stay below, :data:`OVERHEATED` where it may
        be melted below that; shape (temperatures, kinds).
    melts : numpy.ndarray
        One where a kind flows and is not harmed, else zero; shape (temperatures, kinds).
    """

    barred: Array
    hazard: Array
    melts: Array

    @classmethod
    def of(cls, model: Model) -> Temperatures:
        """Return the arrays for a reference table made ready for scoring."""
        reference = model.reference
        symbols = reference.symbols
        by_resin = np.append(barred_resins(reference), 0.0)
        barred = np.maximum(by_resin[model.kind_owner], model.retarded)
        hazard = np.tile(barred, (TEMPERATURES.size, 1))
        melts = np.zeros(hazard.shape)
        for kind, owner in enumerate(model.kind_owner[:-1].tolist()):
            window = window_of(reference, symbols[owner])
            if window is not None:
                lowest = min(window.coolest, _molten_from(model, kind))
                melts[:, kind] = (lowest <= TEMPERATURES) & (window.unharmed >= TEMPERATURES)
            for each in reference.hazards:
                if each.applies_to == symbols[owner] and each.limits_melt and each.onset is not None:
                    past = each.onset - ONSET_MARGIN < TEMPERATURES
                    hazard[past, kind] = np.maximum(hazard[past, kind], 1.0 if each.bar == "yes" else OVERHEATED)
        return cls(barred, hazard, melts)


def _molten_from(model: Model, kind: int) -> float:
    """Return from which temperature on a kind flows because its crystals are molten [degC]; infinite if it has none.

    Printed melt temperatures are those of injection moulding; under a press a crystalline resin flows as
    soon as it is molten through. A glassy one only softens, so the printed temperatures stand.
    """
    rows = np.flatnonzero(model.kind_gathering[:-1, kind])
    weights = model.kind_gathering[rows, kind]
    if model.rows[int(rows[weights.argmax()])].softens != "melting":
        return float("inf")
    latent = model.latent("softening_temperature")
    finite = np.isfinite(latent.values)
    mass = weights @ latent.mass[rows][:, finite]
    reached = np.cumsum(mass) / mass.sum()
    return float(np.interp(MOLTEN, reached, latent.values[finite])) + FULLY


def barred_resins(reference: ReferenceTable) -> Array:
    """Return one for each resin that must not be heated, else zero; shape (resins,).

    A resin of which the table names no hazard is treated as one.
    """
    barred = []
    for symbol in reference.symbols:
        hazards = [hazard for hazard in reference.hazards if hazard.applies_to == symbol]
        barred.append(not hazards or any(hazard.bar == "yes" for hazard in hazards))
    return np.array(barred, dtype=np.float64)
