"""What a test observes: a measured property or an aspect in words, and what is known of it.

The core properties and aspects are known by name. A method may bring along further ones:
an :class:`CategoricalProperty` (a closed list of words), a :class:`ContinuousProperty` (a number), or anything
else that can be hashed and has a ``name``, what it ``depends`` on, and a method
``latent(table)`` that returns a :class:`resinid.scoring.latents.Latent`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import TYPE_CHECKING, Final, Protocol, TypeAlias, cast

from resinid.errors import UnknownNameError
from resinid.quantities import ASPECTS
from resinid.reference.method_rows import behaviours_of, statements_of
from resinid.reference.rules import RULES
from resinid.scoring.latents import AXES, Latent, aspect_latent, scalar_latent

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable
    from pathlib import Path

    from resinid.quantities import Quantity
    from resinid.reference.rules import SpreadRule
    from resinid.reference.table import ReferenceTable
    from resinid.scoring.grid import Axis

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


Observable: TypeAlias = "str | ObservedProperty"
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
