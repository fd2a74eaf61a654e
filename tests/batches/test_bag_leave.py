"""How often bags of simulated kinds get leave, rightly and wrongly, by what was looked at.

A bag holds forty items, those of its own resin marked where marks count. What its items are like is drawn as
:mod:`simulate` draws it, of one make or of many; an odd one in a hundred readings has nothing to do with the item.
Ordinary bags hold one resin that may be melted; contaminated ones hold a fifth, or nothing but, of one that must
not be. Items that the answer names are read again. Leave is wrong where such an item is in the bag. Run with
``-m slow -s`` to see the table.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pytest
from simulate import World
from simulated_bags import read_by

from resinid import Batch, default_reference
from resinid.batches.compatibility import judge
from resinid.batches.mix import mix_of
from resinid.batches.mix_part import mix_part

if TYPE_CHECKING:
    from simulate import Piece

TABLE: Final = default_reference()
ORDINARY: Final = ("PE-HD", "PE-LD", "PP", "PS", "ABS", "PET", "PA6", "PMMA")
FORBIDDEN: Final = ("PVC-U", "PVC-P", "NR", "PUR", "POM", "CN", "VMQ")
HOLDS: Final = 40
EVIDENCE: Final[dict[str, tuple[int, tuple[str, ...], bool]]] = {
    "40 marks alone": (0, (), True),
    "floats and feel, 10 pieces": (10, ("W", "E40", "S", "feel", "snap"), False),
    "floats and feel, 30 pieces": (30, ("W", "E40", "S", "feel", "snap"), False),
    "40 marks, floats on 10": (10, ("W", "E40", "S"), True),
    "floats and plate, 8 pieces": (8, ("W", "E40", "S", "plate"), False),
    "floats and plate, 10 pieces": (10, ("W", "E40", "S", "plate"), False),
    "floats and plate, 30 pieces": (30, ("W", "E40", "S", "plate"), False),
    "floats, feel, weighing and plate, 10 pieces": (10, ("W", "E40", "S", "feel", "snap", "density", "plate"), False),
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
    """Test some items, and those again once or twice that the answer asks for."""
    number, tests, marks = EVIDENCE[name]
    picked = rng.choice(HOLDS, number, replace=False).tolist()
    pieces: list[list[dict[str, Any]]] = [read_by(items[k], tests, rng) for k in picked]
    own = sum(item.candidate == TABLE.symbols.index(resin) for item in items)
    for _ in range(3):
        bag = Batch.of("bag", pieces=pieces, marked={resin: own} if marks else {})
        found = judge(mix_of([mix_part(bag, TABLE)], [1.0], TABLE), explain=False)
        named = {int(place) - 1 for why in found.found for place in re.findall(r"piece (\d+)", why)}
        if found.allowed or not named:
            break
        for place in named:
            pieces[place] = [*pieces[place], *read_by(items[picked[place]], tests, rng)]
    return found.allowed


@pytest.mark.slow
def test_leave_is_given_rightly_far_more_often_than_wrongly() -> None:
    """By each kind of evidence: marks alone never clear, and hardly a bag of nothing but what is forbidden."""
    rng = np.random.default_rng(2026)
    right, ordinary = Counter[str](), Counter[str]()
    wrong = {share: Counter[str]() for share in (0.2, 1.0)}
    bad = {share: Counter[str]() for share in (0.2, 1.0)}
    for name in EVIDENCE:
        for resin in ORDINARY:
            for turn in range(2):
                ordinary[name] += 1
                right[name] += cleared(filled(resin, "", 0.0, rng, one_make=turn % 2 == 0), name, resin, rng)
        for share, count in wrong.items():
            for other in FORBIDDEN:
                for turn in range(2):
                    resin = ORDINARY[turn]
                    bad[share][name] += 1
                    items = filled(resin, other, share, rng, one_make=turn % 2 == 0)
                    count[name] += cleared(items, name, resin, rng)
    print(f"\n{'evidence':45} rightly   a fifth forbidden   all forbidden")
    for name in EVIDENCE:
        print(
            f"{name:45} {right[name]:3}/{ordinary[name]:<5} {wrong[0.2][name]:6}/{bad[0.2][name]:<12} "
            f"{wrong[1.0][name]:6}/{bad[1.0][name]}"
        )
    assert right["40 marks alone"] == 0
    assert all(10 * count <= bad[1.0][name] for name, count in wrong[1.0].items())
