"""Whether a chip floats, hovers or sinks in a known liquid."""

from resinid.methods.float_test.method import METHOD

__all__ = ["METHOD"]
