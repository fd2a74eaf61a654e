"""How often bags of simulated kinds get leave, rightly and wrongly, by what was looked at.

    python tests/batches/leave_by_evidence.py --turns 10

A bag holds forty items, those of its own resin marked where marks count. What its items are like is drawn as
:mod:`simulate` draws it, of one make or of many; an odd one in a hundred readings has nothing to do with the item.
Ordinary bags hold one resin that may be melted; contaminated ones hold a fifth, or nothing but, of one that must
not be. An item that the answer names is read once again. Leave is wrong where such an item is in the bag.
"""

from __future__ import annotations

import argparse
import itertools
import re
import sys
from collections import Counter
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
from scipy.stats import binomtest

sys.path.extend(str(Path(__file__).resolve().parents[1] / name) for name in ("", "trust"))  # run as a script

from simulate import World
from simulated_bags import read_by

from resinid import Batch, default_reference
from resinid.batches.compatibility import judge
from resinid.batches.mix import mix_of
from resinid.batches.mix_part import mix_part

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from simulate import Piece

TABLE: Final = default_reference()
ORDINARY: Final = ("PE-HD", "PE-LD", "PP", "PS", "ABS", "PET", "PA6", "PMMA", "PE-LLD", "SAN", "PLA")
FORBIDDEN: Final = ("PVC-U", "PVC-P", "NR", "PUR", "POM", "CN", "VMQ")
SHARES: Final = (0.2, 1.0)
HOLDS: Final = 40
KINDS: Final = (
    *itertools.product(ORDINARY, ("",), (0.0,), (True, False)),
    *itertools.product(ORDINARY, ("",), (0.0,), (True, False)),
    *itertools.product(("PE-HD", "PP"), FORBIDDEN, SHARES, (True, False)),
)
"""Resin, what must not be heated, its share, and whether all are of one make: 44 ordinary and 56 contaminated."""

EVIDENCE: Final[dict[str, tuple[int, tuple[str, ...], bool]]] = {
    "40 marks alone": (0, (), True),
    "floats and feel, 10 pieces": (10, ("W", "E40", "S", "feel", "snap"), False),
    "floats and feel, 30 pieces": (30, ("W", "E40", "S", "feel", "snap"), False),
    "40 marks, floats on 10": (10, ("W", "E40", "S"), True),
    "floats and plate, 8 pieces": (8, ("W", "E40", "S", "plate"), False),
    "floats and plate, 10 pieces": (10, ("W", "E40", "S", "plate"), False),
    "floats and plate, 30 pieces": (30, ("W", "E40", "S", "plate"), False),
    "floats, feel, weighing and plate, 10 pieces": (10, ("W", "E40", "S", "feel", "snap", "density", "plate"), False),
    "40 marks, floats, feel, weighing and plate on 10": (
        10,
        ("W", "E40", "S", "feel", "snap", "density", "plate"),
        True,
    ),
}


def filled(resin: str, other: str, share: float, rng: np.random.Generator, *, one_make: bool) -> list[Piece]:
    """Forty items, so large a share of them of another resin."""
    world = World()
    place = TABLE.symbols.index
    foreign = round(share * HOLDS)
    make = world.piece_of(rng, place(resin))
    own = [make if one_make else world.piece_of(rng, place(resin)) for _ in range(HOLDS - foreign)]
    odd = world.piece_of(rng, place(other or resin))
    return [*own, *(odd if one_make else world.piece_of(rng, place(other)) for _ in range(foreign))]


def cleared(items: list[Piece], name: str, resin: str, rng: np.random.Generator) -> bool:
    """Test some items, and those once again that the answer names."""
    number, tests, marks = EVIDENCE[name]
    picked = rng.choice(HOLDS, number, replace=False).tolist()
    pieces: list[list[dict[str, Any]]] = [read_by(items[k], tests, rng) for k in picked]
    own = sum(item.candidate == TABLE.symbols.index(resin) for item in items)
    again: set[int] = set()
    while True:
        bag = Batch.of("bag", pieces=pieces, marked={resin: own} if marks else {})
        found = judge(mix_of([mix_part(bag, TABLE)], [1.0], TABLE), explain=False)
        named = {int(place) - 1 for why in found.found for place in re.findall(r"piece (\d+)", why)} - again
        if found.allowed or not named:
            return found.allowed
        again |= named
        for place in named:
            pieces[place] = [*pieces[place], *read_by(items[picked[place]], tests, rng)]


@dataclass(frozen=True)
class Rate:
    """How many of some bags got leave."""

    leave: int
    bags: int

    @property
    def bounds(self) -> tuple[float, float]:
        """95 % Wilson interval."""
        found = binomtest(self.leave, self.bags).proportion_ci(method="wilson")
        return float(found.low), float(found.high)

    def __str__(self) -> str:
        """Return the rate with its interval."""
        low, high = self.bounds
        return f"{self.leave:4}/{self.bags:<4} {low:5.0%} to {high:4.0%}"


def counted(names: Sequence[str], turns: int, seed: int = 2026) -> dict[tuple[str, float], Rate]:
    """Return for each kind of evidence, and each share of what must not be heated, how often there was leave."""
    rng = np.random.default_rng(seed)
    leave, bags = Counter[tuple[str, float]](), Counter[tuple[str, float]]()
    for name, (resin, other, share, one_make), _ in itertools.product(names, KINDS, range(turns)):
        bags[name, share] += 1
        leave[name, share] += cleared(filled(resin, other, share, rng, one_make=one_make), name, resin, rng)
    return {key: Rate(leave[key], number) for key, number in bags.items()}


def table(rates: Mapping[tuple[str, float], Rate]) -> str:
    """Return the rates as text."""
    head = ("ordinary: rightly", "a fifth forbidden: wrongly", "all forbidden: wrongly")
    lines = [f"{'evidence':50}" + "".join(f"{what:>28}" for what in head)]
    lines += [
        f"{name:50}" + "".join(f"{rates[name, share]!s:>28}" for share in (0.0, *SHARES))
        for name in dict.fromkeys(name for name, _ in rates)
    ]
    return "\n".join(lines)


def main() -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--turns", type=int, default=1, help="how often each of the 100 kinds is filled")
    parser.add_argument("--seed", type=int, default=2026)
    parser.add_argument("--evidence", nargs="*", choices=list(EVIDENCE), default=list(EVIDENCE), metavar="NAME")
    given = parser.parse_args()
    print(table(counted(given.evidence, given.turns, given.seed)))


if __name__ == "__main__":
    main()
