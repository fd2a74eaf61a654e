"""A test that could be done, before it is: its possible outcomes, effort, needs and danger."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import TYPE_CHECKING, ClassVar

from resinid.errors import MethodError
from resinid.methods._guard import observable_of

if TYPE_CHECKING:
    from resinid.liquids.mixing import Recipe
    from resinid.methods.contract import Observation
    from resinid.scoring.properties import Observable

__all__ = ["TestPlan"]


@dataclass(frozen=True, slots=True)
class TestPlan:
    """A test a person could do next.

    Parameters
    ----------
    test : str
        Name of the test.
    label : str
        What to do, in a few words.
    outcomes : tuple of Observation
        What may be seen, each as the observation it would make; all observe one
        property. A measured reading is stood for by readings close together.
    minutes : float
        Bench effort [min].
    steps : tuple of (str, str)
        How to do it, in two lines.
    widths : tuple of float, optional
        Width of each outcome: the interval a reading stands for, in the unit in which
        its likelihood is a density. Not given: 1 each, for outcomes in words.
    needs : tuple of str, optional
        What must be at hand.
    caution : str, optional
        What can hurt, and the usual caution.
    hazard : str, optional
        Kind of danger, such as ``"hot plate"`` or ``"burn"``; empty for a test anyone
        may do. A test with a hazard is offered only where that is allowed.
    asks : tuple of str, optional
        Fields to ask for where the outcome is a reading; the other fields are as in
        the first outcome.
    key : str, optional
        What a person declines who cannot do it; the test's name if not given.
    recipe : Recipe, optional
        Bath to mix first.
    needs_shape : tuple of str, optional
        What the steps take for granted of the piece, such as ``"long strip"``; see
        :data:`resinid.methods.shapes.SHAPES`. Not offered for an article that lacks it.

    Attributes
    ----------
    observes : str or Observed
        The latent property or aspect it observes.

    Raises
    ------
    MethodError
        The outcomes do not make a test.
    """

    __test__: ClassVar[bool] = False  # what pytest asks before it takes a class for one of its own

    test: str
    label: str
    outcomes: tuple[Observation, ...]
    minutes: float
    steps: tuple[str, str]
    widths: tuple[float, ...] = ()
    needs: tuple[str, ...] = ()
    caution: str = ""
    hazard: str = ""
    asks: tuple[str, ...] = ()
    key: str = ""
    recipe: Recipe | None = None
    needs_shape: tuple[str, ...] = ()
    observes: Observable = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Refuse what is no test, and fill in what was left out."""
        if len(self.outcomes) < 2 or len({outcome.observes for outcome in self.outcomes}) != 1:
            raise MethodError(f"plan {self.label!r} needs two or more outcomes that observe one property")
        if not self.widths:
            object.__setattr__(self, "widths", (1.0,) * len(self.outcomes))
        if len(self.widths) != len(self.outcomes) or not all(width > 0 for width in self.widths):
            raise MethodError(f"plan {self.label!r} needs one width above zero for each outcome")
        if not self.minutes > 0:
            raise MethodError(f"plan {self.label!r} needs minutes above zero")
        if not self.key:
            object.__setattr__(self, "key", self.test)
        object.__setattr__(self, "observes", observable_of(self.outcomes[0]))
