"""Differential scanning calorimetry: melting peak, heat of fusion, glass transition."""

from resinid.methods.dsc.method import METHOD

__all__ = ["METHOD"]
