"""Prior probability of each resin before any test.

Three kinds: ``"uniform"``; a published waste or production split by name, such as
``"us-municipal-waste"``; or weights given by the caller. The default lies between
uniform and the mean of the published splits: the point on the geometric path
between the two that is equally far, in relative entropy, from both (the Chernoff
point; Cover & Thomas, Elements of Information Theory, 2nd ed., section 11.9). A
workshop's scrap is neither of the two, and this point makes the larger of the two
possible losses in expected log score as small as a point of that path can.
"""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Final

import numpy as np

from resinid.errors import Faults, UnknownNameError, place_of, safe_repr
from resinid.io.arguments import as_float
from resinid.io.fields import close_to

if TYPE_CHECKING:
    from collections.abc import Mapping

    from numpy.typing import NDArray

    from resinid.reference.table import ReferenceTable

    Array = NDArray[np.float64]

__all__ = ["NONE_OF_THESE", "UNLISTED", "cautious_prior", "chernoff_point", "prior_of"]

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
"""Least share of a resin in a published split before tempering, so that nothing is ruled out."""


def prior_of(reference: ReferenceTable, prior: str | Mapping[str, float] = "default") -> Array:
    """Return prior probabilities, shape (resins + 1,), "none of these" last.

    Parameters
    ----------
    reference : ReferenceTable
    prior : str or mapping, optional
        ``"default"``, ``"uniform"``, the name of a stream in the table, or weights
        by resin symbol or alias (and ``"none of these"``); resins without a weight
        get none of the given weight but are never ruled out.

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
    count = len(reference.resins)
    even = np.full(count, 1.0 / count)
    unlisted = UNLISTED
    if not isinstance(prior, str):
        shares, unlisted = _given(reference, prior)
    elif prior == "uniform":
        shares = even
    elif prior == "default":
        names = tuple(dict.fromkeys(stream.name for stream in reference.streams))
        shares = chernoff_point(np.mean([_stream(reference, name) for name in names], axis=0), even) if names else even
    else:
        shares = _stream(reference, prior)
    return np.append(shares * (1.0 - unlisted), unlisted)


def cautious_prior(reference: ReferenceTable, hazardous: Array) -> Array:
    """Return the prior by which hazard is judged beside the caller's own, shape (resins + 1,).

    Each hazardous resin has the largest of its shares in the default and the named streams,
    every other candidate its share in the default; the whole is normalised. Scrap is thus at
    least as dangerous as any of these says, and no caller can wish a hazard away.

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


def _stream(reference: ReferenceTable, name: str) -> Array:
    rows = [stream for stream in reference.streams if stream.name == name]
    if not rows:
        known = ["default", "uniform", *dict.fromkeys(stream.name for stream in reference.streams)]
        raise UnknownNameError(
            f"no prior is called {safe_repr(name)}; known: {', '.join(known)}{close_to(name, known)}"
        )
    named = {symbol for row in rows for symbol in row.resins}
    shares = dict.fromkeys(reference.symbols, 0.0)
    for row in rows:
        members = [symbol for symbol in reference.symbols if symbol in row.resins]
        if "other" in row.resins:
            members = [symbol for symbol in reference.symbols if symbol not in named]
        for symbol in members:
            shares[symbol] += row.share / len(members)
    out = np.array([shares[symbol] for symbol in reference.symbols])
    out = np.maximum(out / out.sum(), FLOOR)
    return _normalised(out)


def chernoff_point(first: Array, second: Array) -> Array:
    """Return the distribution on the geometric path between two that is equally far from both.

    Parameters
    ----------
    first, second : numpy.ndarray
        Distributions with no zero, shape (n,).

    Notes
    -----
    With ``m_t`` proportional to ``first**t * second**(1 - t)``, ``t`` solves
    ``KL(first | m_t) = KL(second | m_t)``. The difference is monotone in ``t``, so
    bisection finds it.

    Examples
    --------
    >>> chernoff_point(np.array([0.5, 0.5]), np.array([0.5, 0.5])).tolist()
    [0.5, 0.5]
    """
    log_first, log_second = np.log(first), np.log(second)
    low, high = 0.0, 1.0
    for _ in range(60):
        t = 0.5 * (low + high)
        log_middle = t * log_first + (1 - t) * log_second
        log_middle -= math.log(np.exp(log_middle).sum())
        farther = first @ (log_first - log_middle) > second @ (log_second - log_middle)
        low, high = (t, high) if farther else (low, t)
    return _normalised(np.exp(t * log_first + (1 - t) * log_second))


def _given(reference: ReferenceTable, weights: Mapping[str, object]) -> tuple[Array, float]:
    faults = Faults()
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

TINY_SHARE: Final = 1e-9
"""Least probability of a candidate under weights given by the caller."""


def _normalised(shares: Array) -> Array:
    out: Array = shares / shares.sum()
    return out
