"""How well could any engine do where the world is not as assumed? Rivals that know what ours cannot.

One knows to the letter how pieces are filled or foamed, and errs only in how many are.
Another knows which plastics are not listed, and all their properties. What these miss
no likelihood can meet; only the prior could, and it would be wrong elsewhere.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np
import pytest
from absent import absent, drawn
from baselines import measured
from changed_pieces import (
    FILLERS,
    MEASURED,
    MOST_TESTS,
    PRIORS,
    REPORTED,
    SCALAR_SLOTS,
    TARGET,
    filled,
    foamed,
    with_prior,
)
from published_pieces import error_of_mean, observations, publishers
from scores import calibration_error
from simulate import SLOTS, Piece, World, bench

from resinid import default_reference, identify
from resinid.identification.score import model_of, prior_for
from resinid.reference.rules import BENCH_SHIFT, Z90
from resinid.scoring.integrals import log_product
from resinid.scoring.prior import NONE_OF_THESE

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from numpy.typing import NDArray

    from resinid.methods.contract import Observation
    from resinid.scoring.latents import Latent
    from resinid.scoring.properties import Observable
    from resinid.scoring.term import Term

    Array = NDArray[np.float64]
    Changed = tuple[Callable[[Array], Array], Callable[[Array], Array]]
    """What becomes of densities and of moduli."""

PIECES: Final = 2400
LEVELS: Final = 60
BELIEVED: Final = (0.0, 0.05, 0.1, 0.25, 0.5, 1.0)
"""Shares of pieces that the rival takes to be filled or foamed."""

UNLISTED: Final = (0.03, 0.1, 0.2)
"""Priors of "none of these"."""

FILLER_USED: Final = 15.0 * 0.33
"""[Mt a year] Filler in plastics: a third of 15 (Rothon, conference High Performance Fillers, Cologne, as
reported at http://atozplastics.com/upload/literature/Filler_usage_in_plastics.asp, page read)."""

PLASTICS_MADE: Final = 15.0 / 0.05 * 0.8
"""[Mt a year] Those 15 were 5 % of all polymeric materials (same page); that plastics are four fifths
of them, the rest rubber, is common practice, no source."""

MEAN_LOAD: Final = 0.225
"""Of the pieces that :func:`test_misspecified.filled` makes."""


def filling(share: float, density: float, stiffening: float) -> Changed:
    return (lambda x: 1 / ((1 - share) / x + share / density), lambda x: x * (1 + stiffening * share))


def fillings() -> list[Changed]:
    """All that :func:`test_misspecified.filled` may do, evenly."""
    count = LEVELS // len(FILLERS)
    loads = (0.05 + 0.35 * (np.arange(count) + 0.5) / count).tolist()
    return [filling(load, *filler) for filler in FILLERS.values() for load in loads]


def foaming(left: float) -> Changed:
    return (lambda x: x * left, lambda x: x * left**2)


def foamings() -> list[Changed]:
    """The same of :func:`test_misspecified.foamed`."""
    return [foaming(left) for left in (0.3 + 0.65 * (np.arange(LEVELS) + 0.5) / LEVELS).tolist()]


def likelihoods(seen: Iterable[Observation]) -> list[tuple[Latent, Array]]:
    """Return each property that was observed and the likelihood of all observations of it at its nodes."""
    terms: dict[Observable, list[Term]] = {}
    for observation in seen:
        term = observation.term()
        terms.setdefault(term.observes, []).append(term)
    latents = [(model_of(default_reference()).resolving(name, some), some) for name, some in terms.items()]
    return [(latent, np.exp(log_product(some, latent.values))) for latent, some in latents]


def of_rows(found: list[tuple[Latent, Array]], changed: Changed | None) -> Array:
    """Return the likelihood of all observations for each row of the model, its pieces changed."""
    out = np.ones(len(model_of(default_reference()).rows) + 1)
    for latent, likelihood in found:
        seen = likelihood
        if changed and latent.name in {"density", "flexural_modulus"}:
            to = changed[0 if latent.name == "density" else 1](latent.values)
            seen = np.interp(to, latent.values, likelihood)
        out *= latent.mass @ seen
    return out


def errors(change: Callable[[np.random.Generator, Piece], Piece], known: Iterable[Changed]) -> dict[float, float]:
    """Return the rival's calibration error by the share it believes in, where every piece is changed."""
    model, rng, changes = model_of(default_reference()), np.random.default_rng(73), list(known)
    prior = prior_for(model.reference, "default")
    said: dict[float, list[float]] = {share: [] for share in BELIEVED}
    right: dict[float, list[float]] = {share: [] for share in BELIEVED}
    world = World(change=change)
    for index in range(PIECES):
        piece = world.piece(rng)
        slots = [SLOTS[place] for place in rng.permutation(len(SLOTS))[: 1 + index % MOST_TESTS]]
        found = likelihoods(bench(rng, world, piece, slots))
        plain, other = of_rows(found, None), np.mean([of_rows(found, each) for each in changes], axis=0)
        for share in BELIEVED:
            after = ((1 - share) * plain + share * other) @ model.gathering * prior
            said[share].append(float(after.max() / after.sum()))
            right[share].append(float(after.argmax() == piece.candidate))
    return {share: calibration_error(np.array(said[share]), np.array(right[share])) for share in BELIEVED}


def loss_on_published(known: list[Changed]) -> dict[float, Array]:
    """Return the rival's log loss on each published piece by the share it believes in."""
    model = model_of(default_reference())
    prior = prior_for(model.reference, "default")
    out: dict[float, list[float]] = {share: [] for share in BELIEVED}
    for row in measured():
        found = likelihoods(observations(row))
        plain, other = of_rows(found, None), np.mean([of_rows(found, each) for each in known], axis=0)
        for share in BELIEVED:
            after = ((1 - share) * plain + share * other) @ model.gathering * prior
            out[share].append(-math.log(after[model.candidates.index(row["resin"])] / after.sum()))
    return {share: np.array(losses) for share, losses in out.items()}


@pytest.mark.slow
def test_knowing_how_pieces_are_changed(capsys: pytest.CaptureFixture[str]) -> None:
    """Where every piece is filled or foamed, only who expects that of many pieces is not too sure of himself.

    A rival that knows all about fillers and foam and expects them of one piece in twenty
    misses the target; one that expects them of one piece in four meets it, and loses
    more on published pieces than it would gain. Who expects them of all is calibrated
    there, so the rival's sums are right. By the filler that is sold about one piece in
    eleven is filled so, fewer than he must expect to meet the target.

    Tried once by changing the code: straying in both density and stiffness together, whatever its
    share and distance, misses the target as well (0.103 and 0.151 for the setting that suits
    published pieces best, and they lose 1.559 where ours lose 1.563); straying only as filler
    and gas would have it loses 1.63 on them with one piece in ten filled and one foamed.
    """
    filled_pieces = FILLER_USED / PLASTICS_MADE / MEAN_LOAD
    for name, change, known in (("filled", filled, fillings()), ("foamed", foamed, foamings())):
        found, losses = errors(change, known), loss_on_published(known)
        with capsys.disabled():
            print(f"\nevery piece {name}, {PIECES} pieces: error of one who knows how, by the share he believes in")
            print("  " + "   ".join(f"{share:.2f}: {error:.3f}" for share, error in found.items()))
            print("  log loss on published pieces")
            print("  " + "   ".join(f"{share:.2f}: {loss.mean():.3f}" for share, loss in losses.items()))
            print(f"  filled by the filler sold: {filled_pieces:.3f} of pieces")
        assert found[1.0] < TARGET / 2
        assert found[0.25] < TARGET < found[0.05]
        assert filled_pieces < 0.1
        assert losses[0.25].mean() - losses[0.0].mean() > error_of_mean(losses[0.25] - losses[0.0], publishers())


@pytest.mark.slow
def test_a_larger_prior_of_none_of_these(capsys: pytest.CaptureFixture[str]) -> None:
    """Published pieces are all of listed resins, so the more is kept for others the more is lost on them."""
    lost = []
    for row in measured():
        answer = identify(observations(row))
        lost.append([-math.log(with_prior(each, answer[NONE_OF_THESE], answer[row["resin"]])[1]) for each in PRIORS])
    means = np.mean(lost, axis=0)
    with capsys.disabled():
        print("\nlog loss on published pieces, by the prior of 'none of these'")
        print("  " + "   ".join(f"{prior:.2f}: {loss:.3f}" for prior, loss in zip(PRIORS, means, strict=True)))
    assert (np.diff(means) > 0.0).all()


def unlisted(found: list[tuple[Latent, Array]]) -> float:
    """Return the likelihood for an unlisted plastic whose properties are known as well as the listed ones'."""
    total = np.ones(len(absent()))
    for latent, likelihood in found:
        name, values = latent.name, latent.values
        for index, row in enumerate(absent()):
            if name == "softening_temperature":
                shift, spread = BENCH_SHIFT[row["transition"]]
                mean, sd, at = float(row["temperature_degC"]) + shift, math.hypot(spread, 4.0), values
            else:
                key, scatter = {"density": ("density_{}", 0.006), "flexural_modulus": ("modulus_{}_MPa", 0.20)}[name]
                low, high = (math.log(float(row[key.format(end)])) for end in ("low", "high"))
                mean, sd, at = (low + high) / 2, math.hypot((high - low) / 2 / Z90, scatter), np.log(values)
            finite = np.isfinite(at)
            chance = np.exp(-0.5 * ((at[finite] - mean) / sd) ** 2) * np.gradient(at[finite])
            total[index] *= float(chance @ likelihood[finite] / chance.sum())
    return float(total.mean())


@pytest.mark.slow
def test_knowing_the_absent_plastics(capsys: pytest.CaptureFixture[str]) -> None:
    """Were "none of these" just the absent plastics, each with its properties, their names would be withheld so often.

    With the prior of 0.03 that rival withholds four names in five after three to six tests of
    any kind (0.78 to 0.80), so only who knows all of them meets the bar, and fewer where
    density, softening and modulus are all measured: the other pieces are like a listed
    resin in all that was measured, and that resin is commoner.
    """
    model = model_of(default_reference())
    before = prior_for(model.reference, "default")
    for kinds, fewest, what in ((SCALAR_SLOTS, 3, "three to six tests"), (MEASURED, MOST_TESTS, ", ".join(MEASURED))):
        rng, held = np.random.default_rng(79), np.zeros((2, len(UNLISTED)))
        count = 0
        for row in absent():
            for index in range(24):
                order = rng.permutation(len(kinds))[: fewest + index % (MOST_TESTS + 1 - fewest)]
                found = likelihoods(bench(rng, World(), drawn(rng, row), [kinds[place] for place in order]))
                evidence = of_rows(found, None) @ model.gathering
                count += 1
                for who, none in enumerate((evidence[-1], unlisted(found))):
                    for place, share in enumerate(UNLISTED):
                        after = np.append(evidence[:-1] * before[:-1] * (1 - share) / (1 - before[-1]), none * share)
                        after /= after.sum()
                        held[who, place] += bool(after[-1] == after.max() or after.max() < 0.5)
        held /= count
        with capsys.disabled():
            print(f"\nabsent plastics, {what}: share not named above 50 %, by the prior of 'none of these'")
            for name, shares in zip(("engine", "one who knows them"), held, strict=True):
                listed = "   ".join(f"{p:.2f}: {s:.2f}" for p, s in zip(UNLISTED, shares, strict=True))
                print(f"  {name:20}{listed}")
        assert (held[1] >= held[0]).all()
        assert held[0, 0] < REPORTED < held[1, -1], "for the rival, the bar is a matter of the prior"
        if kinds == MEASURED:
            assert held[1, 0] < REPORTED
