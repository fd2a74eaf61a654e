"""What an observation hands to the engine: one likelihood of one latent property."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Protocol

if TYPE_CHECKING:
    from collections.abc import Hashable

    from resinid.arrays import Array
    from resinid.scoring.properties import Observable

__all__ = ["Likelihood", "Normals", "SharedError", "Term"]


class Likelihood(Protocol):
    """Probability (density) of what was read, at given values of the property."""

    def __call__(self, values: Array, error: Array | None, /) -> Array:
        """Evaluate.

        Parameters
        ----------
        values : numpy.ndarray
            Values of the property, shape (nodes,) [canonical unit], or the index of
            the outcome for an aspect. May end with infinity where the property may
            be absent.
        error : numpy.ndarray or None
            Standardised error shared with other readings, shape (errors, 1); where
            None, the reading stands alone and integrates that error out itself.

        Returns
        -------
        numpy.ndarray
            Shape (nodes,), or (errors, nodes) where an error is given; finite and
            not negative.
        """


@dataclass(frozen=True, slots=True)
class SharedError:
    """An error that several readings have in common, such as that of one jug of brine.

    Parameters
    ----------
    key : hashable
        Readings with equal keys share the error.
    sharpness : float
        Width of the reading's likelihood without the shared error, in units of the
        shared error's standard deviation; says how finely to integrate.
    """

    key: Hashable
    sharpness: float


@dataclass(frozen=True, slots=True)
class Term:
    """One observation as the engine sees it.

    Parameters
    ----------
    observes : str or Observed
        Latent property or aspect: a core one by its name, or what the method brings along.
    likelihood : Likelihood
        Of what was read, if the test went as it should.
    outlier : float
        Chance that the test did not (0 < outlier < 1).
    outlier_likelihood : float
        Likelihood of what was read if so; the same for every resin.
    feature : tuple of (float, float), optional
        Value at which the likelihood is sharpest and its width there [canonical
        unit], so that the engine can resolve it.
    shared : SharedError, optional
        The error it shares with other readings.
    """

    observes: Observable
    likelihood: Likelihood
    outlier: float
    outlier_likelihood: float
    feature: tuple[float, float] | None = None
    shared: SharedError | None = None


@dataclass(frozen=True, slots=True)
class Normals:
    """Many readings with normal errors, one a piece, as whole tables are scored.

    A test class whose reading is of this kind may offer ``many(readings)``, a class
    method that takes values and standard uncertainties by field and returns this.
    It must say the same as the terms of the single tests would.

    Parameters
    ----------
    centre, sd : numpy.ndarray
        Reading and standard deviation of its error, all errors included, shape
        (pieces,) [canonical unit, or its natural logarithm].
    outlier_likelihood : numpy.ndarray
        As for :class:`Term`, shape (pieces,).
    outlier : float
        As for :class:`Term`.
    logarithmic : bool
        Whether ``centre`` and ``sd`` are of the natural logarithm of the property.
    shared : hashable or None
        Key of an error shared with other readings of the piece, as :class:`SharedError` has.
    """

    centre: Array
    sd: Array
    outlier_likelihood: Array
    outlier: float
    logarithmic: bool
    shared: Hashable
