"""What arrays of numbers are called in annotations."""

from __future__ import annotations

from typing import TypeAlias

import numpy as np
from numpy.typing import NDArray

__all__ = ["Array"]

Array: TypeAlias = NDArray[np.float64]
"""Array of floats."""
