"""What a stretched, folded or dented piece does when it is let go."""

from resinid.methods.recovery.method import METHOD

__all__ = ["METHOD"]
