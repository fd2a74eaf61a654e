"""Is a probability of 70 % right seven times in ten? Simulated over populations the prior was not made for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from strategies import written
from strays import pieces

from resinid import default_reference, identify, observe
from resinid.methods.float_test.method import OUTLIER_LIKELIHOODS
from resinid.scoring.prior import UNLISTED, prior_of

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.methods.contract import Observation
    from resinid.reference.entries import Variant

PIECES: Final = 1000
BINS: Final = np.linspace(0, 1, 11)
PRIORS: Final = ("uniform", "default", "us-municipal-waste", "europe-demand", "world-waste", "europe-demand-2005")


def drawn(rng: np.random.Generator, variant: Variant, latent: str) -> float:
    """Draw a piece's value of a property from the table's mixture; infinity where it has none."""
    found = pieces(default_reference(), variant, latent)
    if not found.normals:
        return math.inf if found.never else math.nan
    weights = np.array([normal.weight for normal in found.normals])
    normal = found.normals[rng.choice(len(weights), p=weights / weights.sum())]
    value = rng.normal(normal.mean, normal.sd)
    return value if latent == "softening_temperature" else math.exp(value)


def bench(rng: np.random.Generator, variant: Variant) -> list[Observation]:
    """Do one to four bench tests on a piece, some of them botched as stated."""
    density = float(np.clip(drawn(rng, variant, "density"), 0.006, 2.9))
    soft = drawn(rng, variant, "softening_temperature")
    made: list[Observation] = []
    kinds = rng.permutation(["density", "water", "brine", "hot"])[: rng.integers(1, 5)]
    for kind in kinds:
        botched = rng.random() < 1 - 0.97 ** (3 if kind in {"density", "hot"} else 2)
        if kind == "density":
            read = math.exp(rng.uniform(-0.7, 0.7)) if botched else density + 0.006 * rng.standard_normal()
            made.append(observe("density", density=written(max(read, 0.006), 0.006, "g/cm3")))
        elif kind == "hot":
            if math.isnan(soft):
                continue
            at = 150.0
            molten = rng.random() < 0.5 if botched else soft + 5.0 * rng.standard_normal() < at
            made.append(observe("hot_plate", **{"melted_at" if molten else "not_melted_at": written(at, 1.0, "degC")}))  # type: ignore[arg-type]  # because the key is chosen
        else:
            liquid = "water at 20 degC" if kind == "water" else "table salt saturated at 20 degC"
            bath = 0.9982 if kind == "water" else 1.2009
            outcome = "sinks" if density + 0.0015 * rng.standard_normal() > bath else "floats"
            if botched:
                outcome = str(rng.choice(list(OUTLIER_LIKELIHOODS), p=list(OUTLIER_LIKELIHOODS.values())))
            made.append(observe("float", liquid=liquid, outcome=outcome))
    return made


def scored(population: NDArray[np.float64], stream: int) -> dict[str, tuple[float, float]]:
    """Return log loss and expected calibration error of the leading answer, by prior."""
    reference = default_reference()
    rng = np.random.default_rng(stream)
    loss: dict[str, list[float]] = {prior: [] for prior in PRIORS}
    claims: dict[str, list[tuple[float, bool]]] = {prior: [] for prior in PRIORS}
    for _ in range(PIECES):
        resin = reference.symbols[rng.choice(len(population), p=population)]
        own = [variant for variant in reference.variants if variant.resin == resin]
        variant = own[rng.choice(len(own), p=[v.weight for v in own])]
        made = bench(rng, variant)
        for prior in PRIORS:
            answer = identify(made, prior=prior)
            loss[prior].append(-math.log(max(answer[resin], 1e-12)))
            claims[prior].append((answer.probability[0], answer.leader == resin))
    return {prior: (float(np.mean(loss[prior])), calibration_error(claims[prior])) for prior in PRIORS}


def calibration_error(claims: list[tuple[float, bool]]) -> float:
    said = np.array([claim for claim, _ in claims])
    right = np.array([hit for _, hit in claims], dtype=float)
    place = np.clip(np.digitize(said, BINS) - 1, 0, len(BINS) - 2)
    parts = [abs(said[place == b].mean() - right[place == b].mean()) * (place == b).mean() for b in np.unique(place)]
    return float(sum(parts))


@pytest.mark.slow
def test_default_prior_has_the_smallest_worst_regret_over_scrap(capsys: pytest.CaptureFixture[str]) -> None:
    """Over populations as published streams are, the default prior's worst regret in log loss is the smallest.

    Regret is the loss above that of the prior which is the population. Where the prior is
    the population, the stated probabilities are right to within the noise of the simulation.
    What the default costs where every resin is as common as any other is printed, not bounded:
    for such pieces there is ``prior="uniform"``.
    """
    reference = default_reference()
    streams = ("us-municipal-waste", "world-waste", "europe-demand", "europe-demand-2005")
    results = {name: scored(prior_of(reference, name)[:-1] / (1 - UNLISTED), 7) for name in (*streams, "uniform")}
    regret = {prior: max(results[name][prior][0] - results[name][name][0] for name in streams) for prior in PRIORS}
    with capsys.disabled():
        print(f"\nlog loss / expected calibration error of {PIECES} simulated pieces, one to four tests each")
        print(f"  {'pieces drawn from':20s}" + "".join(f"{prior:>20s}" for prior in PRIORS))
        for name, row in results.items():
            print(f"  {name:20s}" + "".join(f"{row[p][0]:12.3f} / {row[p][1]:.3f}" for p in PRIORS))
        print(f"  {'worst, scrap':20s}" + "".join(f"{regret[p]:20.3f}" for p in PRIORS))
    assert min(regret, key=lambda prior: regret[prior]) == "default"
    for name, row in results.items():
        assert row[name][1] < 0.06, "well specified: calibrated within the noise of the simulation"
