"""What a test observes: a measured property or an aspect in words, and what is known of it.

The core properties and aspects are known by name. A method may bring along further ones:
an :class:`CategoricalProperty` (a closed list of words), a :class:`ContinuousProperty` (a number), or anything
else that can be hashed and has a ``name``, what it ``depends`` on, and a method
``latent(table)`` that returns a :class:`resinid.scoring.latents.Latent`.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, Protocol, TypeAlias, cast

from resinid.errors import UnknownNameError
from resinid.quantities import ASPECTS
from resinid.reference.method_rows import behaviours_of, statements_of
from resinid.reference.rules import RULES, SpreadRule
from resinid.scoring.grid import Axis
from resinid.scoring.latents import AXES, Latent, aspect_latent, scalar_latent

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from resinid.quantities import Quantity
    from resinid.reference.table import ReferenceTable

__all__ = [
    "CORE",
    "CategoricalProperty",
    "ContinuousProperty",
    "Dependence",
    "Observable",
    "ObservedProperty",
    "axis_of",
    "observed",
    "property_name",
    "refined",
]


@dataclass(frozen=True, slots=True)
class Dependence:
    """A property tells in part what another one tells already.

    Parameters
    ----------
    on : str
        Name of the other property or aspect.
    share : float
        How much of the evidence they have in common, from 0 (none) to 1 (all).
    why : str
        The reason, or the source.
    """

    on: str
    share: float
    why: str


class ObservedProperty(Protocol):
    """What is known of one property or aspect, for the engine."""

    @property
    def name(self) -> str:
        """Name, unique among all that is observed."""

    @property
    def depends(self) -> tuple[Dependence, ...]:
        """Other properties it is not independent of, given the resin."""

    def latent(self, reference: ReferenceTable) -> Latent:
        """Return what the pieces of each variant of a table are like."""


Observable: TypeAlias = str | ObservedProperty
"""A core property or aspect by its name, or what a method brings along."""


@dataclass(frozen=True, slots=True)
class CategoricalProperty:
    """A quality seen in words out of a closed list.

    Parameters
    ----------
    name : str
        As the rows name it, such as ``"drop_sound"``.
    outcomes : tuple of str
        All that may be seen, exclusive of each other.
    folder : pathlib.Path, optional
        Holds a ``behaviour.csv`` laid out as the reference table's; its rows are added to
        those the table has of this aspect. Rows of resins that the table lacks are not used.
    depends : tuple of Dependence, optional

    Examples
    --------
    >>> from resinid import default_reference
    >>> CategoricalProperty("drop_sound", ("dull", "metallic ring")).latent(default_reference()).mass.shape[1]
    2
    """

    name: str
    outcomes: tuple[str, ...]
    folder: Path | None = None
    depends: tuple[Dependence, ...] = ()

    def __hash__(self) -> int:
        """Hash the name, for there is one aspect of a name."""
        return hash(self.name)

    def latent(self, reference: ReferenceTable) -> Latent:
        """Return the chance of each outcome for each variant."""
        rows = behaviours_of(self.folder, self.name, self.outcomes) if self.folder else ()
        return aspect_latent(reference, self.name, self.outcomes, rows)


@dataclass(frozen=True, slots=True)
class ContinuousProperty:
    """A property that is measured as a number.

    Parameters
    ----------
    quantity : Quantity
        Name, unit and plausible range.
    axis : Axis
        Coordinate and standing grid.
    rule : SpreadRule
        How published statements become a distribution.
    folder : pathlib.Path, optional
        Holds a ``properties.csv`` laid out as the reference table's; its rows are added to
        those the table has of this property.
    depends : tuple of Dependence, optional
    """

    quantity: Quantity
    axis: Axis
    rule: SpreadRule
    folder: Path | None = None
    depends: tuple[Dependence, ...] = ()

    def __hash__(self) -> int:
        """Hash the name, for there is one property of a name."""
        return hash(self.name)

    @classmethod
    def logarithmic(
        cls,
        quantity: Quantity,
        folder: Path | None = None,
        *,
        scatter: float = 0.2,
        depends: tuple[Dependence, ...] = (),
    ) -> ContinuousProperty:
        """Return a property whose differences are shares, such as a stiffness, with all that need not be chosen.

        Parameters
        ----------
        quantity : Quantity
            Its range, of which the low end is above zero, is that of the property.
        folder : pathlib.Path, optional
            Of the method's own ``properties.csv``.
        scatter : float, optional
            Standard deviation of pieces about a printed value, as a share; 0.2 where not given
            (common practice, no source). All other spreads follow from it.
        depends : tuple of Dependence, optional

        Examples
        --------
        >>> from resinid import Quantity
        >>> friction = ContinuousProperty.logarithmic(Quantity("friction", "", 0.02, 4.0, "0.3", "On steel."))
        >>> friction.axis.logarithmic, friction.rule.scatter
        (True, 0.2)
        """
        return cls(
            quantity,
            *_usual(math.log(quantity.low), math.log(quantity.high), scatter, logarithmic=True),
            folder,
            depends,
        )

    @classmethod
    def linear(
        cls,
        quantity: Quantity,
        folder: Path | None = None,
        *,
        scatter: float | None = None,
        depends: tuple[Dependence, ...] = (),
    ) -> ContinuousProperty:
        """Return a property whose differences are plain, such as a temperature, with all that need not be chosen.

        Parameters
        ----------
        quantity : Quantity
            Its range is that of the property.
        folder, depends : optional
            As for :meth:`logarithmic`.
        scatter : float, optional
            Standard deviation of pieces about a printed value, in the quantity's unit; a sixtieth of the range
            where not given (common practice, no source). All other spreads follow from it.

        Examples
        --------
        >>> from resinid import Quantity
        >>> onset = ContinuousProperty.linear(Quantity("onset", "degC", 0.0, 300.0, "90 degC", "First smoke."))
        >>> onset.axis.logarithmic, onset.rule.scatter
        (False, 5.0)
        """
        spread = (quantity.high - quantity.low) / 60.0 if scatter is None else scatter
        axis, rule = _usual(quantity.low, quantity.high, spread, logarithmic=False)
        return cls(quantity, axis, rule, folder, depends)

    @property
    def name(self) -> str:
        """Name of the quantity."""
        return self.quantity.name

    def latent(self, reference: ReferenceTable, features: Iterable[tuple[float, float]] = ()) -> Latent:
        """Return the distribution for each variant, on a grid that resolves narrow features where any are given."""
        if self.folder is not None:
            own = statements_of(self.folder, self.quantity)
            digest = f"{reference.digest} {self.folder} {self.name}"
            reference = replace(reference, statements=(*reference.statements, *own), digest=digest)
        return scalar_latent(reference, self.name, self.axis, self.rule, features)


def _usual(low: float, high: float, scatter: float, *, logarithmic: bool) -> tuple[Axis, SpreadRule]:
    """Return an axis over a range of coordinates and a rule, in the proportions of those that are chosen one by one.

    The proportions are about those of the core properties (common practice, no source).
    """
    middle, width = (low + high) / 2.0, high - low
    floor = 0.6 * scatter
    axis = Axis(low, high, middle, width / 2.0, width / 2.0, min(width / 150.0, floor / 2.0), logarithmic=logarithmic)
    rule = SpreadRule(
        logarithmic=logarithmic, scatter=scatter, floor=floor, widening=scatter, unlisted=2.5 * scatter,
        any_plastic=(middle, width / 5.0),
    )  # fmt: skip
    return axis, rule


@dataclass(frozen=True, slots=True)
class _CoreMeasure:
    name: str
    depends: tuple[Dependence, ...] = ()

    @property
    def axis(self) -> Axis:
        return AXES[self.name]

    def latent(self, reference: ReferenceTable, features: Iterable[tuple[float, float]] = ()) -> Latent:
        return scalar_latent(reference, self.name, self.axis, RULES[self.name], features)


CORE: Final = MappingProxyType[str, ObservedProperty](
    {name: _CoreMeasure(name) for name in AXES}
    | {name: CategoricalProperty(name, words) for name, words in ASPECTS.items()}
)
"""What can be observed without a method that brings it along."""


def property_name(what: Observable) -> str:
    """Return the name of a property or aspect."""
    return what if isinstance(what, str) else what.name


def observed(what: Observable) -> ObservedProperty:
    """Return what is known of a property or aspect.

    Raises
    ------
    UnknownNameError
        There is no core property or aspect of that name.

    Examples
    --------
    >>> observed("snap").latent.__name__
    'latent'
    """
    if not isinstance(what, str):
        return what
    if what not in CORE:
        raise UnknownNameError(f"nothing is known of {what!r}; known: {', '.join(CORE)}")
    return CORE[what]


def refined(reference: ReferenceTable, what: Observable, features: Iterable[tuple[float, float]]) -> Latent:
    """Return the latent of a measured property on a grid that resolves narrow features."""
    latent: Callable[..., Latent] = observed(what).latent
    return latent(reference, features)


def axis_of(what: Observable) -> Axis | None:
    """Return the axis of a measured property, None for anything else."""
    return cast("Axis | None", getattr(observed(what), "axis", None))
