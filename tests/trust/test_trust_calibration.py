"""Can a stated probability be staked on? Simulation-based calibration of the whole engine.

Talts S., Betancourt M., Simpson D., Vehtari A., Gelman A., Validating Bayesian
inference algorithms with simulation-based calibration, arXiv:1804.06788 (2018): if
truth and data are drawn from the model, the rank of the truth within its posterior
is uniform. The same for the probability below a true value gives the coverage of
every interval.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any, Final

import numpy as np
import pytest
from scipy import stats
from scores import Claims, chance_error, reliability
from simulate import SCALARS, SLOTS, World, bench

from resinid import identify
from resinid.identification.score import model_of, prior_for
from resinid.scoring.integrals import integrate, log_product

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.methods.contract import Observation

    Array = NDArray[np.float64]

PIECES: Final = {"default": 36_000, "uniform": 12_000}
LATENT_PIECES: Final = 4_000
MOST_TESTS: Final = 6
TARGET: Final = 0.02
"""Expected calibration error allowed where the world is as the engine assumes."""


def drawn(rng: np.random.Generator, index: int) -> list[str]:
    """Choose one to six tests, so that each number occurs as often."""
    return [SLOTS[place] for place in rng.permutation(len(SLOTS))[: 1 + index % MOST_TESTS]]


@pytest.mark.slow
@pytest.mark.parametrize("prior", PIECES)
def test_ranks_uniform_and_probabilities_right(prior: str, capsys: pytest.CaptureFixture[str]) -> None:
    """The truth's place in the ranking is uniform, and the leader is right as often as stated.

    The probability of all candidates ranked above the truth, plus a uniform share of
    the truth's own, is uniform. So is the same in the fixed order of the table.
    """
    world, rng = World(prior=prior), np.random.default_rng(41)
    candidates = model_of(world.reference).candidates
    claims, pieces = Claims(), PIECES[prior]
    by_rank, by_table = np.empty(pieces), np.empty(pieces)
    for index in range(pieces):
        piece = world.piece(rng)
        answer = identify(bench(rng, world, piece, drawn(rng, index)), prior=prior)
        truth = candidates[piece.candidate]
        claims.add(answer, truth)
        place, share = answer.resins.index(truth), rng.random()
        by_rank[index] = sum(answer.probability[:place]) + share * answer.probability[place]
        before = sum(answer[name] for name in candidates[: piece.candidate])
        by_table[index] = before + share * answer[truth]
    said, right = claims.arrays()
    with capsys.disabled():
        print(f"\n{pieces} simulated pieces, prior {prior}: mean log loss {np.mean(claims.loss):.3f}")
        print(f"  {'stated':>8}{'right':>8}{'pieces':>8}")
        for count, mean, hit in reliability(said, right):
            print(f"  {mean:8.3f}{hit:8.3f}{count:8}")
        print(f"  {'tests':>8}{'ECE':>8}{'chance':>8}{'stated':>8}{'right':>8}")
        for tests in (None, *range(1, MOST_TESTS + 1)):
            some, hits = claims.arrays(tests)
            chance = chance_error(some, rng)
            print(f"  {tests or 'all'!s:>8}{claims.error(tests):8.4f}{chance:8.4f}{some.mean():8.3f}{hits.mean():8.3f}")
    for ranks in (by_rank, by_table):
        counts = np.histogram(np.clip(ranks, 0.0, 1.0), bins=20, range=(0.0, 1.0))[0]
        assert stats.chisquare(counts).pvalue > 1e-3, counts
    assert claims.error() < TARGET
    for tests in range(1, MOST_TESTS + 1):
        chance = chance_error(claims.arrays(tests)[0], rng)
        assert claims.error(tests) < max(TARGET, 2.0 * chance), "a sixth of the pieces is noisier"


def posterior(observations: list[Observation], name: str, prior: str) -> tuple[Array, Array]:
    """Return the nodes of a property and the probability on each, all resins together."""
    model = model_of(World().reference)
    by_latent: dict[Any, list[int]] = {}
    terms = [observation.term() for observation in observations]
    for index, term in enumerate(terms):
        by_latent.setdefault(term.observes, []).append(index)
    weights = model.gathering @ prior_for(model.reference, prior)
    for other, members in by_latent.items():
        if other != name:
            chosen = [terms[index] for index in members]
            found = integrate(chosen, model.resolving(other, chosen))
            weights = weights * found.whole
    own = [terms[index] for index in by_latent.get(name, [])]
    latent = model.resolving(name, own) if own else model.latent(name)
    mass = weights @ latent.mass
    if own:
        logs = log_product(own, latent.values)
        mass = mass * np.exp(logs - logs.max())
    return latent.values, mass / mass.sum()


def below(true: float, values: Array, mass: Array, rng: np.random.Generator) -> float:
    """Return the probability below a value; a node's mass lies about it, half way to its neighbours."""
    finite = values[np.isfinite(values)]
    if math.isinf(true):  # all that never soften are alike
        return float(mass[: finite.size].sum() + rng.random() * mass[finite.size :].sum())
    edges = np.concatenate([finite[:1], (finite[:-1] + finite[1:]) / 2, finite[-1:]])
    return float(np.interp(true, edges, np.concatenate([[0.0], mass[: finite.size].cumsum()])))


@pytest.mark.slow
def test_intervals_of_the_properties_cover(capsys: pytest.CaptureFixture[str]) -> None:
    """A property's central 50 % and 90 % intervals hold its true value 50 and 90 % of the time.

    Observed or not: what the other tests say of the resin speaks for its properties.
    """
    world, rng = World(), np.random.default_rng(43)
    found: dict[str, list[float]] = {name: [] for name in SCALARS}
    for index in range(LATENT_PIECES):
        piece = world.piece(rng)
        observations = bench(rng, world, piece, drawn(rng, index))
        for name in SCALARS:
            values, mass = posterior(observations, name, world.prior)
            found[name].append(below(piece.values[name], values, mass, rng))
    with capsys.disabled():
        print(f"\ncoverage of central intervals, {LATENT_PIECES} simulated pieces")
        for name, ranks in found.items():
            shares = [float(np.mean(np.abs(np.array(ranks) - 0.5) < half / 2)) for half in (0.5, 0.9)]
            print(f"  {name:24}50 %: {shares[0]:.3f}   90 %: {shares[1]:.3f}")
    for name, ranks in found.items():
        counts = np.histogram(ranks, bins=20, range=(0.0, 1.0))[0]
        assert stats.chisquare(counts).pvalue > 1e-3, (name, counts)
        for half in (0.5, 0.9):
            covered = float(np.mean(np.abs(np.array(ranks) - 0.5) < half / 2))
            assert covered == pytest.approx(half, abs=4 * (half * (1 - half) / LATENT_PIECES) ** 0.5), name
