"""What is moulded or printed on a piece: resin codes and material symbols."""

from resinid.methods.marking.method import METHOD

__all__ = ["METHOD"]
