"""Whole tables beside a general-purpose classifier, a loop and the floor, in one run. Nothing is asserted of speed."""

from __future__ import annotations

import json
import math
import os
import subprocess
import sys
import time
import timeit
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pandas as pd
import pytest
from sklearn.naive_bayes import GaussianNB

from resinid import default_reference, identify, identify_table
from resinid.reference.mixture import mixture

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path

    from numpy.typing import NDArray

PIECES: Final = 1_000_000
LARGE: Final = bool(os.environ.get("RESINID_LARGE"))
"""Whether to go on to ten million rows, which takes some minutes and 6 GB; see DEVELOPERS.md."""

LOOP: Final = 300
JUGS: Final = (("water at 20 degC", 0.9982), ("ethanol 40 %v/v at 20 degC", 0.9480), ("table salt saturated", 1.2009))


def drawn(count: int) -> pd.DataFrame:
    """Pieces of all resins of the table with density, three float tests, softening and modulus, a tenth missing."""
    rng = np.random.default_rng(20261125)
    reference = default_reference()
    picked = rng.integers(len(reference.variants), size=count)
    values: dict[str, NDArray[np.float64]] = {}
    for latent in ("density", "softening_temperature", "flexural_modulus"):
        value = np.full(count, math.nan)
        for index, variant in enumerate(reference.variants):
            rows = np.flatnonzero(picked == index)
            normals = mixture(reference, variant, latent).normals
            if not normals or not rows.size:
                continue
            weights = np.array([normal.weight for normal in normals])
            chosen = rng.choice(len(normals), rows.size, p=weights / weights.sum())
            mean, sd = (np.array([getattr(normal, name) for normal in normals])[chosen] for name in ("mean", "sd"))
            value[rows] = mean + sd * rng.standard_normal(rows.size)
        value = value if latent == "softening_temperature" else np.exp(value)
        value[rng.random(count) < 0.1] = math.nan
        values[latent] = value
    density = values["density"]
    columns: dict[str, object] = {
        "density.density [g/cm3]": np.clip(density + 0.004 * rng.standard_normal(count), 0.01, 2.9),
        "density.density_u [g/cm3]": rng.uniform(0.003, 0.006, count),
        "softening.temperature [degC]": np.clip(values["softening_temperature"], 30.0, 450.0),
        "softening.temperature_u [degC]": rng.uniform(1.0, 3.0, count),
        "modulus.modulus [MPa]": np.clip(values["flexural_modulus"], 0.2, 29000.0),
        "modulus.modulus_u [MPa]": 0.1 * np.clip(values["flexural_modulus"], 0.2, 29000.0),
    }
    for number, (jug, bath) in enumerate(JUGS, start=1):
        sinks = density + 0.0015 * rng.standard_normal(count) > bath
        outcome = np.where(sinks, "sinks", "floats").astype(object)
        outcome[np.isnan(density) | (rng.random(count) < 0.1)] = None
        columns[f"float#{number}.liquid"] = pd.Categorical([jug] * count)
        columns[f"float#{number}.outcome"] = pd.Categorical(outcome)
    return pd.DataFrame(columns)


def observations(row: pd.Series[Any]) -> list[dict[str, object]]:
    made: list[dict[str, object]] = []
    for test, field, unit in (
        ("density", "density", "g/cm3"),
        ("softening", "temperature", "degC"),
        ("modulus", "modulus", "MPa"),
    ):
        value = row[f"{test}.{field} [{unit}]"]
        if not math.isnan(value):
            made.append({"test": test, field: {"value": value, "u": row[f"{test}.{field}_u [{unit}]"], "unit": unit}})
    for number, (jug, _) in enumerate(JUGS, start=1):
        outcome = row[f"float#{number}.outcome"]
        if isinstance(outcome, str):
            made.append({"test": "float", "liquid": jug, "outcome": outcome})
    return made


def fastest(function: Callable[[], object], rounds: int = 3) -> float:
    return min(timeit.repeat(function, number=1, repeat=rounds))


def in_turns(*functions: Callable[[], object], rounds: int = 5) -> tuple[list[float], list[float]]:
    """Least seconds by the clock and of the processor, taken in turns so that a busy machine is busy for all."""
    clock = [math.inf] * len(functions)
    processor = [math.inf] * len(functions)
    for _ in range(rounds):
        for index, function in enumerate(functions):
            start, used = time.perf_counter(), time.process_time()
            function()
            clock[index] = min(clock[index], time.perf_counter() - start)
            processor[index] = min(processor[index], time.process_time() - used)
    return clock, processor


def softmax(scores: NDArray[np.float64]) -> NDArray[np.float64]:
    lifted = np.exp(scores - scores.max(axis=1, keepdims=True))
    out: NDArray[np.float64] = lifted / lifted.sum(axis=1, keepdims=True)
    return out


@pytest.mark.slow
def test_a_million_pieces(capsys: pytest.CaptureFixture[str]) -> None:
    """One million pieces, six tests each, against GaussianNB, a loop over pieces, and a softmax as large."""
    frame = drawn(PIECES)
    classes = len(default_reference().resins) + 1
    rng = np.random.default_rng(0)
    scores = rng.normal(size=(PIECES, classes))
    features = rng.normal(size=(PIECES, 6))
    fitted = GaussianNB().fit(features[: 5 * classes], np.repeat(np.arange(classes), 5))
    identify_table(frame.iloc[:1000])
    (floor, one, two, rival), (floor_used, one_used, *_) = in_turns(
        lambda: softmax(scores),
        lambda: identify_table(frame),
        lambda: identify_table(frame, workers=2),
        lambda: fitted.predict_proba(features),
    )
    sample = [observations(frame.iloc[row]) for row in range(LOOP)]
    loop = fastest(lambda: [identify(made) for made in sample], 1) / LOOP * PIECES
    rows = fastest(lambda: [identify(observations(frame.iloc[row])) for row in range(LOOP)], 1) / LOOP * PIECES
    answer = identify_table(frame.iloc[:LOOP]).probability
    for row in range(0, LOOP, 10):
        assert answer.iloc[row]["PP"] == pytest.approx(identify(sample[row])["PP"], abs=1e-9)
    sizes = {}
    for size in (10_000, 100_000, PIECES, 10 * PIECES)[: 4 if LARGE else 3]:
        part = frame.iloc[:size] if size <= PIECES else pd.concat([frame] * (size // PIECES), ignore_index=True)
        sizes[size] = fastest(lambda part=part: identify_table(part)) / size * 1e6  # type: ignore[misc]  # because of the default
    with capsys.disabled():
        print(f"\n{PIECES} pieces, six tests each, {classes} candidates (best of 5, in turns):")
        for name, seconds in (
            ("floor: softmax of as large a matrix", floor),
            ("identify_table, one worker", one),
            ("identify_table, two workers", two),
            ("GaussianNB.predict_proba, six features", rival),
            (f"loop of identify (from {LOOP})", loop),
            ("the same, reading the table's rows too", rows),
        ):
            print(f"  {name:40s} {seconds:8.2f} s {seconds / floor:8.1f} of the floor")
        print(f"  two workers: {rival / two:.1f} times as fast as GaussianNB, {loop / two:.0f} times the loop")
        print(f"  time of the processor, one worker: {one_used / floor_used:.1f} of the floor")
        print("  us a row by rows: " + ", ".join(f"{size}: {each:.2f}" for size, each in sizes.items()))


MEMORY = """
import json, pathlib, sys
import resinid.tables.stream as stream
def peak():  # of this program alone; what getrusage tells is at least the parent's
    lines = pathlib.Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1024
before = peak()
done = stream.identify_file(sys.argv[1], sys.argv[2], top=3, workers=1)
print(json.dumps({"rows": done.rows, "before": before, "peak": peak()}))
"""


@pytest.mark.slow
def test_memory_of_streaming(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Peak memory of streaming a file does not grow with its length."""
    peaks = {}
    part = drawn(100_000)
    for times in (4, 10, 100)[: 3 if LARGE else 2]:
        source = tmp_path / f"{times}.csv"
        for index in range(times):
            part.to_csv(source, index=False, mode="a", header=index == 0)
        done = subprocess.run(
            [sys.executable, "-c", MEMORY, str(source), str(tmp_path / f"{times}-out.csv")],
            capture_output=True, text=True, check=True,
        )  # fmt: skip
        told = json.loads(done.stdout)
        peaks[told["rows"]] = told["peak"] - told["before"]
    with capsys.disabled():
        print(
            "\npeak memory over the interpreter's, by rows: " + ", ".join(f"{r}: {m:.0f} MB" for r, m in peaks.items())
        )
    small, *larger = peaks.values()
    assert max(larger) < small + 60, "memory grows with the file"
