"""Rows a second of each built-in test alone and of realistic mixes, the worst first; nothing is asserted of speed.

Beside them, in the same run: a softmax as large as the answer, GaussianNB, and a loop of ``identify``; then one
piece at a time, and imports and commands as ratios. Takes about a minute.
"""

from __future__ import annotations

import os
import re
import statistics
import subprocess
import sys
import timeit
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pytest
from mixes import ALLOW, MIXES, each_alone, table
from sklearn.naive_bayes import GaussianNB

from resinid import default_reference, identify, identify_table

if TYPE_CHECKING:
    from collections.abc import Callable, Sequence

    import pandas as pd

MOST_ROWS: Final = 20_000
PROBE: Final = 1000
"""Rows from which the speed is guessed, to time as many as take a second, but no fewer and no more than the most."""

ROUNDS: Final = 7


def once(function: Callable[[], object]) -> float:
    return timeit.timeit(function, number=1)


def rows_a_second(frame: pd.DataFrame) -> float:
    def score(count: int) -> float:
        return once(lambda: identify_table(frame.iloc[:count], allow=ALLOW))

    count = int(min(max(PROBE / score(PROBE), PROBE), MOST_ROWS))
    return count / score(count)


@pytest.mark.slow
@pytest.mark.filterwarnings("ignore:.*were computed one by one:resinid.TableWarning")  # which is what is timed here
def test_every_test_and_mixes(capsys: pytest.CaptureFixture[str]) -> None:
    """Each built-in test alone and thirteen mixes; the first mix is the one that all are compared with."""
    classes = len(default_reference().resins) + 1
    rng = np.random.default_rng(0)
    scores, features = rng.normal(size=(MOST_ROWS, classes)), rng.normal(size=(MOST_ROWS, 6))
    fitted = GaussianNB().fit(features[: 5 * classes], np.repeat(np.arange(classes), 5))
    kinds = {**{f"{name} alone": columns for name, columns in each_alone().items()}, **MIXES}
    speeds = {name: rows_a_second(table(columns, MOST_ROWS)) for name, columns in kinds.items()}
    easy = speeds[next(iter(MIXES))]

    def softmax() -> object:
        lifted = np.exp(scores - scores.max(axis=1, keepdims=True))
        return lifted / lifted.sum(axis=1, keepdims=True)

    beside = {
        "floor: softmax as large": MOST_ROWS / min(once(softmax) for _ in range(3)),
        "GaussianNB, six features": MOST_ROWS / min(once(lambda: fitted.predict_proba(features)) for _ in range(3)),
        "loop of identify, six observations": 300 / once(lambda: [identify(SIX) for _ in range(300)]),
    }
    with capsys.disabled():
        print("\nrows a second, the worst first, and as a share of the easy mix:")
        for name, speed in sorted({**speeds, **beside}.items(), key=lambda pair: pair[1]):
            print(f"  {speed:9.0f} {speed / easy:7.3f}  {name}")


HEADER: Final = re.compile(r"(\w+)(?:#\d+)?\.(\w+)(?: \[(.*)\])?")


def observations(row: pd.Series[Any]) -> list[dict[str, object]]:
    """Return what a row says, as written one piece at a time."""
    made: dict[str, dict[str, object]] = {}
    for header, cell in row.dropna().items():
        test, field, unit = HEADER.fullmatch(str(header)).groups()  # type: ignore[union-attr]  # because all headers are ours
        entry = made.setdefault(str(header).split(".", maxsplit=1)[0], {"test": test})
        if not field.endswith("_u"):
            u = f"{header}".replace(f".{field}", f".{field}_u")
            entry[field] = cell if unit is None else {"value": float(cell), "u": float(row[u]), "unit": unit}
    return [entry for entry in made.values() if set(entry) - {"test", "liquid"}]


@pytest.mark.parametrize("mix", MIXES)
def test_each_row_has_the_numbers_of_its_piece(mix: str) -> None:
    """However a table is filled in, each row has its piece's probabilities to 1e-9, and its verdict on heating."""
    frame = table(MIXES[mix], 40).iloc[:4]
    answer = identify_table(frame, allow=ALLOW)
    chances = answer.probability
    for place, (_, row) in enumerate(frame.astype(object).iterrows()):
        piece = identify(observations(row), allow=ALLOW)
        alone = [piece[candidate] for candidate in chances.columns]
        assert chances.iloc[place].to_numpy(dtype=float) == pytest.approx(alone, abs=1e-9)
        assert answer["do_not_heat"].iloc[place] == (not piece.heat.allowed)


SIX: Final[list[dict[str, object]]] = [
    {"test": "float", "liquid": "water", "outcome": "floats"},
    {"test": "float", "liquid": "ethanol 40 %v/v at 20 degC", "outcome": "sinks"},
    {"test": "density", "density": "0.955 ± 0.004 g/cm3"},
    {"test": "softening", "temperature": "131 degC"},
    {"test": "feel", "outcome": "semi-rigid"},
    {"test": "whitening", "outcome": "none"},
]
PIECES: Final[dict[str, list[dict[str, object]]]] = {
    "six, no error shared": SIX,
    "six, one jug: weighing, float": [
        {"test": "weighing", "in_air": "9.55 ± 0.05 g", "in_liquid": "99.57 ± 0.02 g", "liquid": "water",
         "sinker_in_liquid": "100.00 ± 0.02 g"},
        *SIX[:2], *SIX[3:],
    ],
    "six, one thermometer, one hand": [
        {"test": "hot_plate", "not_melted_at": "120 degC", "melted_at": "140 degC"},
        {"test": "shore_d", "hardness": "62"},
        *SIX[2:],
    ],
    "six, a precise density": [*SIX[:2], {"test": "density", "density": "0.9551 ± 0.0003 g/cm3"}, *SIX[3:]],
}  # fmt: skip
"""Six observations of one piece, the same piece each time."""


def medians(*functions: Callable[[], object], calls: int) -> list[float]:
    """Median seconds of one call of each function, taken in turns so that noise is shared."""
    times: list[list[float]] = [[] for _ in functions]
    for function in functions:
        function()
    for _ in range(ROUNDS):
        for row, function in zip(times, functions, strict=True):
            row.append(timeit.timeit(function, number=calls) / calls)
    return [statistics.median(row) for row in times]


@pytest.mark.slow
def test_one_piece(capsys: pytest.CaptureFixture[str]) -> None:
    """Six observations of one piece, warm, against GaussianNB.predict_proba of one row of six features."""
    classes = len(default_reference().resins) + 1
    features = np.random.default_rng(0).normal(size=(5 * classes, 6))
    fitted = GaussianNB().fit(features, np.repeat(np.arange(classes), 5))
    pieces = [identify(entries, allow=ALLOW).observations for entries in PIECES.values()]
    functions = [lambda made=made: identify(made, allow=ALLOW) for made in pieces]
    *ours, theirs = medians(*functions, lambda: fitted.predict_proba(features[:1]), calls=20)
    with capsys.disabled():
        print(f"\none piece, median of {ROUNDS} rounds; GaussianNB, one row: {1e3 * theirs:.3f} ms")
        for name, each in zip(PIECES, ours, strict=True):
            print(f"  {1e3 * each:8.3f} ms {each / theirs:6.2f} of GaussianNB  {name}")


def cold(commands: Sequence[Sequence[str]]) -> list[float]:
    """Median seconds of whole processes, taken in turns."""
    return medians(
        *(
            lambda command=command: subprocess.run(
                [sys.executable, *command], check=True, capture_output=True, env=dict(os.environ)
            )
            for command in commands
        ),
        calls=1,
    )


@pytest.mark.slow
def test_from_cold(capsys: pytest.CaptureFixture[str]) -> None:
    """Imports and commands, each against what it cannot do without."""
    example = str(Path(__file__).parents[2] / "examples" / "green_cap.toml")
    bare = ("nothing", ["-c", "pass"])
    arrays = ("numpy, scipy.special", ["-c", "import numpy, scipy.special"])
    units = ("numpy, scipy.special, a pint registry", ["-c", "import numpy, scipy.special, pint; pint.UnitRegistry()"])
    pairs = [
        ("import resinid", ["-c", "import resinid"], arrays),
        ("from resinid import identify", ["-c", "from resinid import identify"], arrays),
        ("resinid --version", ["-m", "resinid", "--version"], bare),
        ("resinid --help", ["-m", "resinid", "--help"], bare),
        ("resinid identify", ["-m", "resinid", "identify", example], units),
    ]
    times = cold([each for _, command, (_, rival) in pairs for each in (command, rival)])
    with capsys.disabled():
        print(f"\nfrom cold, median of {ROUNDS}:")
        for (name, _, (what, _)), ours, theirs in zip(pairs, times[::2], times[1::2], strict=True):
            print(f"  {1e3 * ours:6.0f} ms {ours / theirs:6.2f} of {what} ({1e3 * theirs:.0f} ms)  {name}")
