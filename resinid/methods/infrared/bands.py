"""The table of bands: where each band of a spectrum lies, seen by reflection and with light passed through.

A strong band stands lower in a spectrum reflected on a crystal than where light went through a
film, for refraction rises on its low side. Where print gives both positions the table has both; where
it gives one, the other is a general shift away and less certain.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from pathlib import Path
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import Faults, TableError
from resinid.reference.entries import GRADES
from resinid.reference.files import read_csv
from resinid.reference.line import Line
from resinid.reference.rules import UNSOURCED

if TYPE_CHECKING:
    from resinid.arrays import Array

__all__ = ["COLUMNS", "CONTAMINANT", "FOLDER", "HOW", "RANGE", "RECALLED", "RISE", "Bands", "bands", "rise"]

FOLDER: Final = Path(__file__).parent

RANGE: Final = (400.0, 4000.0)
"""[1/cm] The mid infrared."""

HOW: Final = ("reflected", "through")
"""How a spectrum was taken: on a crystal, or with light passed through a film or a pressed salt disc."""

RECALLED: Final = 4.0
"""[1/cm] Further standard deviation of a position that was recalled, so that it tells less. Of 186
recalled positions that were later read the root mean square difference was 3.1, at most 12, but for
the broad O-H band of phenol-formaldehyde, 86 off; those that nobody was found to print may be worse."""

RISE: Final = MappingProxyType({"strong": (7.2, 6.9), "medium": (1.6, 0.9), "weak": (0.8, 0.7)})
"""[1/cm] How much higher a band of that strength stands at 1000 1/cm with light passed through than by
reflection on diamond at 45 degrees, and the standard deviation of that.

Mean and scatter over 68 bands (45 strong, 11 medium, 12 weak) of PS, PC, PVC, PET and silicone
(Zhang and others 2020), PMMA (Tsuda and others 2018) and PE (David and others 2022): the maximum of
absorption less that of the reflection that Fresnel's equations give from the same n and k. At other
wavenumbers it goes with the inverse square root, the likeliest of the powers 0, 1/2, 1, 3/2 and 2
for the strong bands. Left out of the fit in turn, the strong bands of a polymer are foretold
within 4.6 (PC, PVC, PMMA, PE), 5.5 (PS, all lower), 9 (silicone) and 11 (PET, all higher)."""

COLUMNS: Final = ("spectrum", "reflected", "through", "strength", "source", "locator", "obtained", "note")
CONTAMINANT: Final = "contaminant: "


@dataclass(frozen=True, slots=True)
class Bands:
    """The bands of one spectrum, in ascending order.

    Attributes
    ----------
    position : ndarray, shape (bands,)
        [1/cm].
    further : ndarray, shape (bands,)
        Standard deviation of each position besides that of a reading [1/cm].
    strength : tuple of str
        A key of :data:`RISE` for each.
    sources : frozenset of str
        Keys of ``sources.csv``.
    """

    position: Array
    further: Array
    strength: tuple[str, ...]
    sources: frozenset[str]


def rise(strength: str, wavenumber: float) -> tuple[float, float]:
    """Return how much higher a band stands with light passed through than by reflection, and the scatter of that.

    Parameters
    ----------
    strength : str
        A key of :data:`RISE`.
    wavenumber : float
        [1/cm].

    Returns
    -------
    tuple of float
        [1/cm].

    Examples
    --------
    >>> "{:.1f} +- {:.1f}".format(*rise("strong", 1240.0))
    '6.5 +- 6.2'
    """
    mean, scatter = RISE[strength]
    scale = math.sqrt(1000.0 / wavenumber)
    return mean * scale, scatter * scale


@functools.cache
def bands(how: str = "reflected") -> dict[str, Bands]:
    """Return the bands of each spectrum in ``bands.csv``, seen the one way or the other.

    Parameters
    ----------
    how : {"reflected", "through"}
        How the spectrum was taken.

    Raises
    ------
    TableError
        All faults of the file.
    KeyError
        Another word than these two.

    Examples
    --------
    >>> [float(bands(how)["poly(ethylene terephthalate)"].position.max()) for how in HOW]
    [2960.0, 2964.0]
    """
    order = {HOW[0]: HOW, HOW[1]: HOW[::-1]}[how]
    faults = Faults(TableError)
    rows: dict[str, list[tuple[float, float, str, str]]] = {}
    for cells in read_csv(FOLDER / "bands.csv", COLUMNS):
        line = Line(cells, faults)
        strength = line.one_of("strength", RISE)
        recalled = RECALLED if line.one_of("obtained", GRADES) in UNSOURCED else 0.0
        here, there = (line.number(column, *RANGE) for column in order)
        if here is None and there is None:
            line.fault(how, "is empty, and so is the other position; a band needs one of them")
        elif here is not None:
            found = (here, recalled, strength, line.text("source"))
            rows.setdefault(line.text("spectrum", needed=True), []).append(found)
        elif there is not None and strength in RISE:
            mean, scatter = rise(strength, there)
            moved = there - mean if how == HOW[0] else there + mean
            found = (moved, math.hypot(recalled, scatter), strength, line.text("source"))
            rows.setdefault(line.text("spectrum", needed=True), []).append(found)
    faults.check()
    return {
        name: Bands(
            np.array([band for band, _, _, _ in sorted(found)]),
            np.array([further for _, further, _, _ in sorted(found)]),
            tuple(strength for _, _, strength, _ in sorted(found)),
            frozenset(key for _, _, _, source in found for key in source.split()),
        )
        for name, found in rows.items()
    }
