"""Prior probability of each resin before any test.

Four kinds: the default; ``"uniform"``; a published waste or production split by name, such as
``"us-municipal-waste"``; or weights given by the caller. The default is a workshop's scrap:
a linear pool of the mean of those published splits that print no line for more than
:data:`MOST_TOGETHER` resins, and of world demand, which reaches every resin, however rare.
What a split prints for several resins together, "other" among them, is shared in proportion to
world demand (``demand.csv``).

With each split left out in turn, its relative entropy from the pool of the rest is 0.05 to 0.08;
from an equal mixture of the pool and a uniform prior it would be 0.14 to 0.39 (tests/scoring/test_prior.py; how a
line is shared inside is the same in all, so only printed lines are compared by this).
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import Faults, UnknownNameError, place_of, safe_repr
from resinid.io.arguments import as_float
from resinid.io.close_words import did_you_mean

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from resinid.reference.entries import Stream
    from resinid.reference.table import ReferenceTable

    Array = NDArray[np.float64]

__all__ = ["NONE_OF_THESE", "UNLISTED", "cautious_prior", "prior_of"]

NONE_OF_THESE: Final = "none of these"
"""Name of the candidate that stands for everything the table does not list."""

UNLISTED: Final = 0.03
"""Prior probability of "none of these" (common practice, no source): other resins are 5 to 26 % of
published splits, and all but the rarest of those are in the table. Of 828 pieces of plastic that
sea turtles had swallowed 96 % were identified as common resins or mixed polyethylene and
polypropylene, so at most 4 % were of anything else (Jung and others 2018, Mar. Pollut. Bull.
127:704-716, abstract read). A larger prior would withhold more names of plastics that are not
listed and put "none of these" first before any test (tests/trust/test_misspecified.py prints what
larger ones would do)."""

FLOOR: Final = 1e-4
"""Least share of a listed resin in world demand and in a split, so that nothing is ruled out: one
piece in ten thousand (common practice, no source). Of the resins listed only PEEK is below it in
world demand (0.00001, Pardos 2005)."""

BROAD: Final = 0.1
"""Weight of world demand in the default, beside the mean of the splits (common practice, no source)."""

MOST_TOGETHER: Final = 3
"""Where one line of a split names more resins than this, such as "all polyethylene", the resins do
not stand by themselves in it, and it is no part of the default. Three are needed: no split seen tells
apart the kinds of polystyrene or of polyamide."""


def prior_of(reference: ReferenceTable, prior: str | Mapping[str, float] = "default") -> Array:
    """Return prior probabilities, shape (resins + 1,), "none of these" last.

    Parameters
    ----------
    reference : ReferenceTable
    prior : str or mapping, optional
        ``"default"``, ``"uniform"``, the name of a stream in the table, or weights
        by resin symbol or alias (and ``"none of these"``); resins without a weight
        get a share of 1e-9, so that they are not ruled out.

    Raises
    ------
    UnknownNameError
        No such stream.
    InputError
        An unknown resin, a weight that is not a finite number of at least zero, or none above zero.

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> round(float(prior_of(default_reference(), "uniform").sum()), 12)
    1.0
    """
    unlisted = UNLISTED
    if not isinstance(prior, str):
        shares, unlisted = _given(reference, prior)
    elif prior == "uniform":
        shares = _even(reference)
    elif prior == "default":
        shares = _scrap(reference)
    else:
        shares = _stream(reference, prior)
    return np.append(shares * (1.0 - unlisted), unlisted)


def cautious_prior(reference: ReferenceTable, hazardous: Array) -> Array:
    """Return the prior by which hazard is judged beside the caller's own, shape (resins + 1,).

    Each hazardous resin has the largest of its shares in the default and the named streams,
    every other candidate its share in the default; the whole is normalised. In all there is more
    hazard in it than in any of these (0.24 beside 0.13 to 0.23), though a single resin may have up
    to a tenth less than in its split; and no caller can wish a hazard away.

    Parameters
    ----------
    reference : ReferenceTable
    hazardous : numpy.ndarray
        One for each resin that must not be heated, else zero; shape (resins + 1,).

    Examples
    --------
    >>> from resinid.reference.table import default_reference
    >>> reference = default_reference()
    >>> pvc = np.array([float(symbol == "PVC-U") for symbol in (*reference.symbols, NONE_OF_THESE)])
    >>> bool(cautious_prior(reference, pvc) @ pvc > prior_of(reference) @ pvc)
    True
    """
    names = ("default", *dict.fromkeys(stream.name for stream in reference.streams))
    largest = np.max([prior_of(reference, name) for name in names], axis=0)
    return _normalised(np.where(hazardous > 0, largest, prior_of(reference)))


def _scrap(reference: ReferenceTable) -> Array:
    """Return shares of the listed resins in a workshop's scrap; even ones if the table has no splits."""
    rows: dict[str, list[Stream]] = {}
    for row in reference.streams:
        rows.setdefault(row.name, []).append(row)
    apart = [name for name, lines in rows.items() if all(len(line.resins) <= MOST_TOGETHER for line in lines)]
    names = apart or list(rows)
    if not names:
        return _even(reference)
    mean = np.mean([_stream(reference, name) for name in names], axis=0)
    return _normalised((1 - BROAD) * mean + BROAD * _demand(reference))


def _demand(reference: ReferenceTable) -> Array:
    """Return each resin's share of world demand; a resin without a figure has the median one, all even if none has."""
    stated = {row.resin: row.share * row.part for row in reference.demand if row.resin in reference.symbols}
    if not sum(stated.values()) > 0:
        return _even(reference)
    usual = float(np.median(list(stated.values())))
    return _floored(np.array([stated.get(symbol, usual) for symbol in reference.symbols]))


def _stream(reference: ReferenceTable, name: str) -> Array:
    """Return each resin's share in a published split; those it leaves out have their share of world demand."""
    rows = [stream for stream in reference.streams if stream.name == name]
    if not rows:
        known = ["default", "uniform", *dict.fromkeys(stream.name for stream in reference.streams)]
        raise UnknownNameError(
            f"no prior is called {safe_repr(name)}; known: {', '.join(known)}{did_you_mean(name, known)}"
        )
    demand = _demand(reference)
    named = np.array([any(symbol in row.resins for row in rows) for symbol in reference.symbols])
    shares = np.zeros(len(reference.symbols))
    for row in rows:
        inside = np.array([symbol in row.resins for symbol in reference.symbols])
        members = ~named if "other" in row.resins else inside
        if members.any():
            shares[members] += row.share * demand[members] / demand[members].sum()
    if not any("other" in row.resins for row in rows):
        shares = np.where(named, shares / shares.sum() * demand[named].sum(), demand)
    return _floored(shares)


def _even(reference: ReferenceTable) -> Array:
    return np.full(len(reference.resins), 1.0 / len(reference.resins))


def _floored(shares: Array) -> Array:
    return _normalised(np.maximum(shares / shares.sum(), FLOOR))


def _given(reference: ReferenceTable, weights: Mapping[str, object]) -> tuple[Array, float]:
    faults = Faults()
    if len(weights) > MOST_WEIGHTS:
        faults.add("prior", f"has {len(weights)} weights; at most {MOST_WEIGHTS} are read")
        faults.check()
    shares = dict.fromkeys(reference.symbols, 0.0)
    unlisted: float | None = None
    for name, weight in weights.items():
        number = as_float(weight)
        if not 0 <= number <= HEAVIEST:
            faults.add(
                place_of("prior", name),
                f"{safe_repr(weight, 50)} is not a weight; give a number from 0 to {HEAVIEST:g}",
            )
            continue
        if name == NONE_OF_THESE:
            unlisted = number
            continue
        try:
            shares[reference.resin(name).symbol] += number
        except UnknownNameError as error:
            faults.add(place_of("prior", name), str(error))
    total = math.fsum(shares.values())
    if not len(faults) and not total > 0:
        faults.add("prior", "gives no resin any weight; at least one must be above zero")
    faults.check()
    share = UNLISTED if unlisted is None else unlisted / (unlisted + total)
    floored = np.maximum(np.array([shares[symbol] for symbol in reference.symbols]) / total, TINY_SHARE)
    return _normalised(floored), min(max(share, TINY_SHARE), 1.0 - TINY_SHARE)


HEAVIEST: Final = 1e100
"""Largest weight that a caller may give, so that sums of weights stay finite."""

MOST_WEIGHTS: Final = 1000
"""More weights than this are taken for a slip; each that names no resin costs a look for the nearest name."""

TINY_SHARE: Final = 1e-9
"""Least probability of a candidate under weights given by the caller."""


def _normalised(shares: Array) -> Array:
    out: Array = shares / shares.sum()
    return out
