"""Likelihood scoring: one latent value a property, shared by all its observations."""
