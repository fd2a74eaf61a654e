"""Melt behaviour: where a chip gives way on a hot plate, and what its melt is like."""

from __future__ import annotations

from typing import Final

from resinid.methods.contract import Method
from resinid.methods.melt.heated import CAUTION, Charring, HotPlate, Softening
from resinid.methods.melt.looks import MeltClarity, MeltOnset, MeltPull, MeltRunniness

__all__ = ["METHOD"]

METHOD: Final = Method(
    name="melt behaviour",
    version="1",
    summary="Softening temperature, hot-plate steps, charring, and what the melt looks like.",
    caution=CAUTION,
    sources=("common practice, no source",),
    tests=(Softening, HotPlate, Charring, MeltClarity, MeltPull, MeltRunniness, MeltOnset),
)
