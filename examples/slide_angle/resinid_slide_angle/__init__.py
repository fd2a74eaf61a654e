"""How steeply a steel plank is tilted when a piece starts to slide: a method for resinid."""

from resinid_slide_angle.method import METHOD

__all__ = ["METHOD"]
