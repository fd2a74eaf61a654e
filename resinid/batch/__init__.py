"""Bags of pieces: what is in them, whether two belong together, and how to melt what may be melted."""
