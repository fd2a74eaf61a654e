"""How often leave to heat is given, rightly and wrongly: simulated pieces after stages of evidence.

    python tests/trust/leave.py --pieces 2000 --stage hot --rules household --botched

``cold``: a weighing in water, three floats, feel, look, whether it springs back, and a cut face. ``hot``:
a hot plate in steps of 20 K to 280 degC too, and what the melt is like. ``advised``: then the tests that
:func:`resinid.next_tests` puts first for the question "heat", one at a time, to a sure verdict or eight
of them. A mark is looked at only on the kinds that have one. What the bench does is in leave_bench.py. With
``botched`` readings, what the answer names as contradicting is measured once again and added. That is
done where leave was not given: nobody repeats a test to lose it.
"""

from __future__ import annotations

import argparse
import math
import statistics
import sys
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parents[1]))  # run as a script: helpers of tests/

from leave_bench import Bench, frame_of, observations_of
from specimens import KINDS, RULES_OF_DRAWING, Kind, draw, published

from resinid import identify, identify_table, next_tests

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from resinid import Result
    from resinid.heating.verdict import Heat

    Entry = dict[str, Any]

__all__ = ["LEAVE", "NOT_YET", "REFUSED", "STAGES", "Tally", "count", "kinds_for", "table", "verdict_of", "wilson"]

STAGES: Final = ("cold", "hot", "advised")
LEAVE, NOT_YET, REFUSED = "leave", "not yet", "refused"

HAVE: Final = (
    "table salt, ethanol 96 %v/v, scale 0.01 g, sinker, strip, hot plate 280 degC, piece 5 mL, copper wire, burner"
)
DECLINED: Final = ("mark", "article", "process")
"""At hand for the advised tests, and what is not asked: nothing is moulded on the pieces, nor are they an article."""

MOST: Final = 8
"""Advised tests before a person gives up."""

SURE: Final = frozenset({LEAVE})
"""Verdicts that end the advised tests. A refusal is none: there is no "not yet" that would tell it from a doubt."""


def verdict_of(heat: Heat) -> str:
    """Return leave, not yet, or refused."""
    return LEAVE if heat.allowed else NOT_YET if heat.verdict.lower().startswith(NOT_YET) else REFUSED


def verdicts_of(pieces: Sequence[Sequence[Entry]]) -> list[str]:
    """Return the verdict on each of many pieces."""
    frame = identify_table(frame_of(pieces), top=1, errors="raise")
    return [REFUSED if barred else LEAVE for barred in frame["do_not_heat"]]


def kinds_for(rules: str) -> dict[str, Kind]:
    """Return the kinds that can be drawn by some rules, by name: of pieces in publications those of a whole resin."""
    return {
        name: kind for name, kind in KINDS.items() if rules != "published" or (name == kind.resin and published(name))
    }


def named_again(answer: Result) -> tuple[int, ...]:
    """Return which observations the answer names as to be measured again."""
    return answer.disagreeing


@dataclass
class Tally:
    """What became of the pieces of one kind."""

    kind: Kind
    verdicts: Counter[str] = field(default_factory=Counter)
    tests: list[int] = field(default_factory=list)

    @property
    def pieces(self) -> int:
        return self.verdicts.total()

    @property
    def leave(self) -> float:
        """Share of pieces with leave."""
        return self.verdicts[LEAVE] / self.pieces

    def line(self) -> str:
        low, high = wilson(self.verdicts[LEAVE], self.pieces)
        rest = "".join(f"{self.verdicts[one] / self.pieces:9.1%}" for one in (NOT_YET, REFUSED))
        median = statistics.median(self.tests)
        return f"  {self.kind.name:24}{self.pieces:7}{self.leave:9.1%}  {low:6.1%} to{high:6.1%}{rest}{median:7g}"


def wilson(hits: int, of: int, z: float = 1.959964) -> tuple[float, float]:
    """Return the 95 % interval of a share (Wilson 1927, J. Am. Stat. Assoc. 22:209-212, from memory)."""
    share, spread = hits / of, z * z / of
    centre = (share + spread / 2) / (1 + spread)
    half = z * math.sqrt(share * (1 - share) / of + spread / (4 * of)) / (1 + spread)
    return max(centre - half, 0.0), min(centre + half, 1.0)


def count(
    kind: Kind,
    stage: str,
    pieces: int,
    *,
    rules: str = "engine",
    botched: bool = False,
    seed: int = 0,
    question: str = "heat",
    start: str = "hot",
    most: int = MOST,
    allow: Sequence[str] = (),
) -> Tally:
    """Draw pieces of a kind, test them, and count the verdicts.

    Parameters
    ----------
    kind : Kind
    stage : {"cold", "hot", "advised"}
    pieces : int
    rules : {"engine", "strays", "household", "published"}
        How pieces are drawn, see specimens.py.
    botched : bool
        Whether tests go wrong at the stated rates.
    seed : int
    question, start, most, allow
        Of the advised tests: what is asked, the stage they follow (or "nothing"), how many at most, and
        which dangers are allowed.
    """
    rng = np.random.default_rng([seed, *kind.name.encode()])
    benches = []
    for _ in range(pieces):
        bench = Bench(draw(rng, kind, rules), botched=botched, table=stage != "advised")
        before = start if stage == "advised" else stage
        if before != "nothing":
            bench.cold()
        if before == "hot":
            bench.hot()
        benches.append(bench)
    tally = Tally(kind)
    if stage == "advised":
        for bench in benches:
            tally.verdicts[_advised(bench, question, most, allow)] += 1
    else:
        verdicts = verdicts_of([bench.done for bench in benches])
        for bench, verdict in zip(benches, verdicts, strict=True):
            tally.verdicts[_repeated(bench) if botched and verdict != LEAVE else verdict] += 1
    tally.tests = [len(bench.done) for bench in benches]
    return tally


def _repeated(bench: Bench) -> str:
    """Return the verdict after what is named has been measured once again."""
    answer = identify(observations_of(bench.done))
    named = named_again(answer)
    for index in named:
        bench.again(index)
    return verdict_of(identify(observations_of(bench.done)).heat if named else answer.heat)


def _advised(bench: Bench, question: str, most: int, allow: Sequence[str]) -> str:
    """Follow the advice until the verdict is sure, nothing more is advised, or there were enough tests."""
    for _ in range(most):
        advice = next_tests(observations_of(bench.done), bench=HAVE, question=question, without=DECLINED, allow=allow)
        verdict = verdict_of(advice.result.heat)
        if verdict in SURE or not advice.suggestions or advice.verdict in {"cannot settle", "not worth it"}:
            return verdict
        bench.follow(advice.suggestions[0].plan)
    return verdict_of(identify(observations_of(bench.done), allow=allow).heat)


def table(tallies: Mapping[str, Tally]) -> str:
    """Return the figures as lines, a kind each, and the totals of each group."""
    lines = [f"  {'kind':24}{'pieces':>7}{'leave':>9}  {'95 % interval':>15}{'not yet':>8}{'refused':>9}{'tests':>7}"]
    for group in dict.fromkeys(tally.kind.group for tally in tallies.values()):
        some = [tally for tally in tallies.values() if tally.kind.group == group]
        whole = Tally(Kind(f"all {group}", "", (), group))
        for tally in some:
            whole.verdicts += tally.verdicts
            whole.tests += tally.tests
        wrong = ": leave is wrong" if whole.kind.wrong else ": leave is right"
        lines += [f"{group}{wrong}", *(tally.line() for tally in some), whole.line()]
    return "\n".join(lines)


def main(arguments: list[str] | None = None) -> None:
    """Print the table."""
    parser = argparse.ArgumentParser(description="Print how often leave to heat is given, rightly and wrongly.")
    parser.add_argument("--pieces", type=int, default=200)
    parser.add_argument("--stage", choices=STAGES, default="hot")
    parser.add_argument("--rules", choices=RULES_OF_DRAWING, default="engine")
    parser.add_argument("--botched", action="store_true")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--question", default="heat", help="what the advised tests ask")
    parser.add_argument("--start", choices=("nothing", "cold", "hot"), default="hot", help="what they follow")
    parser.add_argument("--most", type=int, default=MOST, help="how many of them at most")
    parser.add_argument("--allow", nargs="*", default=[], help="dangers allowed to them, such as 'copper wire'")
    parser.add_argument("--only", nargs="*", choices=list(KINDS), default=list(KINDS), metavar="KIND")
    given = vars(parser.parse_args(arguments))
    names = given.pop("only")
    stage, pieces = given.pop("stage"), given.pop("pieces")
    kinds = {name: kind for name, kind in kinds_for(given["rules"]).items() if name in names}
    print(table({name: count(kind, stage, pieces, **given) for name, kind in kinds.items()}), flush=True)


if __name__ == "__main__":
    main()
