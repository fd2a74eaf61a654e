"""What a method's own test suite can call: a conformance check and hypothesis strategies."""

from resinid.testing.conformance import check_method
from resinid.testing.strategies import observations, readings

__all__ = ["check_method", "observations", "readings"]
