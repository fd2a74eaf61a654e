"""Test liquids: how dense a bath is, and how well that is known."""

from __future__ import annotations

from resinid.liquids._model import LiquidModel
from resinid.liquids.catalogue import MODELS, model, oil_of, reagent
from resinid.liquids.concentration import BASES, amount_of, mass_fraction, mix_volumes, strength_fraction
from resinid.liquids.liquid import Liquid, kitchen_oil, pure_water
from resinid.liquids.measured import SCALES, from_hydrometer, from_weighing
from resinid.liquids.oils import OILS
from resinid.liquids.recipe import from_recipe
from resinid.liquids.water import water_density

__all__ = [
    "BASES",
    "MODELS",
    "OILS",
    "SCALES",
    "Liquid",
    "LiquidModel",
    "amount_of",
    "from_hydrometer",
    "from_recipe",
    "from_weighing",
    "kitchen_oil",
    "mass_fraction",
    "mix_volumes",
    "model",
    "oil_of",
    "pure_water",
    "reagent",
    "strength_fraction",
    "water_density",
]


def __dir__() -> list[str]:
    """Return the public names only."""
    return __all__
