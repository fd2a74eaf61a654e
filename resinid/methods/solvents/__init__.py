"""Spot tests with a drop of a solvent: nothing, softening, swelling, dissolving or crazing."""

from resinid.methods.solvents.method import METHOD

__all__ = ["METHOD"]
