"""Infrared spectrum: the positions of its bands, or the polymer whose spectrum it is like."""
