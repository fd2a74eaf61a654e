"""A box of toys in the Kettle Lane workshop: rank each, find baths that sort them, set aside what must not be heated.

Usage: python mixed_toy_box.py [FOLDER]
"""

from __future__ import annotations

import sys
from pathlib import Path

import resinid
from resinid.report.sheet import bench_sheet

FLOATS = {"test": "float", "liquid": "water", "outcome": "floats"}
SINKS = {"test": "float", "liquid": "water", "outcome": "sinks"}
SINKS_IN_BRINE = {"test": "float", "liquid": "table salt 110 g/kg water", "outcome": "sinks"}
FLOATS_ON_BRINE = {"test": "float", "liquid": "table salt 110 g/kg water", "outcome": "floats"}

TOYS = {
    "red brick": [
        SINKS,
        FLOATS_ON_BRINE,
        {"test": "feel", "outcome": "rigid"},
        {"test": "whitening", "outcome": "strong"},
    ],
    "sand bucket": [FLOATS, {"test": "float", "liquid": "ethanol 55 %v/v", "outcome": "floats"}],
    "toy boat": [
        FLOATS,
        {"test": "float", "liquid": "ethanol 40 %v/v", "outcome": "sinks"},
        {"test": "softening", "temperature": "130 ± 2 degC"},
    ],
    "soft duck": [SINKS, SINKS_IN_BRINE, {"test": "feel", "outcome": "limp"}],
}


def main(folder: Path) -> None:
    """Print what each toy may be, write a bench sheet for each, and say how to sort the box."""
    folder.mkdir(parents=True, exist_ok=True)
    may_be: list[str] = []
    for toy, observations in TOYS.items():
        answer = resinid.identify(observations, piece=toy)
        (folder / f"{toy.replace(' ', '_')}.html").write_text(bench_sheet(answer), encoding="utf-8")
        best = ", ".join(f"{resin} {answer[resin]:.0%}" for resin in answer.resins[:3])
        print(f"{toy:12} {best:38} {'set aside: do not heat' if not answer.heat.allowed else 'see the cautions'}")
        may_be += [resin for resin in answer.resins[:2] if resin != "none of these" and resin not in may_be]
    sorting = resinid.ladder(may_be, bench="table salt, ethanol 55 %v/v", steps=3, allow=["flammable bath"])
    print(f"\nTo sort the rest of the box ({', '.join(may_be)}), lightest bath first:")
    for number, rung in enumerate(sorting.rungs, start=1):
        print(f"  {number}. {rung.liquid.density:.3f} g/cm3, {rung.liquid.label}. {rung.liquid.caution}")
    print(f"\nBench sheets are in {folder}; each prints to one page.")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "kettle_lane"))
