"""Pieces of known resins, drawn to count how often leave to heat is given rightly and wrongly.

By the ``engine`` rules a piece is drawn from the published mixture of its variant, as
``simulate.py`` does: that asks whether the rule of leave is right where the table is. Pieces
that stray from what is published are filled, foamed or blended as no variant is, so no ordinary
scrap: the rules ``strays`` are the same with them. By
the ``household`` rules every published statement is as likely as another, whatever its source;
pieces lie evenly between limits about it instead of normally; none strays; of polyethylene
and polypropylene what is denser melts later, strictly; and one unfilled piece in four has
pigment that the table does not know. By the rules ``published`` a piece has the density, melting and
modulus of one that a publication measured (measured_pieces.csv), as far as these were. Words are drawn
from the table's frequencies by all, for nothing else is published of them.
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Final

import numpy as np
from baselines import LATENTS, features, measured
from simulate import SCALARS, World, _value

from resinid import default_reference
from resinid.identification.score import model_of
from resinid.reference.mixture import mixture
from resinid.reference.rules import RULES
from resinid.scoring.grades import LINKED

if TYPE_CHECKING:
    from resinid.scoring.properties import Observable

__all__ = ["KINDS", "RULES_OF_DRAWING", "Kind", "Specimen", "draw", "published"]

RULES_OF_DRAWING: Final = ("engine", "strays", "household", "published")

FILLERS: Final = frozenset({"", "titanium dioxide", "carbon black"})
"""What ordinary scrap holds; pieces with other fillers, and foams, are counted apart."""

PIGMENTED: Final = 0.25
PIGMENT: Final = (0.01, 0.03)
PIGMENTS: Final = (4.2, 1.86, 5.2)
"""Share of pieces with pigment the table does not know, its mass share (common practice, no source), and densities
[g/cm3] of titanium dioxide, carbon black and iron oxide."""

WORLDS: Final = {True: World(), False: World(strays=False)}


@dataclass(frozen=True)
class Kind:
    """A kind of piece that is counted by itself.

    Parameters
    ----------
    name : str
    resin : str
    variants : tuple of str
        Which of the resin's variants, drawn by their weights.
    group : {"ordinary", "filled", "forbidden", "flame-retarded"}
        Leave is right for the first two and wrong for the others.
    marks : tuple of str, optional
        One of these is moulded on it, and read.
    """

    name: str
    resin: str
    variants: tuple[str, ...]
    group: str
    marks: tuple[str, ...] = ()

    @property
    def wrong(self) -> bool:
        """Whether leave to heat is wrong."""
        return self.group in {"forbidden", "flame-retarded"}


def _variants(resin: str) -> list[tuple[str, str]]:
    return [(one.name, one.filler) for one in default_reference().variants if one.resin == resin]


def _ordinary(resin: str) -> Kind:
    names = [name for name, filler in _variants(resin) if filler in FILLERS and "retarded" not in name]
    return Kind(resin, resin, tuple(name for name in names if "filled" not in name), "ordinary")


def _filled(resin: str) -> Kind:
    names = [name for name, filler in _variants(resin) if filler not in FILLERS or name == "filled"]
    return Kind(f"{resin} filled or foamed", resin, tuple(names), "filled")


def _forbidden(resin: str, what: str = "") -> Kind:
    names = [name for name, filler in _variants(resin) if not what or (filler == "gas") == (what == "foam")]
    return Kind(f"{resin} {what}".strip(), resin, tuple(names), "forbidden")


def _retarded(resin: str, *marks: str) -> Kind:
    variants = tuple(name for name, _ in _variants(resin) if "flame-retarded" in name)
    return Kind(f"{resin} FR{' marked' if marks else ''}", resin, variants, "flame-retarded", marks)


ORDINARY: Final = (
    *("PE-HD", "PE-MD", "PE-LD", "PE-LLD", "PP", "PS", "PS-HI", "ABS"),
    *("PET", "PA6", "PA66", "PC", "PMMA", "PLA"),
)
FORBIDDEN: Final = ("PVC-U", "PVC-P", "NR", "VMQ", "CN", "PTFE", "PVDF", "MF", "PF", "UP", "EP", "POM")

KINDS: Final = {
    kind.name: kind
    for kind in (
        *(_ordinary(resin) for resin in ORDINARY),
        *(_filled(resin) for resin in ("PE-LD", "PP", "PET", "PA6", "PA66", "PC", "PLA")),
        *(_forbidden(resin) for resin in FORBIDDEN),
        _forbidden("PUR", "solid"),
        _forbidden("PUR", "foam"),
        *(_retarded(resin) for resin in ("PS-HI", "ABS", "PC+ABS")),
        _retarded("PS-HI", ">PS-HI-FR(17)<", ">PS-HI FR(17)<"),
        _retarded("ABS", ">ABS-FR(17)<", ">ABS FR(17)<", ">ABS-GF10 FR(17)<"),
        _retarded("PC+ABS", ">PC+ABS-FR(40)<", ">PC+ABS FR(40)<", ">PC+ABS-GF10 FR(40)<"),
        _retarded("PP", ">PP-FR(17)<", ">PP-T20 FR(17)<", ">PP-(GF30+FR)<", "PP Br"),
    )
}
"""All kinds, by name."""


@dataclass
class Specimen:
    """A piece: its kind, its variant, and what it is like, drawn when it is first asked for."""

    kind: Kind
    rng: np.random.Generator
    row: int
    strays: bool = False
    values: dict[object, float] = field(default_factory=dict)

    def value(self, what: Observable) -> float:
        """Return what it is like in a property, or the index of the outcome of an aspect."""
        if what not in self.values:
            # Drawn as a core property is, whoever brings it along.
            self.values[what] = _value(WORLDS[self.strays], what, self.row, self.rng)  # type: ignore[arg-type]
        return self.values[what]


def draw(rng: np.random.Generator, kind: Kind, rules: str = "engine") -> Specimen:
    """Draw a piece of a kind."""
    model = model_of(default_reference())
    candidate = model.candidates.index(kind.resin)
    rows = [row for row in np.flatnonzero(model.gathering[:, candidate]) if model.rows[row].name in kind.variants]
    weights = model.gathering[rows, candidate]
    made = Specimen(kind, rng, int(rng.choice(rows, p=weights / weights.sum())), rules == "strays")
    if rules == "household":
        made.values.update(_household(rng, made.row))
    if rules == "published":
        seen = published(kind.resin)
        made.values.update(seen[rng.integers(len(seen))])
    return made


@functools.cache
def published(resin: str) -> tuple[dict[object, float], ...]:
    """Return what publications measured of pieces of a resin."""
    out: list[dict[object, float]] = []
    for row in measured():
        if row["resin"] == resin:
            found: dict[object, float] = dict(zip(LATENTS, features(row).tolist(), strict=True))
            for name in ("density", "flexural_modulus"):
                found[name] = math.exp(found[name])
            if row["never_melts"]:
                found["softening_temperature"] = math.inf
            out.append({name: value for name, value in found.items() if not math.isnan(value)})
    return tuple(out)


def _household(rng: np.random.Generator, row: int) -> dict[object, float]:
    model = model_of(default_reference())
    variant = model.rows[row]
    rank = rng.uniform(-1.0, 1.0)
    linked = int(model.grades.owner[row]) in dict(model.grades.strength)
    out: dict[object, float] = {}
    for name in SCALARS:
        found = mixture(default_reference(), variant, name)
        if rng.random() < found.never:
            out[name] = math.inf
        elif found.normals:
            statement = found.normals[rng.integers(len(found.normals))]
            place = rank if linked and name in LINKED else rng.uniform(-1.0, 1.0)
            # As wide as the statement's normal, but with ends.
            value = statement.mean + math.sqrt(3.0) * statement.sd * place
            out[name] = math.exp(value) if RULES[name].logarithmic else value
    if not variant.filler and rng.random() < PIGMENTED:
        load = rng.uniform(*PIGMENT)
        out["density"] = 1 / ((1 - load) / out["density"] + load / rng.choice(PIGMENTS))
    return out
