"""How much water a piece takes up in a day."""

from resinid.methods.water_uptake.method import METHOD

__all__ = ["METHOD"]
