"""Tests whose outcome is one word, each declared in one call: what is seen, how it is done, what forbids heating."""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import TYPE_CHECKING, ClassVar, Final, TypeVar

from resinid.errors import MethodError
from resinid.io.fields import choice
from resinid.methods.aspects import AspectSeen
from resinid.methods.outlier import outlier_chance
from resinid.scoring.properties import property_name

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable, Iterator, Mapping

    from resinid.methods.bench import Bench
    from resinid.methods.test_plan import TestPlan
    from resinid.scoring.properties import Observable

__all__ = ["WordTest", "word_test"]

T = TypeVar("T", bound="WordTest")

NONE: Final[Mapping[str, str]] = MappingProxyType({})


@dataclass(frozen=True, slots=True)
class WordTest(AspectSeen):
    """Base of the tests that :func:`word_test` declares."""

    label: ClassVar[str]
    steps: ClassVar[tuple[str, str]]
    minutes: ClassVar[float]
    needs: ClassVar[tuple[str, ...]]
    caution: ClassVar[str]
    hazard: ClassVar[str]
    only_if_allowed: ClassVar[str]
    forbids: ClassVar[Mapping[str, str]]
    needs_shape: ClassVar[tuple[str, ...]]
    lacks: ClassVar[Mapping[str, Iterable[str]]]

    def forbids_heating(self) -> str:
        """Return why the outcome forbids heating whatever the piece is; empty if it does not."""
        return self.forbids.get(self.outcome, "")

    def lacks_shape(self) -> Iterable[str]:
        """Return the shapes that a piece of which this was seen does not have; see :mod:`resinid.methods.shapes`."""
        return self.lacks.get(self.outcome, ())

    @classmethod
    def plans(cls, bench: Bench) -> Iterator[TestPlan]:
        """Yield the test where all that it needs is at hand."""
        if all(_at_hand(need, bench) for need in cls.needs):
            yield cls.plan(
                cls.label,
                cls.minutes,
                cls.steps,
                needs=cls.needs,
                caution=cls.caution,
                hazard=cls.hazard,
                needs_shape=cls.needs_shape,
            )


def word_test(
    observes: Observable,
    label: str,
    steps: tuple[str, str],
    *,
    minutes: float,
    needs: tuple[str, ...] = (),
    caution: str = "",
    hazard: str = "",
    off_until_allowed: bool = False,
    forbids: Mapping[str, str] = NONE,
    needs_shape: tuple[str, ...] = (),
    lacks: Mapping[str, Iterable[str]] = NONE,
    actions: int = 2,
) -> Callable[[type[T]], type[T]]:
    """Declare a test of an aspect; decorates a subclass of :class:`WordTest`, whose body is its docstring.

    Parameters
    ----------
    observes : str or CategoricalProperty
        What is seen; the test has its name, and its outcomes are the words to choose from.
    label : str
        What to do, in a few words.
    steps : tuple of (str, str)
        How to do it, in two lines.
    minutes : float
        Bench effort [min].
    needs : tuple of str, optional
        What must be at hand: ``"strip"``, ``"hot plate"``, or tools of the method.
    caution : str, optional
        What can hurt, and the usual caution.
    hazard : str, optional
        Kind of danger, such as ``"burn"``; the test is offered only where that is allowed.
    off_until_allowed : bool, optional
        Whether a result of the test is refused, too, until the danger is allowed.
    forbids : mapping of str to str, optional
        Outcomes that forbid heating whatever the piece is, each with the reason.
    needs_shape : tuple of str, optional
        What the steps take for granted of the piece; see :data:`resinid.methods.shapes.SHAPES`.
    lacks : mapping of str to iterable of str, optional
        Outcomes by which a piece does not have some of these shapes, each with those.
    actions : int, optional
        How many actions can each spoil the test; see :func:`resinid.methods.outlier.outlier_chance`.

    Raises
    ------
    MethodError
        An outcome that is said to forbid heating, or to lack a shape, is none of the outcomes.

    Examples
    --------
    >>> steps = ("Fold a strip double.", "See what it does.")
    >>> @word_test("snap", "fold a strip", steps, minutes=1.0, forbids={"snaps": "it flies"})
    ... class Fold(WordTest):
    ...     '''What a folded strip does.'''
    >>> Fold("snaps"), Fold("snaps").forbids_heating(), Fold("creases").forbids_heating()
    (Fold(outcome='snaps'), 'it flies', '')
    """

    def declare(kind: type[T]) -> type[T]:
        kind.test, kind.observes = property_name(observes), observes
        kind.label, kind.steps, kind.minutes, kind.needs = label, steps, minutes, needs
        kind.caution, kind.hazard, kind.only_if_allowed = caution, hazard, hazard if off_until_allowed else ""
        kind.forbids, kind.outlier = forbids, outlier_chance(actions)
        kind.needs_shape, kind.lacks = needs_shape, lacks
        if strange := set(forbids) - set(kind.words()):
            raise MethodError(f"{kind.test}: {sorted(strange)} cannot forbid heating; outcomes: {kind.words()}")
        if strange := set(lacks) - set(kind.words()):
            raise MethodError(f"{kind.test}: {sorted(strange)} cannot lack a shape; outcomes: {kind.words()}")
        # As if the class body said ``outcome: str = choice(...)``.
        kind.__annotations__ = {**kind.__annotations__, "outcome": "str"}
        kind.outcome = choice(kind.words())  # type: ignore[misc]  # because mypy knows of its slot, not of its field
        return dataclass(frozen=True, slots=True)(kind)

    return declare


def _at_hand(need: str, bench: Bench) -> bool:
    if need == "strip":
        return bench.strip
    if need == "hot plate":
        return bench.hot_plate is not None
    return need in bench.tools
