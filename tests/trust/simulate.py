"""Simulated pieces and bench tests, drawn as the engine's documentation says they come about.

The draws follow DEVELOPERS.md and the docstrings of the methods, not the engine's
code: a resin from the prior, a variant by its weight, each property from the
variant's published mixture, then readings with their own errors, errors shared by
one jug, thermometer or hand, and tests that were botched. So an error of the
engine's sums shows as miscalibration. Some things are done on purpose otherwise
than the engine assumes: see the fields of :class:`World`.
"""

from __future__ import annotations

import functools
import math
from collections import defaultdict
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Final

import numpy as np
from strategies import written
from strays import pieces

from resinid import default_reference, observe, parse_liquid
from resinid.identification.score import model_of, prior_for
from resinid.quantities import ASPECTS
from resinid.reference.mixture import mixture
from resinid.scoring.grades import LINKED

if TYPE_CHECKING:
    from collections.abc import Callable

    from numpy.typing import NDArray

    from resinid.liquids import Liquid
    from resinid.methods.contract import Observation
    from resinid.reference.table import ReferenceTable

    Array = NDArray[np.float64]

__all__ = ["SCALARS", "SLOTS", "Piece", "World", "bench"]

SCALARS: Final = ("density", "softening_temperature", "flexural_modulus")
SLOTS: Final = (
    "density",
    "weighing",
    "float water",
    "float water",
    "float ethanol 40 %v/v",
    "float table salt 110 g/kg water",
    "float table salt saturated",
    "plate 110",
    "plate 150",
    "plate 200",
    "softening",
    "charring 280",
    "modulus",
    "feel",
    "feel",
    "whitening",
    "snap",
    "melt_clarity",
    "melt_pull",
    "melt_flow",
)
"""What a bench may do to one piece; a slot there twice may be done twice."""

# What the methods' docstrings state, restated here so that the simulation follows what is said, not the code.
THERMOMETER: Final = 3.0
JUDGEMENT: Final = 4.0
"""[K] Errors of a shop thermometer, and of a person who calls a chip molten."""

FLOAT_JUDGEMENT: Final = 0.001
HOVER: Final = 0.001
"""[g/cm3] Error of judging a float test, and how close to the liquid a chip hovers."""

AIR: Final = 0.0012
"""[g/cm3] Density of air."""

HANDLING: Final = 0.0002
WETTING: Final = 0.001
MACHINE: Final = 0.08
"""Relative errors: of a stated density, of the volume of a wetted piece, of a measured modulus."""

HAND: Final = 0.5
HAND_REPEAT: Final = 0.2
"""Errors of the natural log of a felt stiffness: of one hand, and from strip to strip."""

FEELS: Final = {"limp": (0.0, 10.0), "flexible": (10.0, 70.0), "semi-rigid": (70.0, 700.0), "rigid": (700.0, math.inf)}
"""[MPa] What the words stand for."""

CHARS: Final = 0.8
CHARS_FIRST: Final = 0.05
"""Chance that what never melts is seen to char, and that what would melt is."""

OUTLIER_LIKELIHOODS: Final = {"floats": 0.75, "hovers": 0.15, "sinks": 0.10}
"""What a botched float test shows."""

COMMON: Final = 0.25
"""Share of outliers that stay with piece and bath."""

HOTTEST: Final = 300.0
"""[degC] A softening point is sought up to here; a chip still solid is written down as that."""


@dataclass(frozen=True)
class Piece:
    """A piece and what it is truly like; an aspect's value is the index of its outcome."""

    candidate: int
    values: dict[str, float]

    def changed(self, **values: float) -> Piece:
        return replace(self, values={**self.values, **values})


@dataclass(frozen=True)
class World:
    """Where pieces come from and how the bench errs.

    Parameters
    ----------
    prior : str
        From which the resin is drawn, "none of these" included.
    change : callable, optional
        What is done to a piece before it is tested; it stays the resin it was.
    thermometer : float, optional
        [K] By how much the thermometer is off besides its stated uncertainty.
    botched : int, optional
        How many tests of a piece are botched for certain.
    strays : bool, optional
        Whether some pieces stray from what is published of their variant, as the engine assumes.
    """

    prior: str = "default"
    change: Callable[[np.random.Generator, Piece], Piece] | None = None
    thermometer: float = 0.0
    botched: int = 0
    strays: bool = True
    reference: ReferenceTable = field(default_factory=default_reference)

    def piece(self, rng: np.random.Generator) -> Piece:
        """Draw a piece."""
        model = model_of(self.reference)
        return self.piece_of(rng, int(rng.choice(len(model.candidates), p=prior_for(self.reference, self.prior))))

    def piece_of(self, rng: np.random.Generator, candidate: int) -> Piece:
        """Draw a piece of a given resin."""
        model = model_of(self.reference)
        rows = np.flatnonzero(model.gathering[:, candidate])
        weights = model.gathering[rows, candidate]
        row = int(rng.choice(rows, p=weights / weights.sum()))
        made = Piece(candidate, {name: _value(self, name, row, rng) for name in (*SCALARS, *ASPECTS)})
        return self.change(rng, made) if self.change else made


@functools.lru_cache(maxsize=4096)
def _normals(
    reference: ReferenceTable, name: str, row: int, *, strays: bool
) -> tuple[Array, Array, Array, float] | None:
    """Return cumulated weights, means and standard deviations, and the share that never softens; None if unstated."""
    model = model_of(reference)
    if row == len(model.rows):
        return None
    if name in LINKED and int(model.grades.owner[row]) in dict(model.grades.strength):
        return None  # a grade: what is denser melts later, which the engine's rows say
    found = (pieces if strays else mixture)(reference, model.rows[row], name)
    if not found.normals:
        return (np.empty(0), np.empty(0), np.empty(0), found.never) if found.never else None
    weights = np.array([normal.weight for normal in found.normals])
    means, sds = (np.array([getattr(n, key) for n in found.normals]) for key in ("mean", "sd"))
    return weights.cumsum() / weights.sum(), means, sds, found.never


@functools.lru_cache(maxsize=4096)
def _cumulated(reference: ReferenceTable, name: str, row: int, *, strays: bool) -> Array:
    latent = model_of(reference).latent(name)
    mass = latent.mass[row] if strays or latent.stray is None else latent.mass[row] - latent.stray[row]
    out: Array = mass.cumsum() / mass.sum()
    return out


def _value(world: World, name: str, row: int, rng: np.random.Generator) -> float:
    reference, strays = world.reference, world.strays
    normals = _normals(reference, name, row, strays=strays) if name in SCALARS else None
    if normals is not None:
        steps, means, sds, never = normals
        if rng.random() < never:
            return math.inf
        which = int(np.searchsorted(steps, rng.random()))
        value = float(rng.normal(means[which], sds[which]))
        return value if name == "softening_temperature" else math.exp(value)
    # Nothing is published of it, or only jointly: the engine's own nodes are the statement of what is assumed.
    values = model_of(reference).latent(name).values
    node = int(np.searchsorted(_cumulated(reference, name, row, strays=strays), rng.random()))
    if name not in SCALARS or math.isinf(values[node]) or not 0 < node < values.size - 1:
        return float(values[node])
    following = values[node + 1] if math.isfinite(values[node + 1]) else values[node]
    low, high = (values[node - 1] + values[node]) / 2, (values[node] + following) / 2
    return float(rng.uniform(low, high))


@functools.cache
def _jug(text: str) -> Liquid:
    return parse_liquid(text)


def bench(rng: np.random.Generator, world: World, piece: Piece, slots: list[str]) -> list[Observation]:
    """Do the tests of those slots on a piece.

    Tests that share a jug, thermometer or hand share its error, and a quarter of
    their chance of an outlier: what botches the surer of two botches the other.
    """
    groups: dict[str, list[int]] = defaultdict(list)
    for index, slot in enumerate(slots):
        groups[_shares(slot) or f"alone {index}"].append(index)
    botched = np.zeros(len(slots), dtype=bool)
    error = np.zeros(len(slots))
    for members in groups.values():
        chances = [_mishap(slots[index]) for index in members]
        cause = rng.random()
        shared = rng.standard_normal()
        for index, chance in zip(members, chances, strict=True):
            common = COMMON * chance if len(members) > 1 else 0.0
            botched[index] = cause < common or rng.random() < (chance - common) / (1 - common)
            error[index] = shared
    if world.botched:
        botched[rng.permutation(len(slots))[: world.botched]] = True
    return [
        _observed(rng, world, piece, slot, float(z), bad=bool(bad))
        for slot, z, bad in zip(slots, error, botched, strict=True)
    ]


def _shares(slot: str) -> str:
    kind, _, rest = slot.partition(" ")
    if kind in {"plate", "charring", "softening"}:
        return "thermometer"
    if kind == "weighing":
        return "water"
    return rest if kind == "float" else "hand" if kind == "feel" else ""


def _mishap(slot: str) -> float:
    kind = slot.partition(" ")[0]
    return 1 - 0.97 ** (2 if kind in {"float", "feel", *ASPECTS} else 3)


def _observed(  # noqa: PLR0911 - because each kind of test returns its own
    rng: np.random.Generator, world: World, piece: Piece, slot: str, shared: float, *, bad: bool
) -> Observation:
    kind, _, rest = slot.partition(" ")
    if kind == "density":
        true, u = piece.values["density"], float(rng.choice([0.001, 0.004, 0.01]))
        read = _botched_density(rng) if bad else true + math.hypot(u, HANDLING * true) * rng.standard_normal()
        return observe("density", density=written(float(np.clip(read, 0.0051, 3.0)), u, "g/cm3"))
    if kind == "weighing":
        return _weighed(rng, piece, shared, bad=bad)
    if kind == "float":
        jug = _jug(f"{rest} at 20 degC")
        over = piece.values["density"] + FLOAT_JUDGEMENT * rng.standard_normal() - jug.density - jug.u * shared
        outcome = "floats" if over < -HOVER else "sinks" if over > HOVER else "hovers"
        if bad:
            outcome = str(rng.choice(list(OUTLIER_LIKELIHOODS), p=list(OUTLIER_LIKELIHOODS.values())))
        return observe("float", liquid=jug, outcome=outcome)
    if kind in {"plate", "charring", "softening"}:
        return _heated(rng, world, piece, slot, shared, bad=bad)
    if kind == "modulus":
        read = math.log(piece.values["flexural_modulus"]) + math.hypot(0.05, MACHINE) * rng.standard_normal()
        # The door refuses what no plastic can have; a person would read the edge of that.
        value = float(np.clip(math.exp(rng.uniform(2.0, 9.0) if bad else read), 0.1, 30000.0))
        return observe("modulus", modulus=written(value, 0.05 * value, "MPa"))
    if kind == "feel":
        felt = math.log(piece.values["flexural_modulus"]) - HAND * shared + HAND_REPEAT * rng.standard_normal()
        words = [word for word, (low, high) in FEELS.items() if low <= math.exp(felt) < high]
        return observe("feel", outcome=str(rng.choice(list(FEELS))) if bad else words[0])
    options = ASPECTS[kind]
    return observe(kind, outcome=options[rng.integers(len(options)) if bad else int(piece.values[kind])])


def _botched_density(rng: np.random.Generator) -> float:
    return math.exp(rng.uniform(-0.7, 0.7))


def _weighed(rng: np.random.Generator, piece: Piece, shared: float, *, bad: bool) -> Observation:
    density = max(piece.values["density"], 0.02)  # what is lighter weighs no more than the scale errs
    water, u, volume, sinker = _jug("water at 20 degC"), 0.01, float(rng.uniform(2.0, 10.0)), 50.0
    mass = volume * density
    in_air = mass * (1 - AIR / density) + u * rng.standard_normal()
    surrounding = water.density + water.u * shared
    shown = mass - volume * surrounding + WETTING * water.density * volume * rng.standard_normal()
    shown += u * rng.standard_normal()
    sinker_read = sinker + u * rng.standard_normal()
    if bad:
        wrong = _botched_density(rng)
        shown = in_air * (wrong - water.density) / (wrong - AIR) + sinker_read - sinker
    return observe(
        "weighing",
        in_air=written(float(in_air), u, "g"),
        in_liquid=written(float(sinker + shown), u, "g"),
        sinker_in_liquid=written(float(sinker_read), u, "g"),
        liquid=water,
    )


def _heated(
    rng: np.random.Generator, world: World, piece: Piece, slot: str, shared: float, *, bad: bool
) -> Observation:
    kind, _, rest = slot.partition(" ")
    true = piece.values["softening_temperature"]
    # A thermometer that reads high calls every temperature too high.
    seen_at = true + THERMOMETER * shared + world.thermometer + math.hypot(JUDGEMENT, 1.0) * rng.standard_normal()
    if kind == "softening":
        if bad:
            seen_at = float(rng.uniform(0.0, HOTTEST))
        if seen_at < HOTTEST:
            return observe("softening", temperature=written(max(seen_at, -149.0), 1.0, "degC"))
        return observe("hot_plate", not_melted_at=written(HOTTEST, 1.0, "degC"), outlier=1e-4)
    at = float(rest)
    molten = rng.random() < 0.5 if bad else seen_at < at
    if molten:
        return observe("hot_plate", melted_at=written(at, 1.0, "degC"))
    if kind == "plate":
        return observe("hot_plate", not_melted_at=written(at, 1.0, "degC"))
    chars = 0.5 if bad else CHARS if math.isinf(true) else CHARS_FIRST
    seen = "charred" if rng.random() < chars else "unchanged"
    return observe("charring", heated_to=written(at, 1.0, "degC"), seen=seen)
