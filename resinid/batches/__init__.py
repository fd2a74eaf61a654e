"""Bags of pieces: what is in them, and whether two may be melted together."""
