"""Spectra that are told apart, which resin shows which, and how likely a list of bands is from each.

A spectrum's bands are points on the wavenumber axis. Of a table band of strength ``s`` a
list holds one with chance ``p_s``, off by a normal error with a broader part, wider where the
table's position was recalled and not read, or follows from that of the same band seen the other
way; what else is in the list are bands of dirt, additives or ageing, a Poisson process denser
where such bands lie. The chance of a list is that of the best pairing in order of wavenumber
(bands do not overtake each other), once for a full list, once for a list of a few bands only;
and once for a spectrum that was reflected, once for one that light went through, where it is not
said which. Bands of one spectrum are not independent of each other, so its logarithm counts half.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import numpy as np
from scipy.special import softmax

from resinid.methods.infrared.bands import CONTAMINANT, FOLDER, HOW, RANGE, Bands, bands
from resinid.scoring.latents import Latent
from resinid.scoring.normal import normal_density

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.properties import Dependence

__all__ = ["ANOTHER", "NOT_SAID", "SPECTRUM", "UNSAID", "Spectrum", "chances", "names"]

ANOTHER: Final = "another"

SHARED: Final = MappingProxyType(
    {
        "polyethylene": "PE-HD PE-MD PE-LLD PE-LD",
        "ethylene-vinyl acetate": "EVAC",
        "polypropylene": "PP",
        "polystyrene": "PS PS-E",
        "impact polystyrene": "PS-HI",
        "styrene block copolymer": "TPS",
        "styrene-acrylonitrile": "SAN",
        "acrylonitrile-butadiene-styrene": "ABS",
        "acrylonitrile-styrene-acrylate": "ASA",
        "poly(phenylene ether) with polystyrene": "PPE+PS",
        "polyvinyl chloride": "PVC-U",
        "plasticised polyvinyl chloride": "PVC-P",
        "poly(ethylene terephthalate)": "PET PETG",
        "poly(butylene terephthalate)": "PBT",
        "polylactide": "PLA",
        "polyhydroxybutyrate": "PHB",
        "poly(methyl methacrylate)": "PMMA",
        "polycarbonate": "PC",
        "polycarbonate with styrene copolymer": "PC+ABS",
        "polyamide": "PA6 PA66 PA12",
        "polyoxymethylene": "POM",
        "poly(vinylidene fluoride)": "PVDF",
        "polytetrafluoroethylene": "PTFE",
        "polysulfone": "PSU",
        "poly(phenylene sulfide)": "PPS",
        "polyetheretherketone": "PEEK",
        "cellulose acetate": "CA",
        "cellulose nitrate": "CN",
        "polyurethane": "TPU PUR",
        "diene rubber": "NR",
        "silicone": "VMQ",
        "unsaturated polyester": "UP",
        "epoxy": "EP",
        "melamine-formaldehyde": "MF",
        "phenol-formaldehyde": "PF",
    }
)
"""Resins by spectrum. Those of one spectrum cannot be told apart by positions: the kinds of
polyethylene, the polyamides, PETG and PET, foam and solid, cast and thermoplastic urethane."""

LISTED: Final = MappingProxyType({"strong": (0.92, 0.5), "medium": (0.7, 0.25), "weak": (0.35, 0.08)})
"""Chance that a band of that strength is in a full list, and in one of a few bands only."""

SKETCHY: Final = 0.3
"""Chance that only a few bands were listed."""

CALLED_STRONG: Final = MappingProxyType({"strong": 0.8, "medium": 0.25, "weak": 0.05, "": 0.1})
"""Chance that a band of that strength, or one of something else, is called strong."""

SHIFT: Final = (4.0, 15.0, 0.1)
"""[1/cm] Standard deviation of a position against the table's, that of the broader part, and its share."""

NOT_SAID: Final = "not said"

UNSAID: Final = MappingProxyType({"reflected": 0.75, "through": 0.25})
"""Chance that a spectrum was taken so, where it is not said."""

STRANGERS: Final = (2.0, 8.0)
"""Bands expected of dirt, additives or ageing; and in a list of a polymer that is not in the table."""

NEAR: Final = (20.0, 6.0)
"""[1/cm] Widths about the table's bands, and about those of contaminants, in which strange bands lie."""

TOGETHER: Final = 0.5
"""Share of the log likelihood that counts, for bands of one spectrum are not independent."""

OWN: Final = 0.95
"""Chance that a piece shows its own resin's spectrum, neither masked nor that of a coating.

This and the chances and widths above are common practice, no source."""

BLACK: Final = 0.6
"""The same for rubber, most of which is too black to measure."""

TINY: Final = 1e-300
"""Keeps logarithms finite where a pair is too far apart to count."""


@dataclass(frozen=True, slots=True)
class Spectrum:
    """Which spectrum a piece shows; a node for each, the last for one that is not in the table."""

    name: str = "infrared spectrum"
    folder: Path = FOLDER
    depends: tuple[Dependence, ...] = ()

    def latent(self, reference: ReferenceTable) -> Latent:
        """Return the chance of each spectrum for each variant."""
        count = len(names())
        owner = {resin: index for index, (_, resins) in enumerate(SHARED.items()) for resin in resins.split()}
        unlisted = np.full(count, 0.3 / (count - 1))
        unlisted[-1] = 0.7
        rows = []
        for variant in reference.variants:
            own = BLACK if variant.resin == "NR" else OWN
            row = np.full(count, (1.0 - own) / count)
            if variant.resin in owner:
                row[owner[variant.resin]] += own
            rows.append(row if variant.resin in owner else unlisted)
        mass, values = np.array([*rows, unlisted]), np.arange(count, dtype=np.float64)
        mass.flags.writeable = values.flags.writeable = False
        of = [bands()[name].sources for name in SHARED]
        return Latent(
            self.name,
            values,
            mass,
            tuple(variant.resin in owner for variant in reference.variants),
            tuple(of[owner[v.resin]] if v.resin in owner else frozenset() for v in reference.variants),
        )


SPECTRUM: Final = Spectrum()


def names() -> tuple[str, ...]:
    """Return the names of the spectra, ``another`` last."""
    return (*SHARED, ANOTHER)


@functools.lru_cache(maxsize=4096)
def chances(seen: tuple[float, ...], strong: tuple[float, ...], low: float, high: float, how: str = NOT_SAID) -> Array:
    """Return how likely a list of bands is from each spectrum, adding up to one, shape (spectra,).

    Parameters
    ----------
    seen : tuple of float
        Positions [1/cm].
    strong : tuple of float
        Those of them that were called strong; empty where none was.
    low, high : float
        Range that was looked at [1/cm].
    how : {"not said", "reflected", "through"}, optional
        How the spectrum was taken; either, as likely as :data:`UNSAID` has it, where it is not said.

    Examples
    --------
    >>> found = chances((2916.0, 2848.0, 1472.0, 1462.0, 730.0, 717.0), (), 600.0, 4000.0)
    >>> names()[int(found.argmax())]
    'polyethylene'
    """
    listed = np.array(sorted(seen))
    called = np.isin(listed, strong) if strong else None
    window = min(low, *seen), max(high, *seen)
    if how == NOT_SAID:
        scores = np.logaddexp(*(math.log(UNSAID[way]) + _scores(listed, called, window, way) for way in HOW))
    else:
        scores = _scores(listed, called, window, how)
    out: Array = softmax(TOGETHER * scores)
    out.flags.writeable = False
    return out


def _scores(listed: Array, called: NDArray[np.bool_] | None, window: tuple[float, float], how: str) -> Array:
    """Return the log chance of the list from each spectrum taken that way."""
    strange = np.log(_strange(listed, how))
    count = STRANGERS[1]
    another = listed.size * math.log(count) - count + float((strange + _called(called, "", listed.size)).sum())
    return np.array([*(_score(listed, called, bands(how)[name], strange, window) for name in SHARED), another])


def _score(
    listed: Array, called: NDArray[np.bool_] | None, of: Bands, strange: Array, window: tuple[float, float]
) -> float:
    inside = (of.position >= window[0]) & (of.position <= window[1])
    position = of.position[inside]
    strength = [word for word, here in zip(of.strength, inside.tolist(), strict=True) if here]
    off = listed[:, None] - position
    further, (narrow, broad, share) = of.further[inside], SHIFT
    sharp, wide = (normal_density(off, np.hypot(sd, further)) for sd in (narrow, broad))
    near = np.log((1 - share) * sharp + share * wide + TINY)
    for column, word in enumerate(strength):
        near[:, column] += _called(called, word, listed.size)
    extra = strange + math.log(STRANGERS[0]) + _called(called, "", listed.size)
    both = [_paired(near, extra, np.array([LISTED[word][kind] for word in strength])) - STRANGERS[0] for kind in (0, 1)]
    return float(np.logaddexp(math.log(1 - SKETCHY) + both[0], math.log(SKETCHY) + both[1]))


def _paired(near: Array, extra: Array, listed: Array) -> float:
    """Return the log chance of the best pairing in order of rows (seen) and columns (table)."""
    seen, known = near.shape
    best = np.zeros((seen + 1, known + 1))
    best[1:, 0] = np.cumsum(extra)
    best[0, 1:] = np.cumsum(np.log1p(-listed))
    for i in range(1, seen + 1):
        for j in range(1, known + 1):
            best[i, j] = max(
                best[i - 1, j - 1] + near[i - 1, j - 1] + math.log(listed[j - 1]),
                best[i - 1, j] + extra[i - 1],
                best[i, j - 1] + math.log1p(-listed[j - 1]),
            )
    return float(best[-1, -1])


def _called(called: NDArray[np.bool_] | None, word: str, count: int) -> Array:
    if called is None:
        return np.zeros(count)
    chance = CALLED_STRONG[word]
    return np.where(called, math.log(chance), math.log1p(-chance))


def _strange(listed: Array, how: str) -> Array:
    """Return the density of bands of other things at each position [cm]."""
    of = bands(how).items()
    polymers = np.concatenate([each.position for name, each in of if not name.startswith(CONTAMINANT)])
    others = np.concatenate([each.position for name, each in of if name.startswith(CONTAMINANT)])
    even = 1.0 / (RANGE[1] - RANGE[0])
    away = [listed[:, None] - at for at in (polymers, others)]
    about = [normal_density(each, sd).mean(axis=1) for each, sd in zip(away, NEAR, strict=True)]
    out: Array = 0.4 * even + 0.4 * about[0] + 0.2 * about[1]
    return out
