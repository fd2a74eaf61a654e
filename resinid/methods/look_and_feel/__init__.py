"""What can be told without a tool: see through it, touch it, drop it."""

from resinid.methods.look_and_feel.method import METHOD

__all__ = ["METHOD"]
