"""The melt plan: how hot, how long, how much."""
