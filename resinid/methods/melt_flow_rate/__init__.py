"""Melt flow rate, at the condition it was measured at."""

from resinid.methods.melt_flow_rate.method import METHOD

__all__ = ["METHOD"]
