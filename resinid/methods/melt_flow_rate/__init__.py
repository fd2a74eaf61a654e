"""Melt flow rate, at the condition it was measured at."""
