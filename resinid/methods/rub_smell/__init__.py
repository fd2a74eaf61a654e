"""What a rubbed piece smells of: camphor tells of celluloid."""

from resinid.methods.rub_smell.method import METHOD

__all__ = ["METHOD"]
