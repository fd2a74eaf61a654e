"""The stated rule by which published statements become a distribution.

For each resin and variant, each scored property is a mixture of normals in the
property's own coordinate (natural logarithm for density and modulus, degC for
temperature), one normal a statement:

* printed limits of grades or of measured pieces are taken as the 5 % and 95 % quantiles of pieces; between
  limits that define a class any value is as likely, so the normal has that spread, 1/sqrt(12) of the width;
* about a single value, of a grade or of the resin as a whole, pieces scatter by the property's ``scatter``, or
  as the cell's ranges are wide, or by the bandwidth that the cell's n single values ask for, ``s n**-0.2``
  with their standard deviation ``s`` (Scott 1992, Multivariate Density Estimation, Wiley, section 6.2, from
  memory), whichever is most; a grade's own tolerance is taken where it is more;
* the grade of the source widens the normal (``widening``), because a value that
  was copied or recalled may be off as a whole;
* no normal is narrower than ``floor``, since real pieces are pigmented, aged,
  moist and moulded differently;
* statements are weighted by the grade of their source (:data:`TRUST`) and their kind (:data:`SAYS`); those of
  one lineage in one cell share that weight, since a copy tells nothing new, and so do all definitions of a class;
* some pieces of every variant stray (:data:`STRAY`): they are filled, foamed,
  toughened or blended as no listed variant is, and scatter more by ``stray``.

The numbers below are this project's choices ("common practice, no source"), set
by judgement and tested for calibration, but for those of straying, which are fitted;
they are the only place to change them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

__all__ = [
    "BENCH_SHIFT",
    "DOUBT",
    "KIND_WEIGHT",
    "NEAR_EQUILIBRIUM",
    "RULES",
    "SAYS",
    "STIFFENING_LOAD",
    "STRAY",
    "TENSILE",
    "TRUST",
    "UNSOURCED",
    "Z90",
    "SpreadRule",
]

Z90: Final = 1.6448536269514722
"""95 % quantile of the standard normal, so that low..high holds nine in ten."""

TRUST: Final = MappingProxyType(
    {
        "standard": 3.0,
        "peer-reviewed": 3.0,
        "handbook": 3.0,
        "dataset": 2.0,
        "data sheet": 2.0,
        "trade table": 1.0,
        "common practice": 0.5,
        "memory": 0.5,
    }
)
"""Weight of one source in a cell by its grade."""

UNSOURCED: Final = frozenset({"common practice", "memory"})
"""Grades that cite no publication."""

SAYS: Final = MappingProxyType({"class": 6.0, "range": 3.0, "typical": 1.0, "grade": 1.0, "pieces": 3.0})
"""How much a statement says of pieces by its kind, as a factor of the trust in its source.

Ranges over grades and measured pieces speak for many grades, a single value for one. The limits of a class
hold for all pieces that bear its name, though they do not say where between them a piece lies. That classes
say most was to be otherwise: with 0.5 for them the published pieces of :data:`STRAY` cost 0.006 nat more with a
uniform prior, and polyethylenes left the classes of ASTM D2238 (common practice, no source; tests/reference).
"""

STRAY: Final = 0.1
"""Share of a variant's pieces that stray from what is published of it, in density and stiffness.

Fitted, with how far they stray (0.6 of ``unlisted``, rounded), on the 105 published pieces of
tests/trust/measured_pieces.csv, a source a row, with all resins taken for equally likely. Their mean log
loss is 1.575 without, 1.537 with these, and least (1.536) with a share of 0.2 that strays as far; 0.1 is
about the smallest share within one standard error of that (the one-standard-error rule:
Breiman, Friedman, Olshen, Stone 1984, Classification and Regression Trees, section 3.4.3, from
memory). Fitted to all other publishers' pieces, the loss is 1.539 with this share, better than
without by 0.036 with a standard error of 0.025. By their notes 8 of the 105 are of a kind that
the table lacks. ``pytest -m slow -s tests/trust/test_stray.py`` prints all of this.
"""


@dataclass(frozen=True, slots=True)
class SpreadRule:
    """How statements of one property become normals.

    Parameters
    ----------
    logarithmic : bool
        Whether the coordinate is the natural logarithm.
    scatter : float
        Standard deviation of pieces about a single printed value [coordinate].
    floor : float
        Narrowest standard deviation of a normal [coordinate].
    widening : float
        Standard deviation added for a statement from memory [coordinate]; other
        grades add the share in :data:`DOUBT`.
    unlisted : float
        Standard deviation added to every listed resin to stand for one that is not
        listed [coordinate].
    any_plastic : tuple of (float, float)
        Mean and standard deviation of what any plastic may be [coordinate], the
        broad part of "none of these".
    stray : tuple of (float, float)
        Share of a variant's pieces that stray from what is published of it, and the
        standard deviation added for them [coordinate].
    """

    logarithmic: bool
    scatter: float
    floor: float
    widening: float
    unlisted: float
    any_plastic: tuple[float, float]
    stray: tuple[float, float] = (0.0, 0.0)

    def coordinate(self, value: float) -> float:
        """Return the coordinate of a value in the property's canonical unit."""
        return math.log(value) if self.logarithmic else value


RULES: Final = MappingProxyType(
    {
        "density": SpreadRule(
            logarithmic=True,
            scatter=0.006,
            floor=0.003,
            widening=0.006,
            unlisted=0.10,
            any_plastic=(0.14, 0.35),
            stray=(STRAY, 0.06),
        ),
        "softening_temperature": SpreadRule(
            logarithmic=False, scatter=4.0, floor=2.5, widening=4.0, unlisted=40.0, any_plastic=(180.0, 90.0)
        ),
        "flexural_modulus": SpreadRule(
            logarithmic=True,
            scatter=0.20,
            floor=0.12,
            widening=0.20,
            unlisted=0.8,
            any_plastic=(6.7, 2.0),
            stray=(STRAY, 0.5),
        ),
    }
)
"""By latent property: the rule of its statements. Softening does not stray: filler and gas
leave it where it is, and published pieces agree (see :data:`STRAY`)."""

DOUBT: Final = MappingProxyType(
    {
        "standard": 0.0,
        "peer-reviewed": 0.25,
        "handbook": 0.25,
        "dataset": 0.5,
        "data sheet": 0.25,
        "trade table": 0.75,
        "common practice": 1.0,
        "memory": 1.0,
    }
)
"""Share of a rule's ``widening`` that a grade of source adds."""

NEAR_EQUILIBRIUM: Final = "near-equilibrium"
"""Condition of a melting point extrapolated to perfect crystals."""

BENCH_SHIFT: Final = MappingProxyType(
    {
        "melting": (0.0, 3.0),
        NEAR_EQUILIBRIUM: (-6.0, 5.0),
        "vicat": (10.0, 10.0),
        "glass": (15.0, 12.0),
    }
)
"""Shift and its standard deviation [K] from a printed transition to where a chip gives way.

A chip on a hot plate is seen to melt at about the melting peak; crystals of real
pieces melt below the extrapolated equilibrium point; glassy resins dent near the
Vicat point and smear some tens of kelvins above the glass transition. Common
practice, no source.
"""

KIND_WEIGHT: Final = MappingProxyType(
    {
        "melting": 3.0,
        NEAR_EQUILIBRIUM: 1.0,
        "vicat": 1.0,
        "glass": 1.0,
        "flexural_modulus": 2.0,
        "tensile_modulus": 1.0,
    }
)
"""Weight of a kind of statement against the other kinds that speak for the same property: what is
nearer to what the bench sees counts more (common practice, no source)."""

TENSILE: Final = 0.10
"""Standard deviation of the natural log of tensile against flexural modulus of one
material (common practice, no source)."""

STIFFENING_LOAD: Final = 10.0
"""[mass %] Above this load a filler stiffens the resin, so the base variant's modulus does not speak for it."""
