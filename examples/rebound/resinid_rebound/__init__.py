"""How high a steel ball comes back from a piece: a method for resinid."""

from resinid_rebound.method import METHOD

__all__ = ["METHOD"]
