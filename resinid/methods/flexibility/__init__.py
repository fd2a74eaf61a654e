"""Stiffness from a bent strip, feel, whitening and snap."""

from resinid.methods.flexibility.method import METHOD

__all__ = ["METHOD"]
