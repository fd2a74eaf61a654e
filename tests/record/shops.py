"""Simulated shops: pieces of three kinds of workshop, tested at a simulated bench, with what was found out of each."""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1] / "trust"))  # the simulated bench

from leave_bench import Bench, frame_of
from specimens import KINDS, draw

from resinid import default_reference, identify_table
from resinid.identification.score import model_of
from resinid.record.entry import Answer, Entry, Outcome
from resinid.scoring.prior import NONE_OF_THESE, prior_of

if TYPE_CHECKING:
    from resinid.arrays import Array

__all__ = ["SHOPS", "Shop", "entries_of", "falsely", "shop_of", "told"]

SHOPS: Final[dict[str, dict[str, float]]] = {
    "caps and tubs": {"PE-HD": 0.55, "PP": 0.32, "PE-LD": 0.1, "PVC-U": 0.03},
    "printed parts": {"PLA": 0.6, "ABS": 0.2, "PET": 0.15, "PA6": 0.05},
    "household": {},
}
"""Shares of kinds of piece; the household's are the published ones of the kinds that can be drawn."""


@dataclass(frozen=True)
class Shop:
    """Pieces in the order found: their resins, and the log of what the first tests tell, for each number of tests."""

    resins: tuple[str, ...]
    benches: tuple[Bench, ...]
    logs: tuple[Array, ...]


def shop_of(name: str, pieces: int, *, seed: int = 1, hot: bool = False) -> Shop:
    """Draw the pieces of a shop and test them, with slips at the stated rates."""
    rng = np.random.default_rng([seed, *name.encode()])
    shares = SHOPS[name] or {
        symbol: float(share)
        for symbol, share in zip(default_reference().symbols, prior_of(default_reference()), strict=False)
        if symbol in KINDS
    }
    weights = np.array(list(shares.values())) / sum(shares.values())
    kinds = [KINDS[list(shares)[index]] for index in rng.choice(len(shares), size=pieces, p=weights)]
    benches = tuple(Bench(draw(rng, kind), botched=True) for kind in kinds)
    for bench in benches:
        bench.cold()
        if hot:
            bench.do("plate")
    most = max(len(bench.done) for bench in benches)
    logs = tuple(told([bench.done[:count] for bench in benches]) for count in range(1, most + 1))
    return Shop(tuple(kind.resin for kind in kinds), benches, logs)


def told(pieces: list[list[Any]]) -> Array:
    """Return the log of the likelihood of each candidate, but for a constant a piece."""
    found = identify_table(frame_of(pieces), prior="uniform", errors="raise").probability
    names = model_of(default_reference()).candidates
    before = np.log(prior_of(default_reference(), "uniform"))
    out: Array = np.log(np.maximum(found[list(names)].to_numpy(), 1e-300)) - before
    return out


def entries_of(shop: Shop, confirmed: list[str], *, source: str = "") -> list[Entry]:
    """Return the pieces as a record holds them, each confirmed as a resin."""
    names = model_of(default_reference()).candidates
    before = prior_of(default_reference(), "uniform")
    out = []
    for number, resin in enumerate(confirmed):
        chance = np.exp(shop.logs[-1][number]) * before
        ranking = [
            {"resin": name, "probability": float(each), "prior": float(prior)}
            for name, each, prior in zip(names, chance / chance.sum(), before, strict=True)
        ]
        answer = Answer("", "", "", {"ranking": ranking})
        outcomes = (Outcome("", resin, "DSC"),)
        out.append(Entry(number, "piece", "", source=source, answers=(answer,), outcomes=outcomes))
    return out


def falsely(confirmed: tuple[str, ...], wrong: float, seed: int = 2) -> list[str]:
    """Return the same with some of them wrong: any listed resin but the right one."""
    rng = np.random.default_rng(seed)
    names = [name for name in model_of(default_reference()).candidates if name != NONE_OF_THESE]
    return [
        str(rng.choice([name for name in names if name != resin])) if rng.random() < wrong else resin
        for resin in confirmed
    ]
