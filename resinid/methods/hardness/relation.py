"""Shore hardness and stiffness: the one relation by which hardness is scored.

Hardness and stiffness are not two facts about a piece. An indenter is held up by the same
stiffness that a bent strip shows, so a Shore reading is a reading of the modulus with the
scatter of a relation, and bending and hardness are never counted twice. That scatter is
the same error for all hardness readings of one piece, Shore A and Shore D alike: a resin
that is stiffer than its hardness suggests is so on both scales.

The published relation,

    log10(E / MPa) = 0.0235 S - 0.6403,

``S`` the Shore A reading or the Shore D reading plus 50, is given for elastomers from
Shore A 20 to 80 and Shore D 30 to 85, and is used here for Shore A. For Shore D of plastics
it is far off: all 14 resins of which the reference table has a Shore D reading and a modulus
are stiffer than it says, by a factor of 11 in the mean (natural log 2.44, standard deviation
0.38), for a plastic yields under the pin where an elastomer springs back. So it is kept at
Shore D 20, where the two types meet, and from there the curve runs between the plastics and
the thermoplastic elastomers: through 450 MPa at Shore D 50 and 3800 MPa at 85. The 14 resins
lie 0.15 above it in the mean with a standard deviation of 0.37 (natural log); polyester
and polyurethane elastomers, six grades from memory and two from data sheets, lie 0.7 to 1.5 below it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

__all__ = ["SHORE_A", "SHORE_D", "Scale", "elastomer_modulus"]


def elastomer_modulus(shore_a: float) -> float:
    """Return the modulus [MPa] that goes with a Shore A reading, for elastomers.

    Parameters
    ----------
    shore_a : float
        Reading of type A, about 20 to 80.

    Notes
    -----
    Known as the relation of Ruess; as compared with a simulated indentation by Qi, Joyce
    and Boyce 2003, Rubber Chem. Technol. 76:419-435 (abstract read, coefficients from
    copies that agree).

    Examples
    --------
    >>> round(elastomer_modulus(50.0), 1)
    3.4
    """
    return float(10.0 ** (0.0235 * shore_a - 0.6403))


@dataclass(frozen=True, slots=True)
class Scale:
    """A Shore scale as a reading of the modulus.

    Parameters
    ----------
    name : str
        As printed.
    marks, moduli : tuple of float
        Readings, ascending, and the modulus [MPa] at each; between them its logarithm is
        a straight line.
    scatter : float
        Standard deviation of the natural log of the modulus about the curve.
    repeat : float
        Standard deviation of a reading from spot to spot, with time and hand [points].

    Notes
    -----
    Beyond the outermost marks an indenter tells only that a piece is softer or harder
    than that (ISO 868: below type A 10 or type D 20, and above type A 90, use another type).
    """

    name: str
    marks: tuple[float, ...]
    moduli: tuple[float, ...]
    scatter: float
    repeat: float

    def log_modulus(self, reading: float) -> float:
        """Return the natural log of the modulus [MPa] that goes with a reading.

        Examples
        --------
        >>> round(float(np.exp(SHORE_D.log_modulus(63.0))))
        994
        """
        return float(np.interp(reading, self.marks, np.log(self.moduli)))

    def slope(self, reading: float) -> float:
        """Return how the natural log of the modulus grows with a reading [1/point]."""
        index = min(max(int(np.searchsorted(self.marks, reading)), 1), len(self.marks) - 1)
        low, high = self.marks[index - 1], self.marks[index]
        return (self.log_modulus(high) - self.log_modulus(low)) / (high - low)

    def beyond(self, reading: float) -> int:
        """Return -1 or 1 where a reading lies on or beyond the scale's lower or upper end, else 0."""
        return -1 if reading <= self.marks[0] else int(reading >= self.marks[-1])


SHORE_A: Final = Scale(
    "Shore A",
    (10.0, 90.0),
    (elastomer_modulus(10.0), elastomer_modulus(90.0)),
    scatter=0.5,
    repeat=3.0,
)
"""Type A. Scatter: Gent 1958 (Trans. Inst. Rubber Ind. 34:46-57, formula from memory) and the relation
above differ by up to 0.63 from Shore A 20 to 90, 0.4 in the root mean square; repeat: common practice,
no source."""

SHORE_D: Final = Scale(
    "Shore D",
    (20.0, 50.0, 85.0, 92.0),
    (elastomer_modulus(70.0), 450.0, 3800.0, 5800.0),
    scatter=0.6,
    repeat=2.0,
)
"""Type D. Scatter: covers plastics and elastomers about the curve, see above; repeat: common practice,
no source. Above 85 the curve goes on as steeply."""
