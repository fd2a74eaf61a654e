"""What pieces of a resin are like, from few statements, by hand."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

import numpy as np
import pytest
from readers import OWN_TABLE
from scipy import stats
from strays import pieces

from resinid import Axis, ContinuousProperty, Quantity, SpreadRule, TableError, default_reference, load_reference
from resinid.quantities import ASPECTS
from resinid.reference.mixture import mixture
from resinid.reference.rules import RULES
from resinid.scoring.grid import zone, zone_grid
from resinid.scoring.latents import AXES, aspect_latent
from resinid.scoring.properties import observed, refined

if TYPE_CHECKING:
    from pathlib import Path

    from resinid.reference.table import ReferenceTable

HEAD = "resin,aspect,outcome,frequency,source,locator,obtained,note\n"
GLOSS = Quantity("gloss", "", 1e-6, 1e6, "5", "An invented property.")
AXIS = Axis(-13.0, 13.0, 0.0, 500.0, 500.0, 0.02, logarithmic=True)
RULE = SpreadRule(logarithmic=True, scatter=0.2, floor=0.1, widening=0.0, unlisted=0.5, any_plastic=(0.5, 1.5))


def own_table(folder: Path, **files: str) -> ReferenceTable:
    """Return the least table with what some files of it are to hold."""
    for name, text in (OWN_TABLE | files).items():
        (folder / f"{name}.csv").write_text(text, encoding="utf-8")
    return load_reference(folder)


@pytest.mark.parametrize(
    ("word", "chance"), [("always", 0.97), ("usual", 0.8), ("sometimes", 0.4), ("rare", 0.1), ("never", 0.02)]
)
def test_words_of_frequency(tmp_path: Path, word: str, chance: float) -> None:
    """Of the words' chances (common practice, no source) 85 % count, the rest is even; what is left goes to the unsaid.

    The 15 % are those of reference/README.md.
    """
    reference = own_table(tmp_path, behaviour=HEAD + f"PP,snap,creases,{word},bench,,handbook,\n")
    latent = observed("snap").latent(reference)
    words = ASPECTS["snap"]
    others = (1 - chance) / (len(words) - 1)
    expected = [0.85 * (chance if each == "creases" else others) + 0.15 / len(words) for each in words]
    assert latent.mass[0] == pytest.approx(expected, rel=1e-12)
    assert latent.stated == (True, False)
    assert latent.values.tolist() == list(range(len(words)))


def test_rows_of_one_outcome_are_averaged_by_their_grades(tmp_path: Path) -> None:
    """A handbook weighs 3, memory 0.5; the smoothing lies as far from 15 to 30 % as rows are recalled.

    Numbers and rule as reference/README.md states them.
    """
    rows = "PP,snap,creases,usual,bench,,handbook,\nPP,snap,creases,rare,bench,,memory,\n"
    latent = observed("snap").latent(own_table(tmp_path, behaviour=HEAD + rows))
    count, place = len(ASPECTS["snap"]), ASPECTS["snap"].index("creases")
    assert latent.mass[0][place] == pytest.approx(0.775 * (3 * 0.8 + 0.5 * 0.1) / 3.5 + 0.225 / count, rel=1e-12)


def test_chances_of_all_outcomes_add_up(tmp_path: Path) -> None:
    """Where all outcomes are stated they are scaled to one; where some exceed one, nothing is left for the rest."""
    words = ASPECTS["snap"]
    rows = "".join(f"PP,snap,{each},always,bench,,handbook,\n" for each in words)
    rows += "".join(f"PS,snap,{each},always,bench,,handbook,\n" for each in words[:-1])
    latent = observed("snap").latent(own_table(tmp_path, behaviour=HEAD + rows))
    assert latent.mass[0] == pytest.approx(np.full(len(words), 1 / len(words)))
    expected = [0.85 / (len(words) - 1) + 0.15 / len(words)] * (len(words) - 1) + [0.15 / len(words)]
    assert latent.mass[1] == pytest.approx(expected)
    assert latent.mass[-1] == pytest.approx(0.5 * latent.mass[:2].mean(axis=0) + 0.5 / len(words))


def test_nothing_said_is_even(tmp_path: Path) -> None:
    """Of an aspect that no row speaks of, every outcome is as likely for every resin."""
    latent = observed("snap").latent(own_table(tmp_path))
    assert latent.stated == (False, False)
    assert latent.mass == pytest.approx(np.full((3, len(ASPECTS["snap"])), 1 / len(ASPECTS["snap"])))


def test_an_outcome_that_the_aspect_lacks() -> None:
    """A row of another outcome than the aspect has is named; rows of other aspects do not matter."""
    reference = default_reference()
    row = next(row for row in reference.behaviours if row.aspect == "snap")
    others = tuple(word for word in ASPECTS["snap"] if word != row.outcome)
    with pytest.raises(TableError, match=row.outcome):
        aspect_latent(reference, "snap", others)
    assert not any(aspect_latent(reference, "no such aspect", ("yes", "no")).stated)


def test_none_of_these_is_broad(tmp_path: Path) -> None:
    """A fifth of "none of these" is as any plastic may be, the rest the listed resins, each as much, widened.

    Means and variances of the mixture by hand; the fifth is common practice, no source.
    """
    own = tmp_path / "own"
    own.mkdir()
    head = "resin,variant,property,low,typical,high,unit,condition,specimen,source,locator,obtained,note\n"
    rows = "PP,natural,gloss,,2,,,,,bench,,handbook,\nPS,natural,gloss,,20,,,,,bench,,handbook,\n"
    (own / "properties.csv").write_text(head + rows, encoding="utf-8")
    latent = ContinuousProperty(GLOSS, AXIS, RULE, folder=own).latent(own_table(tmp_path))
    logs = np.log(latent.values)
    parts = [(0.2, 0.5, 1.5), (0.4, math.log(2.0), math.hypot(0.2, 0.5)), (0.4, math.log(20.0), math.hypot(0.2, 0.5))]
    mean = sum(weight * centre for weight, centre, _ in parts)
    variance = sum(weight * (sd**2 + (centre - mean) ** 2) for weight, centre, sd in parts)
    assert latent.mass.sum(axis=1) == pytest.approx(1.0)
    assert float(latent.mass[-1] @ logs) == pytest.approx(mean, abs=1e-6)
    assert float(latent.mass[-1] @ (logs - mean) ** 2) == pytest.approx(variance, rel=1e-6)


def test_what_never_softens() -> None:
    """A resin that never softens has all its mass at infinity; so has "none of these" the share of such resins."""
    reference = default_reference()
    latent = observed("softening_temperature").latent(reference)
    found = [mixture(reference, variant, "softening_temperature") for variant in reference.variants]
    known = sum(v.weight for v, each in zip(reference.variants, found, strict=True) if each.normals or each.never)
    never = sum(v.weight for v in reference.variants if v.softens == "never")
    assert 0 < never < known
    assert math.isinf(latent.values[-1])
    assert np.isfinite(latent.values[:-1]).all()
    for variant, row, each in zip(reference.variants, latent.mass, found, strict=False):
        if each.normals or each.never:
            assert row[-1] == (1.0 if variant.softens == "never" else 0.0)
        else:
            assert row[-1] == pytest.approx(never / known)
    assert latent.mass[-1, -1] == pytest.approx(never / known)
    assert latent.mass.sum(axis=1) == pytest.approx(1.0)


@pytest.mark.parametrize("name", list(AXES))
def test_mass_is_the_mixture(name: str) -> None:
    """Mean and variance of every variant's mass are those of its mixture, strays included, in its coordinate."""
    reference = default_reference()
    latent = observed(name).latent(reference)
    finite = np.isfinite(latent.values)
    coordinates = latent.values[finite] if name == "softening_temperature" else np.log(latent.values[finite])
    checked = 0
    for variant, row in zip(reference.variants, latent.mass[:, finite], strict=False):
        normals = pieces(reference, variant, name).normals
        inside = all(AXES[name].low < n.mean - 5 * n.sd and n.mean + 5 * n.sd < AXES[name].high for n in normals)
        if normals and inside:
            mean = sum(n.weight * n.mean for n in normals)
            variance = sum(n.weight * (n.sd**2 + (n.mean - mean) ** 2) for n in normals)
            assert float(row @ coordinates) == pytest.approx(mean, rel=1e-6, abs=1e-6)
            assert float(row @ (coordinates - mean) ** 2) == pytest.approx(variance, rel=1e-4)
            checked += 1
    assert checked > 0.6 * len(reference.variants)


@pytest.mark.parametrize("name", list(AXES))
@pytest.mark.parametrize("place", [0.5, 0.98])
@pytest.mark.parametrize("width", [0.3, 1e-6])
def test_a_refined_latent_has_the_same_mixtures_everywhere(name: str, place: float, width: float) -> None:
    """In its zone, beside it and far from it, a latent of a narrow reading has the density scipy gives the mixture."""
    reference, axis = default_reference(), AXES[name]
    at = axis.low + place * (axis.high - axis.low)
    latent = refined(reference, name, [(at, width * float(axis.spacing(at)))])
    centre, narrow = zone(at, width * float(axis.spacing(at)))
    grid, _ = zone_grid(axis, float(centre), float(narrow))
    (share, wider), size = RULES[name].stray, grid.values.size
    for row, variant in list(enumerate(reference.variants))[::9]:
        normals = mixture(reference, variant, name).normals
        if normals:
            parts = [
                sum(n.weight * stats.norm.pdf(grid.coordinates, n.mean, math.hypot(n.sd, w)) for n in normals)
                for w in (0.0, wider)
            ]
            usual, strays = (part * grid.weights / float(part @ grid.weights) for part in parts)
            expected = (1.0 - share) * usual + share * strays
            assert latent.mass[row, :size] == pytest.approx(expected, rel=1e-9, abs=1e-30)
