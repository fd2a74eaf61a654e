"""Density by weighing in a liquid, in a cylinder, by overflow, or measured elsewhere."""

from resinid.methods.displacement.method import METHOD

__all__ = ["METHOD"]
