"""Where a chip gives way on a hot plate, and what its melt is like."""

from resinid.methods.melt.method import METHOD

__all__ = ["METHOD"]
