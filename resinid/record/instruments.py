"""How far the shop's own scale, jug and thermometer are off, from trials on what is known.

An instrument shows what is true plus an offset of its own plus what differs from reading to reading, normal with mean
m and variance v. Before any trial (m, v) has the normal-inverse-gamma distribution whose offset and spread are those
stated for a shop's instrument; trials multiply it by their normal likelihoods (Murphy, Conjugate Bayesian analysis of
the Gaussian distribution, 2007, section 6, not read; Gelman and others, Bayesian Data Analysis, 3rd ed. 2013, section
3.3, from memory). What is known of a trial only to within an uncertainty, as where a piece of known resin softens,
widens that likelihood, and a trial may be botched, for which no closed form is left: the posterior is summed over a
grid of m and v.
"""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import Fault, InputError, safe_repr
from resinid.io.reading import read
from resinid.methods.melt.heated import JUDGEMENT, THERMOMETER
from resinid.record.entry import Check
from resinid.reference.mixture import mixture

if TYPE_CHECKING:
    from collections.abc import Iterable

    from resinid.arrays import Array
    from resinid.record.entry import Entry
    from resinid.reference.table import ReferenceTable

__all__ = ["INSTRUMENTS", "Instrument", "Kind", "check_of", "instruments", "known_pieces"]


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of instrument: its quantity, unit, and usual offset and spread of readings, as standard deviations."""

    quantity: str
    unit: str
    offset: float
    spread: float


INSTRUMENTS: Final = MappingProxyType(
    {
        "thermometer": Kind("temperature", "K", THERMOMETER.value, 1.0),
        "scale": Kind("mass", "g", 0.05, 0.05),
        "jug": Kind("density", "g/cm3", 0.002, 0.001),
    }
)
"""Offset and spread before any trial: the methods' own for a thermometer, else common practice, no source."""

FREEDOM: Final = 4.0
"""Degrees of freedom of what is stated of the spread: it may well be half or double (common practice, no source)."""

BOTCHED: Final = 0.03
FAR: Final = 30.0
"""Chance that a trial is botched, as of one action of a test (methods/outlier.py), and how many times as far as usual
what it then shows is off (common practice, no source)."""

STEPS: Final = 301
"""Places of the grid, in each direction."""


@dataclass(frozen=True, slots=True)
class Instrument:
    """What trials tell of one instrument.

    Parameters
    ----------
    kind, name : str
        One of :data:`INSTRUMENTS`, and which one.
    trials : int
    offset, u_offset : float
        By how much it shows too much, and the standard uncertainty of that [unit].
    spread : float
        Standard deviation of single readings [unit].
    unit : str
    """

    kind: str
    name: str
    trials: int
    offset: float
    u_offset: float
    spread: float
    unit: str

    @property
    def label(self) -> str:
        """What it is called."""
        return f"{self.kind} {self.name}".strip()

    def describe(self) -> str:
        """Say how far it is off, and how later readings should be written down."""
        said = (
            f"{self.label}: {self.trials} trial{'' if self.trials == 1 else 's'}; it shows {self.offset:+.2g} "
            f"{self.unit} too much, give or take "
            f"{self.u_offset:.2g}; single readings scatter by {self.spread:.2g} {self.unit}."
        )
        named = f'thermometer = "{self.name}" and ' if self.name else ""
        how = {
            "thermometer": f'Take that off and write {named}u_thermometer = "{self.u_offset:.2g} K"',
            "scale": f"Take that off and write ± {math.hypot(self.u_offset, self.spread):.2g} g",
            "jug": f"Take that off the density and write ± {math.hypot(self.u_offset, self.spread):.2g} g/cm3",
        }
        return f"{said} {how[self.kind]}."


def check_of(instrument: str, shown: str, true: str, *, name: str = "", at: str = "") -> Check:
    """Return a trial as a record keeps it.

    Parameters
    ----------
    instrument : str
        One of :data:`INSTRUMENTS`.
    shown, true : str
        What it showed and what it should have, with units; of the latter with its uncertainty.
    name, at : str, optional
        Which instrument, and when.

    Raises
    ------
    InputError
        No such instrument, or no readings of its quantity.

    Examples
    --------
    >>> check_of("thermometer", "103 degC", "100.0 ± 0.5 degC", name="oven").shown
    103.0
    """
    if instrument not in INSTRUMENTS:
        known = ", ".join(INSTRUMENTS)
        raise InputError([Fault("instrument", f"{safe_repr(instrument)} is none of {known}")])
    quantity = INSTRUMENTS[instrument].quantity
    seen, known_as = read(shown, quantity), read(true, quantity)
    return Check(instrument, name, seen.value, known_as.value, known_as.u, at)


def known_pieces(entries: Iterable[Entry], reference: ReferenceTable) -> list[Check]:
    """Return where pieces of known resin softened as trials of the thermometer they were read on.

    Only resins of which each variant softens count. What is not known is how the pieces of a resin differ, how people
    judge it, and how far the table is off. The last is the same for all pieces of a resin, and more of them do not
    lessen it.
    """
    found = [
        (entry, str(seen.get("thermometer", "thermometer")), read(seen["temperature"], "temperature").value)
        for entry in entries
        if entry.kind == "piece" and entry.confirmed
        for seen in entry.evidence.get("observation", ())
        if seen.get("test") == "softening"
    ]
    many = Counter((name, entry.confirmed) for entry, name, _ in found)
    out = []
    for entry, name, shown in found:
        known = softening_of(entry.confirmed, reference)
        if known is not None:
            middle, own, common = known
            u = math.hypot(own, math.sqrt(many[name, entry.confirmed]) * common)
            out.append(Check("thermometer", name, shown, middle, u, entry.at))
    return out


def softening_of(resin: str, reference: ReferenceTable) -> tuple[float, float, float] | None:
    """Return where pieces of a resin soften, how far they and judgement differ, and how far the table may be off.

    The last is the standard error of the mean of its statements. None where some pieces never soften.
    """
    found = [
        (variant.weight, mixture(reference, variant, "softening_temperature"))
        for variant in reference.variants
        if variant.resin == resin
    ]
    parts = [(weight * one.weight, one.mean, one.sd) for weight, each in found for one in each.normals]
    if not parts or any(each.never for _, each in found):
        return None
    weight, mean, sd = np.array(parts).T
    weight /= weight.sum()
    middle = float(weight @ mean)
    between = float(weight @ (mean - middle) ** 2)
    own = math.sqrt(float(weight @ sd**2) + between + JUDGEMENT**2)
    return middle, own, math.sqrt(between * float(weight @ weight))


def instruments(checks: Iterable[Check]) -> tuple[Instrument, ...]:
    """Return what trials tell of each instrument, by kind and name.

    Examples
    --------
    >>> found = instruments([check_of("scale", shown, "10.00 g") for shown in ("10.12 g", "10.11 g", "10.13 g")])
    >>> round(found[0].offset, 2), found[0].trials
    (0.09, 3)
    """
    groups: dict[tuple[str, str], list[Check]] = {}
    for check in checks:
        if check.instrument in INSTRUMENTS:
            groups.setdefault((check.instrument, check.name), []).append(check)
    return tuple(
        Instrument(kind, name, len(some), *posterior_of(some, INSTRUMENTS[kind]), INSTRUMENTS[kind].unit)
        for (kind, name), some in sorted(groups.items())
    )


def posterior_of(checks: list[Check], kind: Kind, *, botched: float = BOTCHED) -> tuple[float, float, float]:
    """Return offset, its standard uncertainty, and the spread of readings, by trials on what is known."""
    off = np.array([check.shown - check.true for check in checks])
    known = np.array([check.u for check in checks])
    centre, width = float(np.median(off)), kind.offset + kind.spread + float(np.ptp(off)) + float(known.max())
    # Readings far from all that is usual widen the grid; a second one, about where the first puts it, is fine enough.
    for _ in range(3):
        mean = np.linspace(centre - 15 * width, centre + 15 * width, STEPS)[:, None]
        spread = np.geomspace(kind.spread / 20, 20 * (kind.spread + kind.offset + float(np.ptp(off))), STEPS)
        weight = _weights(mean, spread**2, off, known, kind, botched=botched)
        centre = float((weight * mean).sum())
        width = math.sqrt(float((weight * (mean - centre) ** 2).sum()))
    return centre, width, math.sqrt(float((weight * spread**2).sum()))


def _weights(mean: Array, variance: Array, off: Array, known: Array, kind: Kind, *, botched: float) -> Array:
    """Return the posterior at each mean, down, and variance, across, the latter evenly spaced in its logarithm."""
    # A normal-inverse-gamma: mean normal about zero with variance v / strength, v inverse-gamma with the usual spread.
    half = FREEDOM / 2.0
    scale, strength = kind.spread**2 * (half - 1.0), (kind.spread / kind.offset) ** 2
    log: Array = -half * np.log(variance) - scale / variance
    log = log - 0.5 * (np.log(variance / strength) + strength * mean**2 / variance)
    for each, u in zip(off.tolist(), known.tolist(), strict=True):
        total = variance + u**2
        far = FAR**2 * (kind.spread**2 + kind.offset**2 + u**2)
        good = np.exp(-0.5 * (each - mean) ** 2 / total) / np.sqrt(total)
        log = log + np.log((1.0 - botched) * good + max(botched, 1e-300) * math.exp(-0.5 * each**2 / far) / far**0.5)
    weight = np.exp(log - log.max())
    out: Array = weight / weight.sum()
    return out
