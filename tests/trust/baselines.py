"""What the engine is compared with on published pieces: the nearest handbook range, and normal naive Bayes.

Both get the same numbers and the same reference table; scikit-learn's GaussianNB is
fitted on pieces drawn from the table, since the table has no samples of its own.
"""

from __future__ import annotations

import csv
import math
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

import numpy as np

from resinid import default_reference
from resinid.reference.mixture import mixture
from resinid.reference.rules import RULES
from resinid.scoring.prior import prior_of

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    from numpy.typing import NDArray

    from resinid.reference.entries import Statement

    Array = NDArray[np.float64]

__all__ = ["TRANSITION", "features", "measured", "naive_bayes", "nearest_middle"]

MEASURED: Final = Path(__file__).with_name("measured_pieces.csv")
TRANSITION: Final = 10.0
"""[K] A glassy chip gives way about this much above its Vicat or glass point, give or take
as much (common practice, no source; as BENCH_SHIFT of the table's rules)."""

NEVER: Final = 500.0
"""[degC] Where the normal-distribution baseline puts what never softens."""

DRAWS: Final = 1000
LATENTS: Final = ("density", "softening_temperature", "flexural_modulus")


@cache
def measured() -> tuple[dict[str, str], ...]:
    """Return the published pieces."""
    with MEASURED.open(encoding="utf-8", newline="") as lines:
        return tuple(csv.DictReader(lines, strict=True))


def features(row: dict[str, str]) -> Array:
    """Return what was published of a piece as one coordinate a latent, NaN where not published; floats have none."""
    soft = math.nan
    if row["melting_degC"]:
        soft = float(row["melting_degC"])
    elif row["softening_degC"]:
        soft = float(row["softening_degC"]) + TRANSITION
    elif row["never_melts"] == "true":
        soft = NEVER
    return np.array(
        [
            math.log(float(row["density_g_cm3"])) if row["density_g_cm3"] else math.nan,
            soft,
            math.log(float(row["modulus_MPa"])) if row["modulus_MPa"] else math.nan,
        ]
    )


@cache
def drawn() -> Array:
    """Return pieces drawn from the table's mixtures, shape (resins, draws, latents)."""
    reference = default_reference()
    rng = np.random.default_rng(20261125)
    out = np.full((len(reference.symbols), DRAWS, len(LATENTS)), np.nan)
    for index, symbol in enumerate(reference.symbols):
        variants = [variant for variant in reference.variants if variant.resin == symbol]
        weights = np.array([variant.weight for variant in variants])
        which = rng.choice(len(variants), DRAWS, p=weights / weights.sum())
        for number, variant in enumerate(variants):
            members = np.flatnonzero(which == number)
            for column, latent in enumerate(LATENTS):
                found = mixture(reference, variant, latent)
                if found.never == 1.0:
                    out[index, members, column] = NEVER
                elif found.normals:
                    share = np.array([normal.weight for normal in found.normals])
                    picked = rng.choice(len(share), len(members), p=share / share.sum())
                    means = np.array([normal.mean for normal in found.normals])[picked]
                    sds = np.array([normal.sd for normal in found.normals])[picked]
                    out[index, members, column] = rng.normal(means, sds)
    for column in range(len(LATENTS)):  # what nothing is published of is like any other resin
        gaps = np.isnan(out[:, :, column])
        known = out[:, :, column][~gaps]
        out[:, :, column][gaps] = rng.choice(known, int(gaps.sum()))
    return out


def naive_bayes(prior: str) -> Callable[[dict[str, str]], tuple[list[str], Array]]:
    """Return scikit-learn's GaussianNB fitted on the drawn pieces, one fit a set of features."""
    from sklearn.naive_bayes import GaussianNB

    symbols = default_reference().symbols
    chances = prior_of(default_reference(), prior)[:-1]
    chances = chances / chances.sum()

    @cache
    def fitted(columns: tuple[int, ...]) -> Any:  # noqa: ANN401 - because scikit-learn is untyped
        pieces = drawn()[:, :, list(columns)].reshape(-1, len(columns))
        return GaussianNB(priors=chances).fit(pieces, np.repeat(np.arange(len(symbols)), DRAWS))

    def rank(row: dict[str, str]) -> tuple[list[str], Array]:
        values = features(row)
        columns = tuple(int(column) for column in np.flatnonzero(~np.isnan(values)))
        after = fitted(columns).predict_proba(values[None, list(columns)])[0] if columns else chances
        order = np.argsort(-after, kind="stable")
        return [symbols[index] for index in order], after[order]

    return rank


def _middle(statements: Iterable[Statement], coordinate: Callable[[float], float]) -> tuple[float, float]:
    rows = list(statements)
    trusted = [row for row in rows if row.obtained in {"standard", "peer-reviewed", "handbook"}]
    printed = [
        coordinate(value) for row in trusted or rows for value in (row.low, row.typical, row.high) if value is not None
    ]
    if not printed:
        return math.nan, math.nan
    return (min(printed) + max(printed)) / 2, (max(printed) - min(printed)) / 2


@cache
def middles() -> tuple[Array, Array]:
    """Return the middle of each resin's printed range a latent, and a typical half-width."""
    reference = default_reference()
    first_with = {
        "density": (("density",),),
        "softening_temperature": (("melting_temperature",), ("vicat_softening_temperature",)),
        "flexural_modulus": (("flexural_modulus",), ("tensile_modulus",)),
    }
    out = np.full((len(reference.symbols), len(LATENTS), 2), np.nan)
    for index, symbol in enumerate(reference.symbols):
        for column, latent in enumerate(LATENTS):
            for names in first_with[latent]:
                rows = [row for row in reference.statements if row.resin == symbol and row.property in names]
                if rows:
                    out[index, column] = _middle(rows, RULES[latent].coordinate)
                    break
    halves = out[:, :, 1]
    return out[:, :, 0], np.array([np.median(half[half > 0]) for half in halves.T])


def nearest_middle(row: dict[str, str]) -> tuple[list[str], Array]:
    """Rank by the mean distance to the middle of the printed ranges; it gives no probabilities."""
    centres, scales = middles()
    symbols = default_reference().symbols
    away = np.abs(features(row) - centres) / scales
    counted = np.maximum((~np.isnan(away)).sum(axis=1), 1)
    distance = np.where(np.isnan(away).all(axis=1), math.inf, np.nansum(away, axis=1) / counted)
    order = np.argsort(distance, kind="stable")
    return [symbols[index] for index in order], np.full(len(symbols), math.nan)
