"""How hard a piece is: Shore A and Shore D readings, and whether a fingernail marks it."""

from resinid.methods.hardness.method import METHOD

__all__ = ["METHOD"]
