"""How dense a bag's own pieces are, where they were weighed or floated: filled goods weigh more than the table's."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.melting.thermal_properties import Range
from resinid.methods._guard import observable_of, term_of
from resinid.reference.rules import Z90
from resinid.scoring.integrals import log_product

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from resinid.batches.mix_part import MixPart
    from resinid.batches.mixing_rules import Rules
    from resinid.methods.contract import Observation

__all__ = ["measured_density"]

FEWEST: Final = 3
"""Pieces whose density must be measured before a bag is taken to be like them (common practice, no source)."""

SHARP: Final = 0.02
"""Relative standard deviation up to which a density counts as measured: a weighing, not a float test."""


def measured_density(
    parts: Sequence[MixPart], weights: Sequence[float], rules: Rules, listed: Mapping[str, float], reference: Range
) -> Range:
    """Return the density of a cold mix [kg/m3] by its own pieces, where they were measured.

    Parameters
    ----------
    parts, weights : sequence
        Batches and their mass shares.
    rules : Rules
    listed : mapping of str to float
        Resins that shape the plan, with their shares: pieces are taken to be of these.
    reference : Range
        What the table says of the mix. It stays where a batch was not measured, and where its pieces are
        lighter than any solid one: a foam fills a mould only once it has collapsed.
    """
    found: list[tuple[float, Range]] = []
    for part, weight in zip(parts, weights, strict=True):
        pieces = [p for piece in part.batch.pieces if (p := _of_piece(piece, rules, listed)) is not None]
        own = reference
        if len(pieces) >= FEWEST:
            means = np.array([middle for middle, _ in pieces])
            sd = math.hypot(float(means.std(ddof=1)), float(np.mean([u for _, u in pieces])))
            middle = float(means.mean())
            if middle > reference.low:
                own = Range(middle - Z90 * sd, middle, middle + Z90 * sd, reference.sources)
        found.append((weight, own))
    low, middle, high = (
        1.0 / math.fsum(weight / getattr(own, end) for weight, own in found) for end in ("low", "middle", "high")
    )
    return Range(low, middle, high, reference.sources)


def _of_piece(piece: Sequence[Observation], rules: Rules, listed: Mapping[str, float]) -> tuple[float, float] | None:
    """Return the median and half the middle two thirds of a piece's density [kg/m3], if it was measured sharply."""
    terms = [term_of(test) for test in piece if observable_of(test) == "density"]
    if not terms:
        return None
    model = rules.model
    latent = model.resolving("density", terms)
    weights = model.gathering.sum(axis=1)[: len(model.rows)]
    weights = weights * np.array([listed.get(variant.resin, 0.0) for variant in model.rows])
    chances = (weights @ latent.mass[: len(model.rows)]) * np.exp(log_product(terms, latent.values))
    if not chances.sum() > 0.0:
        return None
    # Not mean and standard deviation: the chance that it was botched leaves a second hump far away.
    low, middle, high = np.interp((0.16, 0.5, 0.84), np.cumsum(chances) / chances.sum(), latent.values).tolist()
    half = 0.5 * (high - low)
    return (1000.0 * middle, 1000.0 * half) if half < SHARP * middle else None
