"""Checks that mutation testing of the scoring core asked for."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest

from resinid import default_table, identify
from resinid.scoring.grades import _hats_spearman, correlation
from resinid.table.mixture import mixture

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from resinid.table.entries import Variant


def drawn(variant: Variant, latent: str) -> NDArray[np.float64]:
    rng = np.random.default_rng(67)
    normals = mixture(default_table(), variant, latent).normals
    weights = np.array([normal.weight for normal in normals])
    which = rng.choice(len(normals), 200_000, p=weights / weights.sum())
    means, sds = (np.array([getattr(normal, key) for normal in normals])[which] for key in ("mean", "sd"))
    return rng.normal(means, sds)


@pytest.mark.parametrize("resin", ["PE-HD", "PE-MD", "PE-LLD", "PE-LD"])
def test_correlation_by_hand(resin: str) -> None:
    """The correlation is the stated slope times how crystallinity follows density, over the spreads, from draws.

    With mass crystallinity x of two phases, 1/rho = x/rho_c + (1 - x)/rho_a (Mandelkern's
    mass-fraction rule), dx/d(ln rho) = rho_a rho_c / (rho (rho_c - rho_a)).
    """
    table = default_table()
    natural = next(variant for variant in table.variants if variant.resin == resin)
    crystal = next(crystal for crystal in table.crystals if crystal.resin == resin)
    density, softening = drawn(natural, "density"), drawn(natural, "softening_temperature")
    amorphous, crystalline = crystal.density_amorphous, crystal.density_crystal
    follows = amorphous * crystalline / (math.exp(density.mean()) * (crystalline - amorphous))
    assert crystal.melting_slope
    expected = crystal.melting_slope * follows * density.std() / softening.std()
    assert correlation(table, natural) == pytest.approx(expected, rel=0.02)


def test_variants_come_most_probable_first() -> None:
    """The grades of the leader are told in falling order of their shares, which add up to one."""
    answer = identify(
        [{"test": "density", "density": "1.05 ± 0.01 g/cm3"}, {"test": "softening", "temperature": "163 degC"}]
    )
    shares = [share for _, share in answer.variants]
    assert len(shares) > 1
    assert shares == sorted(shares, reverse=True)
    assert sum(shares) == pytest.approx(1.0)


@pytest.mark.parametrize("count", [2, 3, 5])
def test_rank_correlation_of_grades_from_draws(count: int) -> None:
    """Two ranks drawn from the same grade, each by its share there, have the stated rank correlation."""
    rng = np.random.default_rng(71)
    ranks = rng.random((2, 200_000))
    # A rank lies in the grade below or above it, by how near it is; both kept where they fall into one grade.
    place = ranks * (count - 1)
    grade = np.floor(place) + (rng.random(place.shape) < place % 1.0)
    shares = np.bincount(grade[0].astype(int), minlength=count) / grade.shape[1]
    together = grade[0] == grade[1]
    # Pairs in one grade are met with the square of its share; they count by its share.
    weight = 1.0 / shares[grade[0, together].astype(int)]
    found = 12.0 * np.average(np.prod(ranks[:, together] - 0.5, axis=0), weights=weight)
    assert _hats_spearman(count) == pytest.approx(found, abs=0.01)
