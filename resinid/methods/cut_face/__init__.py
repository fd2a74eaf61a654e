"""Whether a fresh cut is solid or full of cells."""

from resinid.methods.cut_face.method import METHOD

__all__ = ["METHOD"]
