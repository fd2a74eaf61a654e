"""The engine against brute-force integration with scipy.integrate."""

from __future__ import annotations

import math
from collections.abc import Callable
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy import integrate, stats
from scipy.special import ndtr
from strays import pieces

from resinid import InputError, default_reference, identify, observe, parse_liquid
from resinid.methods.displacement.method import AIR
from resinid.methods.displacement.volumes import BOTCHED_RANGE, WETTING
from resinid.methods.float_test.method import HOVER, JUDGEMENT, OUTLIER_LIKELIHOODS
from resinid.methods.float_test.method import OUTLIER as FLOAT_OUTLIER
from resinid.reference.mixture import mixture
from resinid.scoring.engine import Model
from resinid.scoring.shared_error import COMMON

if TYPE_CHECKING:
    from resinid.methods.contract import Observation

OUTLIER = 1 - 0.97**3

Array = NDArray[np.float64]
Likelihood = Callable[[float], float]


def brute_force(resin: str, robust: Likelihood, sharp: list[float]) -> float:
    """Evidence for a resin by adaptive quadrature over its mixture of log-normals, component by component."""
    reference = default_reference()
    total = 0.0
    for variant in reference.variants:
        if variant.resin != resin:
            continue
        for normal in pieces(reference, variant, "density").normals:
            low, high = math.exp(normal.mean - 10 * normal.sd), math.exp(normal.mean + 10 * normal.sd)
            points = [p for p in sharp if low < p < high]

            def integrand(x: float, mean: float = normal.mean, sd: float = normal.sd) -> float:
                return NormalDist(mean, sd).pdf(math.log(x)) / x * robust(x)

            value, _ = integrate.quad(integrand, low, high, points=points or None, limit=2000, epsabs=0, epsrel=1e-9)
            total += variant.weight * normal.weight * value
    return total


def engine(resin: str, observations: list[Observation]) -> float:
    model = Model(default_reference())
    log = model.evidence([observation.term() for observation in observations]).log
    return float(np.exp(log[model.candidates.index(resin)]))


RESINS = ["PE-HD", "PP", "PS", "PVC-U", "TPS", "ABS"]


@pytest.mark.parametrize("resin", RESINS)
@pytest.mark.parametrize(("density", "u"), [(0.955, 0.004), (1.05, 0.0015), (0.92, 0.03), (0.9784, 0.0002)])
def test_measured_density(resin: str, density: float, u: float) -> None:
    """A measured density: the standing and the graded grid agree with adaptive quadrature."""
    own = math.hypot(u, 0.0002 * density)

    def robust(x: float) -> float:
        return (1 - OUTLIER) * NormalDist(x, own).pdf(density) + OUTLIER / density / BOTCHED_RANGE

    made = [observe("density", density=f"{density!r} ± {u!r} g/cm3")]
    sharp = [density + k * own for k in (-6, -3, -1, 0, 1, 3, 6)]
    assert engine(resin, made) == pytest.approx(brute_force(resin, robust, sharp), rel=2e-4)


@pytest.mark.parametrize("density", [1.02, 1.045, 1.06])
def test_weighing_integrates_the_unknown_mass(density: float) -> None:
    """A weighing: the unknown mass and the liquid's error, integrated by brute force, give the same likelihood."""
    bath = parse_liquid("water at 20 ± 0.5 degC")
    air, shown, u = 5.00, 0.24, 0.006
    made = observe("weighing", in_air=f"{air} ± {u} g", in_liquid=f"{shown} ± {u} g", liquid=bath)
    fast = float(made.term().likelihood(np.array([density]), None)[0])
    mass = np.linspace(air - 8 * u, air + 8 * u, 2001)[:, None] / (1 - AIR / density)
    liquids = bath.density + bath.u * np.linspace(-7, 7, 141)[None, :]
    wetting = WETTING * bath.density * air / (density - AIR)
    joint = (
        stats.norm.pdf(air, mass * (1 - AIR / density), u)
        * stats.norm.pdf(shown, mass * (1 - liquids / density), math.hypot(u, wetting))
        * stats.norm.pdf(liquids, bath.density, bath.u)
    )
    # A flat prior over the mass shown in air; the trapezium rule is exact enough at these spacings.
    over_mass = integrate.trapezoid(joint, x=mass[:, 0] * (1 - AIR / density), axis=0)
    slow = float(integrate.trapezoid(over_mass, x=liquids[0]))
    assert fast == pytest.approx(slow, rel=1e-3, abs=1e-12)


def step(x: float, outcome: str, limit: Array) -> Array:
    """Chance of an outcome when nothing goes wrong."""
    floats = ndtr((limit - HOVER - x) / JUDGEMENT)
    sinks = 1.0 - ndtr((limit + HOVER - x) / JUDGEMENT)
    good: Array = {"floats": floats, "sinks": sinks, "hovers": 1.0 - floats - sinks}[outcome]
    return good


@pytest.mark.parametrize("outcome", ["floats", "sinks"])
@pytest.mark.parametrize("resin", ["PE-HD", "PE-LD", "PP", "PE-LLD"])
def test_ten_floats_in_one_jug(resin: str, outcome: str) -> None:
    """Ten tests in one jug: the jug's error is integrated once, over the product, by two nested quadratures."""
    jug = parse_liquid("ethanol 48 %v/v")
    errors, weights = np.polynomial.legendre.leggauss(400)
    errors *= 6.0
    gauss = weights * 6.0 * stats.norm.pdf(errors)

    def robust(x: float) -> float:
        bad, common = OUTLIER_LIKELIHOODS[outcome], COMMON * FLOAT_OUTLIER
        rest = (FLOAT_OUTLIER - common) / (1 - common)
        one = (1 - rest) * step(x, outcome, jug.density + jug.u * errors) + rest * bad
        return (1 - common) * float(gauss @ one**10) + common * bad**10

    made = [observe("float", liquid=jug, outcome=outcome) for _ in range(10)]
    reference = default_reference()
    total = 0.0
    for variant in reference.variants:
        if variant.resin != resin:
            continue
        for normal in pieces(reference, variant, "density").normals:
            grid = np.linspace(normal.mean - 8 * normal.sd, normal.mean + 8 * normal.sd, 241)
            values = np.array([robust(math.exp(y)) for y in grid]) * stats.norm.pdf(grid, normal.mean, normal.sd)
            total += variant.weight * normal.weight * float(integrate.simpson(values, x=grid))
    assert engine(resin, made) == pytest.approx(total, rel=5e-3)


def test_repeating_a_displacement_as_floats_does_not_sharpen() -> None:
    """A displacement and ten float tests in the same jug tell what one shared density can, and no more.

    The displacement puts the piece at the jug's density. Of two resins on either
    side, ten floats can then at most say that the piece is lighter than the jug:
    the odds move by the ratio of each resin's share below it, here computed by
    brute force with scipy, outliers and the jug's own error included. The naive
    product of eleven independent evidences goes far beyond.
    """
    jug = parse_liquid("ethanol 48 %v/v at 20 ± 0.5 degC")
    weighing = observe("density", density=f"{jug.density!r} ± 0.004 g/cm3")
    floats = [observe("float", liquid=jug, outcome="floats") for _ in range(10)]
    model = Model(default_reference())
    light, heavy = (model.candidates.index(name) for name in ("PE-LD", "PE-HD"))

    def odds(made: list[Observation]) -> float:
        log = model.evidence([m.term() for m in made]).log
        return float(log[light] - log[heavy])

    errors = np.linspace(-6, 6, 481)
    gauss = stats.norm.pdf(errors) * (errors[1] - errors[0])
    common = COMMON * FLOAT_OUTLIER
    rest = (FLOAT_OUTLIER - common) / (1 - common)

    def robust(x: float) -> float:
        own = math.hypot(0.004, 0.0002 * jug.density)
        one = (1 - rest) * step(x, "floats", jug.density + jug.u * errors) + rest * OUTLIER_LIKELIHOODS["floats"]
        ten = (1 - common) * float(gauss @ one**10) + common * OUTLIER_LIKELIHOODS["floats"] ** 10
        near = (1 - OUTLIER) * NormalDist(x, own).pdf(jug.density) + OUTLIER / jug.density / BOTCHED_RANGE
        return ten * near

    sharp = [jug.density + k * 0.001 for k in range(-12, 13, 2)]
    exact = math.log(brute_force("PE-LD", robust, sharp) / brute_force("PE-HD", robust, sharp))
    together = odds([weighing, *floats])
    assert together == pytest.approx(exact, abs=0.01)
    naive = odds([weighing]) + 10 * odds(floats[:1])
    assert naive - odds([weighing]) > 3 * (together - odds([weighing]))


def test_shared_thermometer() -> None:
    """Two readings of one thermometer tell less than two of two thermometers, and as quadrature says."""
    # A stated chance of an outlier, for with a greater one the far ends are those of outliers.
    reading: dict[str, Any] = {"temperature": "130 ± 1 degC", "u_thermometer": "5 delta_degC", "outlier": 0.04}
    same = [observe("softening", **reading) for _ in range(2)]
    other = [same[0], observe("softening", **reading, thermometer="b")]
    values = np.linspace(100.0, 160.0, 25)
    term = same[0].term()
    errors = np.linspace(-7, 7, 1401)[:, None]
    weights = stats.norm.pdf(errors) * (errors[1] - errors[0])
    robust = (1 - term.outlier) * term.likelihood(values, errors) + term.outlier * term.outlier_likelihood
    shared = (weights * robust**2).sum(axis=0)
    alone = (1 - term.outlier) * term.likelihood(values, None) + term.outlier * term.outlier_likelihood
    np.testing.assert_allclose((weights * robust).sum(axis=0), alone, rtol=1e-6)
    assert shared[0] / shared[12] > (alone[0] / alone[12]) ** 2, "sharing an error widens"
    assert identify(same)["PE-HD"] < identify(other)["PE-HD"]


def test_a_contradicted_observation_is_named() -> None:
    """One botched reading among good ones is found, and does not carry the answer."""
    good = [
        observe("density", density="0.955 ± 0.003 g/cm3"),
        observe("float", liquid="water", outcome="floats"),
        observe("softening", temperature="131 ± 2 degC"),
        observe("feel", outcome="rigid"),
    ]
    wrong = observe("float", liquid="ethanol 60 %v/v", outcome="floats")
    answer = identify([*good, wrong])
    assert answer.leader == "PE-HD"
    assert answer.disagreeing == (4,)
    assert answer.outlier[4] > 0.95
    assert max(answer.outlier[:4]) < 0.5


@pytest.mark.slow
def test_a_hundred_contradictions_stay_finite() -> None:
    """A hundred contradictory observations, many sharp, give finite probabilities in bounded time and memory."""
    made = [observe("float", liquid="water", outcome=("floats", "sinks")[i % 2]) for i in range(60)]
    made += [observe("density", density=f"{0.9 + 0.01 * i} ± 0.0002 g/cm3") for i in range(40)]
    answer = identify(made)
    assert math.fsum(answer.probability) == pytest.approx(1.0)
    assert all(math.isfinite(value) for row in answer.log_factors for value in row)
    with pytest.raises(InputError, match="one more than the 100 allowed"):
        identify([*made, made[0]])


@pytest.mark.parametrize("latent", ["density", "softening_temperature", "flexural_modulus"])
def test_sources_are_those_of_the_statements(latent: str) -> None:
    """What a resin's scores rest on is what its mixtures rest on; nothing stands behind "none of these"."""
    model = Model(default_reference())
    no_data = []
    for index, symbol in enumerate(model.reference.symbols):
        own = [
            mixture(model.reference, variant, latent) for variant in model.reference.variants if variant.resin == symbol
        ]
        assert model.sources(latent, index) == {normal.source for found in own for normal in found.normals}
        if not any(found.normals or found.never for found in own):
            no_data.append(symbol)
    assert model.no_data(latent) == tuple(no_data)
    assert model.sources(latent, len(model.reference.symbols)) == frozenset()
    assert any(model.sources(latent, index) for index in range(len(model.reference.symbols)))


def test_variants_of_every_resin() -> None:
    """Each resin's own variants and no other, most probable first, their shares by hand; none of "none of these"."""
    reference = default_reference()
    model = Model(reference)
    term = observe("density", density="1.02 ± 0.03 g/cm3").term()
    evidence = model.evidence([term])
    latent = model.latent("density")
    robust = (1 - term.outlier) * term.likelihood(latent.values, None) + term.outlier * term.outlier_likelihood
    for index, symbol in enumerate(model.reference.symbols):
        found = model.variants_of(index, evidence)
        shares = dict.fromkeys((v.name for v in reference.variants if v.resin == symbol), 0.0)
        for row, variant in enumerate(model.rows):
            if variant.resin == symbol:
                shares[variant.name] += float(latent.mass[row] @ robust) * float(model.gathering[row, index])
        total = sum(shares.values())
        assert dict(found) == pytest.approx({name: share / total for name, share in shares.items()}, rel=1e-9)
        assert [share for _, share in found] == sorted((share for _, share in found), reverse=True)
    assert model.variants_of(len(reference.symbols), evidence) == ()


def test_evidence_by_kind_adds_up_to_that_by_resin() -> None:
    """Both are of one scale, also where two readings of one property make the sums' own scale another."""
    model = Model(default_reference())
    readings = [observe("density", density=f"{value} ± 0.002 g/cm3") for value in (0.952, 0.955)]
    found = model.evidence([reading.term() for reading in readings])
    assert abs(found.log.max()) > 0.1
    assert np.log(model.by_candidate(np.exp(found.kinds))) == pytest.approx(found.log, abs=1e-9)
