"""A table made ready for batches: chances of every pair, tolerances, windows and dangers, as arrays."""

from __future__ import annotations

import functools
import itertools
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.batches.pair_compatibility import Pair, pair_of
from resinid.heating.melt_windows import MARGIN, Window, overlap, window_of
from resinid.heating.temperatures import barred_resins
from resinid.identification.score import model_of
from resinid.scoring.prior import cautious_prior

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.arrays import Array
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.engine import Model


__all__ = ["MELTED_TOGETHER", "TOLERANCES", "Rules", "mixing_rules"]

TOLERANCES: Final = MappingProxyType(
    {
        "miscible": (0.10, 0.50),
        "compatible": (0.10, 0.40),
        "limited": (0.05, 0.20),
        "incompatible": (0.005, 0.02),
        "dangerous": (1e-5, 1e-4),
        "estimate": (0.005, 0.02),
    }
)
"""Share of the lesser resin from which it is noticed, and from which it does harm, where no limit
is published for the pair. "limited" as printed for PP in PE-HD (source pp-bales-apr),
"incompatible" as bales of PE-HD bottles allow other resins (source hdpe-bales); the rest is
common practice, no source."""


MELTED_TOGETHER: Final = 0.95
"""Least chance of a common melt temperature where a source rates the melted pair as good: somebody
found one, whatever the printed windows of injection moulding say (this project's choice)."""


@dataclass(frozen=True, slots=True)
class Rules:
    """All that a table says of melting resins together, resins in table order, "none of these" last.

    Parameters
    ----------
    model : Model
        Scores observations.
    pairs : mapping
        By two resin indices in ascending order.
    chances : numpy.ndarray
        Of one melt, limits, delamination for each pair, shape (n, n, 3).
    notice, harm : numpy.ndarray
        Tolerated share of the second resin in the first, shape (n, n).
    overlaps : numpy.ndarray
        Chance that two have a melt temperature in common, shape (n, n).
    windows : tuple of Window or None
        By resin.
    barred : numpy.ndarray
        One for each resin that must not be heated, shape (n,).
    barred_kinds : numpy.ndarray
        The same by kind of the model, for flame-retarded kinds are among them, shape (kinds,).
    cautious : numpy.ndarray
        Prior by which hazards are judged beside the caller's, shape (n,).
    clashes : numpy.ndarray
        One for each two resins that are dangerous together, shape (n, n).
    families : numpy.ndarray
        Which two may be taken for one another without harm, shape (n, n).
    """

    model: Model
    pairs: MappingProxyType[tuple[int, int], Pair]
    chances: Array
    notice: Array
    harm: Array
    overlaps: Array
    windows: tuple[Window | None, ...]
    barred: Array
    barred_kinds: Array
    cautious: Array
    clashes: Array
    families: NDArray[np.bool_]

    @property
    def clashing(self) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
        """First and second resin of each pair that is dangerous together."""
        first, second = np.nonzero(np.triu(self.clashes))
        return first, second

    def index(self, resin: str) -> int:
        """Return the place of a resin by symbol or alias."""
        return self.model.candidates.index(self.model.reference.resin(resin).symbol)

    def pair(self, first: int, second: int) -> Pair:
        """Return what is known of two resins by their places."""
        return self.pairs[min(first, second), max(first, second)]

    def family(self, resin: int) -> NDArray[np.bool_]:
        """Return which resins may be taken for one another without harm: rated miscible or compatible."""
        out: NDArray[np.bool_] = self.families[resin]
        return out


@functools.lru_cache(maxsize=8)
def mixing_rules(reference: ReferenceTable) -> Rules:
    """Return the rules of a table (made once for each table)."""
    model = model_of(reference)
    names = model.candidates
    size = len(names)
    windows = (*(window_of(reference, name) for name in names[:-1]), None)
    pairs: dict[tuple[int, int], Pair] = {}
    chances = np.zeros((size, size, 3))
    chances[np.arange(size), np.arange(size)] = (1.0, 0.0, 0.0)
    notice, harm, overlaps = np.full((size, size), 0.5), np.full((size, size), 0.5), np.ones((size, size))
    for i, j in itertools.combinations(range(size), 2):
        pair = pairs[i, j] = pair_of(reference, names[i], names[j])
        chances[i, j] = chances[j, i] = pair.chances
        notice[i, j], harm[i, j] = TOLERANCES[pair.rating]
        notice[j, i], harm[j, i] = TOLERANCES[pair.rating]
        together = overlap(windows[i], windows[j])
        if pair.rating in {"miscible", "compatible"}:
            together = max(together, MELTED_TOGETHER)
        overlaps[i, j] = overlaps[j, i] = together
    _published_limits(reference, names, notice, harm)
    barred = np.append(barred_resins(reference), 0.0)
    return Rules(
        model=model,
        pairs=MappingProxyType(pairs),
        chances=chances,
        notice=notice,
        harm=np.maximum(harm, notice),
        overlaps=overlaps,
        windows=windows,
        barred=barred,
        barred_kinds=np.maximum(barred[model.kind_owner], model.retarded),
        cautious=cautious_prior(reference, barred),
        clashes=_clashes(reference, names, pairs, windows),
        families=_families(chances, barred),
    )


def _families(chances: Array, barred: Array) -> NDArray[np.bool_]:
    out: NDArray[np.bool_] = chances[:, :, :2].sum(axis=2) >= 0.8
    out &= (chances[:, :, 0] >= 0.5) & (barred == barred[:, None])
    return out | np.eye(barred.size, dtype=np.bool_)


def _published_limits(reference: ReferenceTable, names: tuple[str, ...], notice: Array, harm: Array) -> None:
    for row in reference.limits:
        i, j = names.index(row.resin), names.index(row.contaminant)
        (notice if row.effect == "notice" else harm)[i, j] = row.share / 100.0
    # Where only harm is published, nothing is noticed later than that.
    np.minimum(notice, harm, out=notice)


def _clashes(
    reference: ReferenceTable,
    names: tuple[str, ...],
    pairs: dict[tuple[int, int], Pair],
    windows: tuple[Window | None, ...],
) -> Array:
    """Return the pairs that are dangerous together.

    So are those rated dangerous; those that a hazard forbids; and those of which one melts
    only above what the other bears, where that has a hazard and nobody is known to melt them together.
    """
    out = np.zeros((len(names), len(names)))
    forbidden = {(h.applies_to, other) for h in reference.hazards for other in h.never_with}
    touchy = {h.applies_to for h in reference.hazards if h.bar in {"yes", "conditional"}}
    for (i, j), pair in pairs.items():
        clash = pair.rating == "dangerous"
        clash |= (names[i], names[j]) in forbidden or (names[j], names[i]) in forbidden
        if pair.rating in {"incompatible", "estimate"}:
            clash |= _overheats(names[i], windows[i], windows[j], touchy)
            clash |= _overheats(names[j], windows[j], windows[i], touchy)
        out[i, j] = out[j, i] = float(clash)
    return out


def _overheats(name: str, own: Window | None, other: Window | None, touchy: set[str]) -> bool:
    """Return whether melting ``other`` takes a resin with a hazard above what it bears."""
    return name in touchy and own is not None and other is not None and other.low > own.ceiling + MARGIN
