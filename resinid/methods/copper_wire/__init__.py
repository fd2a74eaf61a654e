"""A hot copper wire turns a flame green where a piece holds chlorine or bromine."""

from resinid.methods.copper_wire.method import METHOD

__all__ = ["METHOD"]
