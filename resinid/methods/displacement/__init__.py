"""Density by weighing in a liquid, in a cylinder, by overflow, or measured elsewhere."""
