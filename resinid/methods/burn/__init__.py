"""How a chip burns: ignition, flame, smoke, drips, whether it goes out, and the smell after it."""

from resinid.methods.burn.method import METHOD

__all__ = ["METHOD"]
