"""Strategies of batches for the laws, kept small so that each example is quick."""

from __future__ import annotations

from typing import Final

from hypothesis import settings
from hypothesis import strategies as st
from known_bags import known, pieces_of, proved

from resinid import Batch

__all__ = ["known", "pieces_of", "proved"]

SETTINGS: Final = settings(max_examples=15, deadline=None)
MORE: Final = settings(max_examples=150, deadline=None)

SAFE: Final = ("PE-HD", "PE-LD", "PP", "PS", "ABS", "PC", "PA6", "PET", "PLA", "EVAC", "PMMA")
BARRED: Final = ("PVC-U", "PVC-P", "PTFE", "PVDF", "PUR", "CN", "NR", "VMQ", "UP", "EP", "MF", "PF")
SINKS = {"test": "float", "liquid": "water", "outcome": "sinks"}
FLOATS = {"test": "float", "liquid": "water", "outcome": "floats"}
RIGID = {"test": "feel", "outcome": "rigid"}


def bag(name: str, process: str = "unknown", remarks: tuple[str, ...] = (), **marked: int) -> Batch:
    """A bag of marked pieces; underscores in resin names stand for hyphens."""
    counts = {resin.replace("_", "-"): count for resin, count in marked.items()}
    return Batch.of(name, marked=counts, process=process, remarks=list(remarks))


@st.composite
def bags(draw: st.DrawFn, name: str) -> Batch:
    """Any bag: marked pieces of any resins, tested pieces, flakes, remarks."""
    resins = draw(st.lists(st.sampled_from((*SAFE, *BARRED)), max_size=2, unique=True))
    marked = {resin: draw(st.integers(1, 40)) for resin in resins}
    tests = st.sampled_from((SINKS, FLOATS, RIGID))
    pieces = draw(st.lists(st.lists(tests, min_size=1, max_size=2), max_size=2))
    flakes = draw(st.sampled_from(([], [{"liquid": "water", "floated": 30, "sank": 1}])))
    process = draw(st.sampled_from(("unknown", "injection moulding", "blow moulding", "film")))
    remarks = draw(st.sampled_from(([], ["food contact"], ["electrical housing"], ["halogen found"], ["black"])))
    return Batch.of(name, marked=marked, pieces=pieces, flakes=flakes, process=process, remarks=remarks)
