"""How hot a mix is melted: as cool as it will go, and below where any of its resins becomes a hazard."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Final

from resinid.batches.hazards import found_resins
from resinid.batches.ranges import Ends, quantiles
from resinid.heating.melt_windows import window_of
from resinid.heating.temperatures import FULLY

if TYPE_CHECKING:
    from collections.abc import Mapping

    from resinid.batches.mix import Mix
    from resinid.batches.mixing_rules import Rules
    from resinid.heating.melt_windows import Window

__all__ = ["LESSER", "MeltHeat", "melt_heat", "shaping"]

SIGNIFICANT: Final = 0.01
"""Resins expected below this share of the mix do not shape the plan; the verdict has weighed them."""

LESSER: Final = 0.05
"""Share below which a resin need not melt: it stays in the slab as specks, and whether a mix bears
them the verdict has weighed (this project's choice, no source). It is never heated above what it bears."""

ABOVE: Final = 20.0
"""[K] So far above being melted through a melt flows under a press, so nothing is begun hotter than that, nor than a
quarter up its window (common practice, no source)."""

SOFTENS: Final = 40.0
"""[K] So far below its coolest published melt temperature a resin may already soften (common practice, no source)."""

HOTTEST: Final = 300.0
"""[degC] What melts only above this is left: workshop plates and ovens are not made for it (common practice, no
source), and from there on fluoropolymers give off hydrogen fluoride (hazards of the table)."""


@dataclass(frozen=True, slots=True)
class MeltHeat:
    """How hot a mix is melted.

    Parameters
    ----------
    window : Ends or None
        Melt temperatures [degC]: ``typical`` to begin with, ``high`` never to be passed; None where none suits all.
    melted : float
        Temperature [degC] at which a layer counts as melted through.
    notes : tuple of str
        What stays unmelted; or, without a window, why there is none.
    molten : tuple of str
        Resins that melt or may soften at that heat, so that how long they bear it counts.
    """

    window: Ends | None
    melted: float
    notes: tuple[str, ...]
    molten: tuple[str, ...] = ()


def shaping(mix: Mix) -> dict[str, float]:
    """Return the resins that shape how a mix is melted, with their expected shares."""
    mean = mix.shares().mean(axis=0)
    # What one item was found to be stays in the bag however small its expected share.
    found = frozenset().union(*(found_resins(part, mix.rules) for part in mix.parts))
    symbols = mix.rules.model.reference.symbols
    return {name: float(mean[k]) for k, name in enumerate(symbols) if mean[k] >= SIGNIFICANT or k in found}


def melt_heat(rules: Rules, shares: Mapping[str, float]) -> MeltHeat:
    """Return how hot a mix of resins with these shares is melted.

    Where printed windows do not meet, one of melt temperatures from the highest ``coolest`` up to the
    lowest limit is taken; nothing is ever above a limit.

    Examples
    --------
    >>> from resinid.batches.mixing_rules import mixing_rules
    >>> from resinid.reference.table import default_reference
    >>> found = melt_heat(mixing_rules(default_reference()), {"PE-HD": 0.98, "PET": 0.02})
    >>> found.window.typical < 200, found.notes[0][:29]
    (True, 'PET (2 %) does not melt below')
    """
    windows = {resin: window_of(rules.model.reference, resin) for resin in shares}
    most = max(shares.values())
    main = [resin for resin, share in shares.items() if share >= min(LESSER, most)]
    melted = max(quantiles(rules, resin, "softening_temperature")[2] for resin in main) + FULLY
    known = {resin: window for resin, window in windows.items() if window is not None}
    if len(known) < len(windows):
        names = ", ".join(sorted(set(windows) - set(known)))
        return MeltHeat(None, melted, (f"no melt temperature is published of {names}",))
    low = max(known[resin].coolest for resin in main)
    limit = min(window.limit for window in known.values())
    high = min(limit, *(known[resin].unharmed for resin in main))
    if low > high:
        high = limit
    if low > high or low > HOTTEST:
        return MeltHeat(None, melted, (_why_not(rules, known, main),))
    begin = min(low + 0.25 * (high - low), max(low, melted + ABOVE))
    sources = tuple(sorted({key for window in known.values() for key in window.sources}))
    specks = tuple(
        f"{resin} ({100 * shares[resin]:.0f} %) does not melt below about {known[resin].coolest:.0f} °C: it stays in "
        "the slab as hard specks; do not heat for its sake"
        for resin in sorted(shares)
        if resin not in main and known[resin].coolest > begin
    )
    molten = tuple(resin for resin in sorted(shares) if resin in main or known[resin].coolest <= begin + SOFTENS)
    return MeltHeat(Ends(low, begin, high, sources), min(melted, begin - 5.0), specks, molten)


def _why_not(rules: Rules, known: Mapping[str, Window], main: list[str]) -> str:
    """Say why no temperature suits all: one that lies too high by itself, or two that do not meet."""
    hottest = max(main, key=lambda resin: known[resin].coolest)
    start = known[hottest].coolest
    if start > HOTTEST:
        return f"{hottest} melts only from about {start:.0f} °C, above workshop plates and ovens: leave it"
    least = min(known, key=lambda resin: known[resin].limit)
    onsets = [
        h for h in rules.model.reference.hazards if h.applies_to == least and h.limits_melt and h.onset is not None
    ]
    first = min(onsets, key=lambda hazard: hazard.onset or 0.0, default=None)
    what = f" ({first.hazard}, from {first.onset:g} °C)" if first is not None else ""
    if hottest == least:
        return f"{hottest} is published to be melted from {start:.0f} °C on, too near a hazard of it{what}: leave it"
    bears = known[least].limit
    return f"{hottest} melts only from about {start:.0f} °C, and {least} bears {bears:.0f} °C at most{what}"
