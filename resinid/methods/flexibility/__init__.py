"""Stiffness from a bent strip, feel, whitening and snap."""
