"""The fast sums against the plain ones: every node, every variant, scipy's normal distribution."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import pandas as pd
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from scipy.stats import norm
from shop import compared

from resinid import default_reference
from resinid.identification.score import model_of
from resinid.scoring.term import Normals
from resinid.tables.merging import merged
from resinid.tables.sums import NEGLECTED, Outcomes, in_order, near, product

NAMES: Final = ("density", "softening_temperature", "flexural_modulus", "snap", "melt_clarity")


@pytest.mark.slow
@settings(max_examples=40, deadline=None)
@given(st.lists(st.sampled_from(NAMES), min_size=1, unique=True), st.integers(0, 2**32 - 1))
def test_merging_changes_nothing(names: list[str], number: int) -> None:
    """For any likelihoods, the merged columns give each kind the sum over its variants."""
    model = model_of(default_reference())
    rng = np.random.default_rng(number)
    whole = merged(model, tuple(names))
    ours, theirs = np.ones(whole.folds[0].shape[1]), np.ones(len(model.kind_gathering))
    for name, fold in zip(names, whole.folds, strict=True):
        mass = model.latent(name).mass
        likelihood = rng.random(mass.shape[1]) ** 8
        ours *= likelihood @ mass.T @ fold
        theirs *= mass @ likelihood
    assert not ours[whole.owner.size :].any()
    found = np.bincount(whole.owner, ours[: whole.owner.size], model.kind_owner.size)
    assert found == pytest.approx(theirs @ model.kind_gathering, rel=1e-12)
    assert whole.owner.size < len(model.kind_gathering)


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(-7.0, 12.0), st.one_of(st.floats(-2.5, 4.0), st.just(30.0)), st.integers(0, 2)),
        min_size=1,
        max_size=400,
    ),
    st.floats(-9.0, 0.0),
    st.sampled_from([1, 2, 4]),
    st.integers(0, 400),
)
@example([(0.0, 30.0, 0), (2.2e-313, 30.0, 0)], 0.0, 1, 0)
def test_near_sums_are_the_whole_sums(
    pieces: list[tuple[float, float, int]], botched: float, fine: int, some: int
) -> None:
    """However far off, broad or sharp the readings, leaving out far nodes changes a sum by less than is stated.

    Summed all at once or some blocks first, the sums are the same.
    """
    nodes = np.linspace(-5.0, 5.0, 301)
    mass = np.column_stack([norm.pdf(nodes, mean, sd) for mean, sd in ((-4.0, 0.05), (0.0, 0.3), (2.0, 2.0))]) / 30
    log = np.vstack([np.zeros(nodes.size), norm.logcdf(nodes / 0.1), np.maximum(norm.logcdf(-nodes / 0.02), -9.0)])
    rows = np.array(pieces)
    # A node every 0.033: from sharper than that to far broader than all.
    centre, sd, pattern = rows[:, 0], 0.033 * np.exp(rows[:, 1]), rows[:, 2].astype(np.int64)
    order = in_order(centre, sd, fine)
    centre, sd, pattern = centre[order], sd[order], pattern[order]
    outlier_likelihood, outlier = math.exp(botched), 0.03
    total = np.exp(log) @ mass
    out = np.empty((len(rows), 3))
    blocks = near(
        nodes,
        mass,
        Normals(centre, sd, np.full(len(rows), outlier_likelihood), outlier, logarithmic=False, shared=None),
        Outcomes(log, total),
        pattern=pattern,
        fine=fine,
    )
    middle = int(blocks.ends[min(some, len(blocks.ends) - 1)])
    for begin, end in ((0, middle), (middle, len(rows))):
        if begin < end:
            blocks.fill(out[begin:end], begin, end)
    good = norm.pdf(nodes, centre[:, None], sd[:, None])
    likelihood = ((1 - outlier) * good + outlier * outlier_likelihood) * np.exp(log)[pattern]
    expected = likelihood @ mass / (outlier * outlier_likelihood)
    assert out == pytest.approx(expected, rel=2 * NEGLECTED)


@pytest.mark.slow
@settings(max_examples=30, deadline=None)
@given(st.integers(1, 300), st.integers(0, 900), st.integers(1, 120))
def test_slabs_make_the_whole_product(rows: int, inner: int, columns: int) -> None:
    """Whatever the shape, the product in slabs is numpy's."""
    rng = np.random.default_rng(rows)
    left, right = rng.random((rows, inner)), rng.random((inner, columns))
    out = np.empty((rows, columns))
    product(left, right, out)
    assert out == pytest.approx(left @ right, rel=1e-12)


def missing(values: st.SearchStrategy[float]) -> st.SearchStrategy[float]:
    return st.one_of(st.just(math.nan), values)


PIECE: Final = st.tuples(
    missing(st.floats(math.log(0.005), math.log(3.0)).map(math.exp)),
    st.floats(math.log(5e-5), math.log(0.3)).map(math.exp),
    missing(st.floats(-150.0, 600.0)),
    st.floats(0.0, 60.0),
    missing(st.floats(math.log(0.1), math.log(3e4)).map(math.exp)),
    st.floats(0.0, 2.0),
    st.sampled_from([None, "floats", "hovers", "sinks"]),
    st.sampled_from(["water", "ethanol 40 %v/v at 20 degC", "table salt 110 g/kg water"]),
    st.sampled_from([None, "floats", "sinks"]),
    st.floats(0.7, 1.4),
    st.sampled_from([None, "snaps", "creases", "springs back"]),
)


@settings(max_examples=25, deadline=None)
@given(st.lists(PIECE, min_size=1, max_size=12))
@example([(3.0, math.exp(-6.0), math.nan, 0.0, math.nan, 0.0, None, "water", None, 1.0, None)])  # at the axis's end
def test_any_table_gives_the_one_piece_answers(rows: list[tuple[object, ...]]) -> None:
    """Whatever was read or not, in whatever liquids, as sharp or as absurd as may be: equal to 1e-9."""
    density, u, soft, soft_u, modulus, modulus_u, seen, jug, seen2, bath, snap = zip(*rows, strict=True)
    frame = pd.DataFrame(
        {
            "density.density [g/cm3]": np.clip(density, 0.005, 3.0),
            "density.density_u [g/cm3]": u,
            "softening.temperature [degC]": soft,
            "softening.temperature_u [degC]": soft_u,
            "modulus.modulus [MPa]": np.clip(modulus, 0.1, 3e4),
            "modulus.modulus_u [MPa]": np.array(modulus_u) * np.nan_to_num(np.array(modulus), nan=1.0),
            "float.liquid": jug,
            "float.outcome": seen,
            "float#2.liquid [g/cm3]": bath,
            "float#2.liquid_u [g/cm3]": 0.002,
            "float#2.outcome": seen2,
            "snap.outcome": snap,
        }
    )
    assert compared(frame, list(range(len(frame)))) < 1e-9
