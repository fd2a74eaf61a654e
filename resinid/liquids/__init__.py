"""Test liquids: how dense a bath is, and how well that is known."""

from __future__ import annotations

from resinid.liquids._model import LiquidModel
from resinid.liquids.catalogue import MODELS, model, reagent
from resinid.liquids.concentration import BASES, amount_of, mass_fraction, mix_volumes, strength_fraction
from resinid.liquids.liquid import Liquid, pure_water
from resinid.liquids.measured import SCALES, from_hydrometer, from_weighing
from resinid.liquids.recipe import from_recipe
from resinid.liquids.water import water_density

__all__ = [
    "BASES",
    "MODELS",
    "SCALES",
    "Liquid",
    "LiquidModel",
    "amount_of",
    "from_hydrometer",
    "from_recipe",
    "from_weighing",
    "mass_fraction",
    "mix_volumes",
    "model",
    "pure_water",
    "reagent",
    "strength_fraction",
    "water_density",
]


def __dir__() -> list[str]:
    """Return the public names only."""
    return __all__
