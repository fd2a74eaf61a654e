"""Infrared spectrum: the positions of its bands, or the polymer whose spectrum it is like."""

from resinid.methods.infrared.method import METHOD

__all__ = ["METHOD"]
