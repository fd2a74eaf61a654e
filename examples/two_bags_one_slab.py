"""Whether the caps and the milk bottles of the Kettle Lane workshop may become one slab.

Usage: python two_bags_one_slab.py [FOLDER]
"""

from __future__ import annotations

import sys
from pathlib import Path

from matplotlib.figure import Figure

import resinid
from resinid.plot.bags import draw_composition

HERE = Path(__file__).parent


def main(folder: Path) -> None:
    """Print the verdict, its reason, what would change it, and the plan; draw what the bags consist of."""
    folder.mkdir(parents=True, exist_ok=True)
    caps, bottles = (
        resinid.read_batch((HERE / name).read_text(encoding="utf-8")) for name in ("caps_bag.toml", "milk_bag.toml")
    )
    plan = resinid.melt_plan(caps, bottles, shares=[3, 1], mould="300x200x10 mm", material="steel", heater="two plates")
    verdict = plan.verdict
    print(f"{caps.name} and {bottles.name}, 3 to 1: {verdict.verdict}, because {verdict.deciding}")
    for change in verdict.changes:
        print(f"  with {change.share:.0%} {change.batch} it would be: {change.verdict}")
    if plan.steps is None:
        print(plan.problem or "No plan: see the reason.")
    else:
        window, press, cold = plan.steps.window, plan.steps.heating[0], plan.steps.cooling[0]
        print(f"  weigh {', '.join(f'{grams:.0f} g of {name}' for name, grams in plan.steps.charge.grams)}")
        print(f"  begin at {window.typical:.0f} °C, never above {window.high:.0f} °C")
        print(f"  {press.loose:.0f} min as shred, under load; then {cold.minutes:.0f} min between {cold.way}")
        print(f"  {plan.steps.notes[0]}")
    for note in verdict.cautions[:2]:
        print(f"  caution: {note.hazard}: {note.caution}")
    figure = Figure(figsize=(7, 8), layout="constrained")
    for axes, bag in zip(figure.subplots(2), (caps, bottles), strict=True):
        draw_composition(resinid.batch_composition(bag), shown=4, ax=axes)
    figure.savefig(folder / "bags.png", dpi=110)
    (folder / "plan.html").write_text(f"<!DOCTYPE html>{plan._repr_html_()}", encoding="utf-8")
    print(f"The picture and the plan are in {folder}.")


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "kettle_lane"))
