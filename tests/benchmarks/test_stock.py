"""How long a stock takes, every two bags together against one pair after another. Nothing is asserted of speed."""

from __future__ import annotations

import sys
import time
from dataclasses import replace
from pathlib import Path
from typing import Final

import numpy as np
import pytest

from resinid import Batch, default_reference
from resinid.batches.compatibility import judge
from resinid.batches.mix import mix_of
from resinid.batches.mix_part import mix_part
from resinid.batches.mixing_rules import mixing_rules
from resinid.batches.pairs import judge_pairs
from resinid.heating.verdict import DANGER_LIMIT

sys.path.append(str(Path(__file__).parents[1] / "batches"))
sys.path.append(str(Path(__file__).parents[1] / "trust"))
from simulated_bags import ORDINARY, bag_of

BAGS: Final = 30
WHOLE: Final = 200
ALONE: Final = 25


def hardly_tested() -> list[Batch]:
    """Bags of which one piece was floated in water and nothing else is known, so that they may hold anything."""
    float_test = {"test": "float", "liquid": "water"}
    return [Batch.of(f"bag {k}", pieces=[[{**float_test, "outcome": ("floats", "sinks")[k % 2]}]]) for k in range(BAGS)]


def measured() -> list[Batch]:
    """Ordinary bags, ten pieces or so of each tested."""
    rng = np.random.default_rng(20261130)
    return [replace(bag_of(ORDINARY[k % len(ORDINARY)], rng), name=f"bag {k}") for k in range(BAGS)]


@pytest.mark.slow
def test_pairs_of_a_stock(capsys: pytest.CaptureFixture[str]) -> None:
    """Bags that may hold anything, the worst, and ordinary ones: time of a bag, and of a pair in both ways."""
    reference = default_reference()
    rules = mixing_rules(reference)
    rows = []
    for what, bags in (("one float each", hardly_tested()), ("ordinary, ten tested", measured())):
        mix_part(bags[0], reference)
        start = time.process_time()
        parts = [mix_part(each, reference) for each in bags]
        made = time.process_time()
        found = judge_pairs(parts, rules, DANGER_LIMIT)
        together = time.process_time()
        places = np.stack(np.triu_indices(BAGS), axis=1).tolist()
        picked = np.random.default_rng(0).permutation(len(places))[:ALONE].tolist()
        for k in picked:
            pair = [parts[place] for place in dict.fromkeys(places[k])]
            alone = judge(mix_of(pair, [1.0] * len(pair), reference), explain=False)
            assert alone.chances == pytest.approx(found[k].chances, abs=1e-9)
        single = (time.process_time() - together) / ALONE
        bag, pair_ = (made - start) / BAGS, (together - made) / len(found)
        rows.append((what, bag, single, pair_, WHOLE * bag + WHOLE * (WHOLE + 1) / 2 * pair_))
    with capsys.disabled():
        print(f"\na stock of {BAGS} bags, and what {WHOLE} would take [time of one processor]:")
        print(f"  {'':22}{'a bag':>9}{'a pair alone':>14}{'together':>10}{'ratio':>7}{'whole stock':>13}")
        for what, bag, single, pair_, whole in sorted(rows, key=lambda row: -row[-1]):
            print(
                f"  {what:22}{1e3 * bag:6.1f} ms{1e3 * single:11.1f} ms{1e3 * pair_:7.2f} ms{single / pair_:7.1f}"
                f"{whole:11.1f} s"
            )
