"""How long one piece takes, beside a general-purpose classifier in the same run. Nothing is asserted of speed."""

from __future__ import annotations

import os
import statistics
import subprocess
import sys
import timeit
from pathlib import Path
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from sklearn.naive_bayes import GaussianNB

from resinid import default_reference, identify

if TYPE_CHECKING:
    from collections.abc import Callable

ROUNDS: Final = 41
CALLS: Final = 50


def medians(*functions: Callable[[], object]) -> list[float]:
    """Median time of one call [microseconds] of each function, taken in turns so that noise is shared."""
    times: list[list[float]] = [[] for _ in functions]
    for function in functions:
        function()
    for _ in range(ROUNDS):
        for index, function in enumerate(functions):
            times[index].append(timeit.timeit(function, number=CALLS) / CALLS * 1e6)
    return [statistics.median(row) for row in times]


@pytest.mark.slow
def test_one_piece_against_gaussian_nb(capsys: pytest.CaptureFixture[str]) -> None:
    """Six observations of one piece, against scikit-learn's GaussianNB.predict_proba of one row of six features."""
    entries: list[dict[str, object]] = [
        {"test": "float", "liquid": "water", "outcome": "floats"},
        {"test": "float", "liquid": "ethanol 40 %v/v at 20 degC", "outcome": "sinks"},
        {"test": "density", "density": "0.955 ± 0.004 g/cm3"},
        {"test": "softening", "temperature": "131 degC"},
        {"test": "feel", "outcome": "semi-rigid"},
        {"test": "whitening", "outcome": "none"},
    ]
    made = identify(entries).observations
    classes = len(default_reference().resins) + 1
    rng = np.random.default_rng(0)
    features = rng.normal(size=(5 * classes, 6))
    fitted = GaussianNB().fit(features, np.repeat(np.arange(classes), 5))
    row = features[:1]
    ours, written, theirs = medians(
        lambda: identify(made), lambda: identify(entries), lambda: fitted.predict_proba(row)
    )
    assert identify(made).leader == "PE-HD"
    with capsys.disabled():
        print(f"\none piece, six observations, {classes} candidates (median of {ROUNDS} rounds):")
        print(f"  identify, observations made before   {ours:7.0f} us  {ours / theirs:5.2f} of GaussianNB")
        print(f"  identify, from texts with units      {written:7.0f} us  {written / theirs:5.2f} of GaussianNB")
        print(f"  GaussianNB.predict_proba, one row    {theirs:7.0f} us")


@pytest.mark.slow
def test_whole_command_line_run(capsys: pytest.CaptureFixture[str]) -> None:
    """A whole run from cold, against importing numpy and building one pint registry."""
    example = Path(__file__).parents[2] / "examples" / "green_cap.toml"
    commands = {
        "resinid identify": [sys.executable, "-m", "resinid", "identify", str(example)],
        "import resinid": [sys.executable, "-c", "import resinid"],
        "numpy and pint": [sys.executable, "-c", "import numpy, pint; pint.UnitRegistry()"],
    }
    times: dict[str, list[float]] = {name: [] for name in commands}
    for _ in range(7):
        for name, command in commands.items():
            start = timeit.default_timer()
            subprocess.run(command, check=True, capture_output=True, env=dict(os.environ))
            times[name].append(timeit.default_timer() - start)
    with capsys.disabled():
        print("\nwhole process from cold (median of 7):")
        floor = statistics.median(times["numpy and pint"])
        for name, row in times.items():
            middle = statistics.median(row)
            print(f"  {name:18s} {1000 * middle:6.0f} ms  {middle / floor:5.2f} of numpy and pint")
